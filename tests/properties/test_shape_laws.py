"""Laws of film on curved surfaces, on random bulges."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given, settings
from shapely import LineString, Point, Polygon, affinity, box

from core.shape.developing import develop
from core.shape.judging import judge
from core.shape.mesh import network_of_mesh
from core.shape.model import Window
from helpers.surfaces import grid

FILM = Window(2, 5)
heights = st.floats(-90, 90)
angles = st.floats(0, 2 * np.pi)
few = settings(max_examples=15, deadline=None)


def bulge(up, along, across, cells=14):
    """A panel of 400 × 400 mm, bulged, and bent along and across."""
    flat, triangles = grid(cells, cells)
    x, y = 400 * (flat - 0.5).T
    z = up * np.exp(-(x * x + y * y) / (2 * 110**2))
    z = z + along * (x / 200) ** 2 + across * (y / 200) ** 2
    return np.column_stack((x, y, z)), triangles


def turned(points, by):
    """Turn points in space about two axes, and move them."""
    c, s = np.cos(by), np.sin(by)
    about_z = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    about_x = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    return points @ (about_x @ about_z).T + [300.0, -70.0, 12.0]


@given(heights, heights, heights, angles)
@few
def test_moving_a_part_changes_no_answer(up, along, across, by):
    vertices, triangles = bulge(up, along, across)
    here = judge(network_of_mesh(vertices, triangles), FILM)
    there = judge(network_of_mesh(turned(vertices, by), triangles), FILM)
    assert there.range_pct == pytest.approx(here.range_pct, rel=0.02, abs=0.01)


@given(heights, heights, heights)
@few
def test_a_finer_mesh_gives_nearly_the_same_answer(up, along, across):
    coarse = judge(network_of_mesh(*bulge(up, along, across, 14)), FILM)
    fine = judge(network_of_mesh(*bulge(up, along, across, 28)), FILM)
    assert fine.range_pct == pytest.approx(coarse.range_pct, rel=0.15, abs=0.2)


@given(heights, heights, heights, angles, st.floats(-80, 80))
@few
def test_a_seam_never_makes_it_worse(up, along, across, turn, off):
    network = network_of_mesh(*bulge(up, along, across))
    area = Point(network.at.mean(axis=0)).buffer(170)
    half = affinity.rotate(box(-500, off, 500, 500), turn, origin=(0, 0), use_radians=True)
    half = affinity.translate(half, *network.at.mean(axis=0))
    whole = develop(network, area, target_triangles=500).range_pct
    for part in (area.intersection(half), area.difference(half)):
        made = develop(network, part, target_triangles=500)
        assert made.range_pct <= 1.06 * whole + 0.1


@given(heights, heights, heights, angles, st.floats(0.2, 0.8))
@few
def test_a_relief_cut_never_makes_it_worse(up, along, across, turn, depth):
    network = network_of_mesh(*bulge(up, along, across))
    middle = network.at.mean(axis=0)
    area = Point(middle).buffer(170)
    way = 169.5 * np.array([np.cos(turn), np.sin(turn)])
    cut = LineString([middle + way, middle + (1 - depth) * way])
    whole = develop(network, area, target_triangles=500).range_pct
    made = develop(network, area, target_triangles=500, cuts=(cut,))
    assert made.range_pct <= 1.06 * whole + 0.1
    assert made.outline.is_valid


@given(heights, heights, heights, angles)
@few
def test_film_keeps_its_area_within_its_strains(up, along, across, turn):
    network = network_of_mesh(*bulge(up, along, across))
    area = affinity.rotate(box(-90, -150, 90, 150), turn, use_radians=True)
    area = affinity.translate(area, *network.at.mean(axis=0))
    made = develop(network, area, target_triangles=500)
    on_surface = made.network.areas.sum()
    least, greatest = made.laying.strains.min(), made.laying.strains.max()
    film = sum(Polygon(corners).area for corners in made.laying.points[made.network.triangles])
    assert on_surface / (1 + greatest) ** 2 <= film * (1 + 1e-9)
    assert film <= on_surface / (1 + least) ** 2 * (1 + 1e-9)
    assert made.outline.area == pytest.approx(film, rel=0.01)


@given(heights, st.floats(-0.3, 0.3))
@few
def test_bending_to_one_side_costs_nothing(bend, slope):
    flat, triangles = grid(16, 12)
    # Flat facets along a curve: nothing is stretched.
    s, t = 400 * flat[:, 0], 300 * flat[:, 1]
    step = 400 / 16
    knots = np.arange(17) * step
    angle = bend / 60 * knots / 400 + slope
    x = np.concatenate(([0], np.cumsum(step * np.cos((angle[1:] + angle[:-1]) / 2))))
    z = np.concatenate(([0], np.cumsum(step * np.sin((angle[1:] + angle[:-1]) / 2))))
    column = np.rint(s / step).astype(int)
    network = network_of_mesh(np.column_stack((x[column], t, z[column])), triangles)
    area = box(*(network.at.min(axis=0) - 10), *(network.at.max(axis=0) + 10))
    made = develop(network, area, target_triangles=500)
    assert np.abs(made.laying.strains).max() < 1e-4
    assert made.outline.symmetric_difference(area).area < 1e-4 * area.area

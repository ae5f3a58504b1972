"""Shapes in space made of lengths alone, against solids whose sizes are elementary."""

import numpy as np
import pytest
from shapely import Point, box

from core.errors import Cancelled
from core.progress import Silent
from core.shape.mesh import is_on_rim, network_of_mesh
from core.shape.standing import standing_shape, stood_up
from core.shape.surface import surface_of
from helpers.surfaces import cap, cone, cylinder, disc, saddle
from helpers.taped import BALL, FLAT, misread
from sample_projects.domed_hood import hood_mesh

WORST_PCT = 0.2


def spindle(half_angle_deg: float, slant: float = 300.0):
    """A whole cone round its apex, which a sheet with a wedge cut out can only be."""
    flat, triangles = disc(12, slant)
    out, around = np.hypot(*flat.T), np.arctan2(flat[:, 1], flat[:, 0])
    half = np.radians(half_angle_deg)
    turn = np.column_stack((np.cos(around), np.sin(around), np.zeros(len(out))))
    down = np.array([0.0, 0.0, -np.cos(half)])
    return out[:, None] * (np.sin(half) * turn + down), triangles


def height(standing):
    """How far the middle stands above the rim, and how far the rim is from being level."""
    rim = is_on_rim(standing.network)
    points = standing.points - standing.points[rim].mean(axis=0)
    up = np.linalg.svd(points[rim], full_matrices=False)[2][2]
    up = up if up[2] > 0 else -up
    return float((points @ up).max()), float(np.ptp(points[rim] @ up))


@pytest.mark.parametrize("angle", [20.0, 60.0, 110.0])
def test_a_cap_stands_as_high_as_a_ball_has_it(angle):
    # A cap of angle c on a ball of radius R is R (1 - cos c) high (elementary).
    standing = stood_up(network_of_mesh(*cap(angle, rings=12)))
    true = 300 * (1 - np.cos(np.radians(angle)))
    high, off_level = height(standing)
    assert standing.worst_pct < WORST_PCT
    assert high == pytest.approx(true, rel=0.005)
    assert off_level < 0.01 * true
    # All of it lies on one ball: its centre and radius by least squares.
    points = standing.points
    rows = np.column_stack((2 * points, np.ones(len(points))))
    centre = np.linalg.lstsq(rows, (points**2).sum(axis=1), rcond=None)[0]
    away = np.linalg.norm(points - centre[:3], axis=1)
    assert away == pytest.approx(300.0, rel=0.02)


def test_a_cone_with_its_apex_stands_as_high_as_its_slant_has_it():
    # Slant 300, half-angle 70 degrees: 300 cos 70 high (elementary).
    standing = stood_up(network_of_mesh(*spindle(70)))
    high, _ = height(standing)
    assert standing.worst_pct < WORST_PCT
    assert high == pytest.approx(300 * np.cos(np.radians(70)), rel=0.005)


@pytest.mark.parametrize(
    ("mesh", "sizes"),
    [
        (cylinder(around=20, along=16), (np.pi * 150, 400.0)),
        (cone(around=20, along=16), (1400 * np.sin(np.radians(61.564 / 2)), 442.2)),
    ],
    ids=["cylinder", "cone"],
)
def test_what_can_lie_flat_lies_flat(mesh, sizes):
    # Its lengths are those of its development as well: the tape cannot tell, and the one that
    # bends least is flat. The cone's: a sector of 61.564 degrees, slants 300 and 700.
    standing = stood_up(network_of_mesh(*mesh))
    points = standing.points - standing.points.mean(axis=0)
    spans = np.ptp(points @ np.linalg.svd(points, full_matrices=False)[2].T, axis=0)
    assert standing.worst_pct < 0.05
    assert spans[:2] == pytest.approx(sizes, rel=0.005)
    assert spans[2] < 0.003 * spans[0]


def test_a_saddle_stands_as_a_saddle():
    standing = stood_up(network_of_mesh(*saddle(rings=12)))
    points = standing.points - standing.points.mean(axis=0)
    spans = np.ptp(points @ np.linalg.svd(points, full_matrices=False)[2].T, axis=0)
    assert standing.worst_pct < WORST_PCT
    assert spans == pytest.approx([300, 300, 75], rel=0.01)


def test_an_area_of_a_hood_and_a_misread_ball_stand():
    # Smooth lengths that are no simple solid's, and readings with 2 mm of error each.
    hood = network_of_mesh(*hood_mesh(24))
    standing = standing_shape(hood, Point(60, 40).buffer(260))
    assert standing.worst_pct < 0.5
    # A ball of radius 800: 600 x 600 over the surface, of which the middle stands out of its
    # corners by R (1 - cos) of their distance over the ball, acos(cos² (300/800)).
    apart = np.arccos(np.cos(300 / 800) ** 2)
    rises = []
    for seed in range(2):
        taped = surface_of(misread(BALL.grid(), np.random.default_rng(seed), 1.0))
        standing = standing_shape(taped.network, box(0, -300, 600, 300))
        assert standing.worst_pct < 0.5
        rises.append(np.ptp(standing.points[:, 2]))
    assert np.mean(rises) == pytest.approx(800 * (1 - np.cos(apart)), rel=0.15)
    plate = standing_shape(surface_of(FLAT.grid()).network, box(0, -300, 600, 300))
    assert np.ptp(plate.points[:, 2]) < 2


def test_film_is_laid_on_the_upper_side():
    standing = stood_up(network_of_mesh(*cap(40, rings=10)))
    a, b, c = (standing.points[standing.network.triangles[:, i]] for i in range(3))
    outside = np.cross(b - a, c - a)
    middles = (a + b + c) / 3 - (standing.points.mean(axis=0) - [0, 0, 200])
    assert ((outside * middles).sum(axis=1) > 0).all()


def test_it_can_be_stopped():
    class Stopped(Silent):
        def is_cancelled(self):
            return True

    with pytest.raises(Cancelled):
        stood_up(network_of_mesh(*cap(40, rings=6)), Stopped())

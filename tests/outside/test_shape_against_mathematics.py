"""Film on surfaces against mathematics and libigl: the table of docs/will-it-lay-theory.md.

Sources stand beside each check. "Derived" means: in that page, from the equations named there.
"""

import itertools
import math

import numpy as np
import pytest
from shapely import Point, Polygon, box

from core.shape.conformal import conformal_layout
from core.shape.developing import develop
from core.shape.elements import elements_of
from core.shape.energies import Membrane, WorstStrain
from core.shape.flattening import flatten
from core.shape.judging import judge
from core.shape.mesh import is_on_rim, network_of_mesh, side_lengths, vertex_curvatures
from core.shape.model import Network, Window
from core.shape.topology import rim_sides
from helpers.igl_layout import assert_laid_as_libigl_does
from helpers.surfaces import (
    cap,
    cone,
    cylinder,
    disc,
    saddle,
    sphere_strip,
    torus_outer,
)
from sample_projects.domed_hood import hood_mesh

CAST = Window(bunching_pct=2.0, stretch_pct=5.0)


def plain_network(mesh):
    """A network without a map of its own making."""
    vertices, triangles = mesh
    return Network(
        at=vertices[:, :2].copy(), triangles=triangles, sides=side_lengths(vertices, triangles)
    )


def whole_range(judgement):
    """The range of all strains, none left out, as a fraction."""
    strains = judgement.laying.strains
    return (1 + strains.max()) / (1 + strains.min()) - 1


def free(mesh, poisson=0.45):
    network = network_of_mesh(*mesh)
    return network, flatten(network, poisson=poisson)


def test_cylinder_unrolls_to_its_rectangle():
    # Elementary: 180° of radius 150, 400 long, is 471.24 × 400. The chords of 32 facets are
    # 0.04 % shorter than the arc.
    _, laying = free(cylinder())
    assert np.abs(laying.strains).max() < 1e-4
    width, height = np.ptp(laying.points, axis=0)
    assert (width, height) == (pytest.approx(471.24, rel=1e-3), pytest.approx(400, rel=1e-4))


def test_cone_unrolls_to_its_sector():
    # Elementary: 180° of a cone of half-angle 20° is a sector of 180°·sin 20° = 61.564°, with
    # the slants as radii.
    vertices, triangles = cone()
    network = network_of_mesh(vertices, triangles)
    laying = flatten(network)
    assert np.abs(laying.strains).max() < 1e-4
    slant = np.linalg.norm(vertices, axis=1)
    inner, outer = (np.flatnonzero(np.isclose(slant, s)) for s in (300.0, 700.0))
    # The middle of the sector is where both arcs' circles have it.
    p = laying.points[outer]
    matrix = np.column_stack((2 * p, np.ones(len(p))))
    x, y, _ = np.linalg.lstsq(matrix, (p**2).sum(axis=1), rcond=None)[0]
    from_middle = laying.points - [x, y]
    radii = np.hypot(*from_middle.T)
    assert radii[inner] == pytest.approx(300, rel=1e-3)
    assert radii[outer] == pytest.approx(700, rel=1e-3)
    ends = from_middle[outer[[0, -1]]]
    angle = math.acos(ends[0] @ ends[1] / np.prod(np.hypot(*ends.T)))
    assert math.degrees(angle) == pytest.approx(180 * math.sin(math.radians(20)), rel=1e-3)


@pytest.mark.parametrize("poisson", [0.0, 0.3, 0.45])
@pytest.mark.parametrize("angle_deg", [5.0, 10.0, 20.0])
def test_cap_bunches_at_its_edge_and_stretches_in_its_middle(angle_deg, poisson):
    # Derived; setting as in Grason & Davidovitch, PNAS 110 (2013) 12893: hoop strain at the
    # edge -θ²/8 for any Poisson's number, in the middle (1 - ν) θ²/16.
    network, laying = free(cap(angle_deg, rings=24), poisson)
    theta = math.radians(angle_deg)
    out = np.hypot(*network.at.T)
    middles = out[network.triangles].mean(axis=1)
    # The hoop strain at the edge is that in the outermost ring, carried on to the edge.
    outer = middles > 0.8 * out.max()
    fit = np.polyfit(middles[outer] ** 2, laying.strains[outer, 0], 1)
    assert np.polyval(fit, out.max() ** 2) == pytest.approx(-(theta**2) / 8, rel=0.015)
    inner = middles < 0.15 * out.max()
    assert laying.strains[inner].mean() == pytest.approx(
        (1 - poisson) * theta**2 / 16, rel=0.03
    )


@pytest.mark.parametrize(("angle_deg", "best_pct"), [(20, 2.060), (40, 8.610), (60, 20.920)])
def test_no_laying_of_a_cap_beats_milnor_and_ours_comes_near(angle_deg, best_pct):
    # Milnor, A problem in cartography, Amer. Math. Monthly 76 (1969) 1101-1112 (the theorem
    # from memory): the least range of any flat map of a cap is θ/sin θ - 1.
    theta = math.radians(angle_deg)
    best = 100 * (theta / math.sin(theta) - 1)
    assert best == pytest.approx(best_pct, abs=0.001)
    network = network_of_mesh(*cap(angle_deg, rings=24))
    judged = judge(network, CAST)
    # Facets are flatter than the ball: of 24 rings, by less than 1 % of the range.
    assert 100 * whole_range(judged) > 0.99 * best
    assert judged.range_pct < 1.06 * best


@pytest.mark.parametrize("half_mm", [30, 60, 90, 120])
def test_long_strip_of_a_ball(half_mm):
    # Derived: edge -K w²/3, middle +K w²/6; elementary: range 1/cos(w/R) - 1.
    mesh = sphere_strip(half_mm, across=10)
    network, laying = free(mesh)
    k = half_mm**2 / 300.0**2
    assert laying.strains[:, 0].min() == pytest.approx(-k / 3, rel=0.03)
    vertices, triangles = mesh
    middle = np.abs(vertices[triangles].mean(axis=1))
    inner = (middle[:, 1] < 0.2 * half_mm) & (middle[:, 0] < 150)
    assert laying.strains[inner, 1].max() == pytest.approx(k / 6, rel=0.04)
    # Of an endless strip that stays straight; one with ends can do with less, by shear that
    # grows towards them, and the wider it is for its length the more so.
    straight = 1 / math.cos(half_mm / 300.0) - 1
    assert 0.8 * straight < whole_range(judge(network, CAST)) < 1.01 * straight
    if half_mm == 30:
        assert whole_range(judge(network, CAST)) == pytest.approx(straight, rel=0.04)


@pytest.mark.parametrize("gores", [24, 12])
def test_gores_of_a_ball(gores):
    # Elementary: a gore is 2πR/n wide; its range is about π²/(2n²), for many gores.
    radius = 300.0
    half = math.pi * radius / gores
    long = np.linspace(-0.5, 0.5, 161)
    across = np.linspace(-1, 1, 13)
    latitude, share = np.meshgrid(math.pi * 0.94 * long, across, indexing="ij")
    longitude = share * math.pi / gores
    vertices = radius * np.column_stack(
        (
            (np.cos(latitude) * np.sin(longitude)).ravel(),
            np.sin(latitude).ravel(),
            (np.cos(latitude) * np.cos(longitude)).ravel(),
        )
    )
    rows, columns = latitude.shape
    corner = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    triangles = np.vstack(
        (
            np.column_stack((corner, corner + 1, corner + columns + 1)),
            np.column_stack((corner, corner + columns + 1, corner + columns)),
        )
    )
    network = network_of_mesh(vertices, triangles)
    laying = flatten(network)
    middle = laying.points[rows // 2 * columns : (rows // 2 + 1) * columns]
    width = np.hypot(*(middle[-1] - middle[0]))
    assert width == pytest.approx(2 * half, rel=0.004)
    # The rule is that of an endless strip as wide as the gore's middle: an upper bound.
    rule = math.pi**2 / (2 * gores**2)
    assert 0.7 * rule < whole_range(judge(network, CAST)) < 1.01 * rule


def test_saddle_is_stretched_at_its_edge():
    # Derived, as for the cap with K < 0: edge +W²/(8 R²) = 3.125 % for any Poisson's number,
    # middle -(1 - ν) W²/(16 R²) = -1.5625 % for ν = 0; K falls off outwards, so less is met.
    _, laying = free(saddle())
    assert 100 * laying.strains.max() == pytest.approx(3.125, rel=0.02)
    _, laying = free(saddle(), 0.0)
    assert 100 * laying.strains[:, 0].min() == pytest.approx(-1.5625, rel=0.08)


@pytest.mark.parametrize("angle_deg", [20.0, 40.0, 60.0])
def test_conformal_start_is_the_stereographic_projection(angle_deg):
    # Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987), the
    # azimuthal chapter: the stereographic scale is 2 / (1 + cos c) at distance c from the pole.
    network = plain_network(cap(angle_deg, rings=32))
    elements = elements_of(network)
    z, w = elements.parts(conformal_layout(network, elements))
    assert np.abs(w / z).max() < 0.04
    vertices, triangles = cap(angle_deg, rings=32)
    c = np.arccos(np.clip(vertices[triangles].mean(axis=1)[:, 2] / 300.0, -1, 1))
    scale = np.abs(z) / np.abs(z)[c < 0.1 * c.max()].mean()
    assert scale == pytest.approx(2 / (1 + np.cos(c)), rel=0.012)


def test_a_radially_free_laying_is_azimuthal_equidistant():
    # Snyder as above: the azimuthal equidistant projection keeps distances from the pole, and
    # stretches circles about it by c / sin c.
    vertices, triangles = cap(40.0, rings=32)
    flat, _ = disc(32, math.radians(40.0) * 300.0)
    network = plain_network((vertices, triangles))
    strains = elements_of(network).strains(flat[:, 0] + 1j * flat[:, 1])
    c = np.arccos(vertices[triangles].mean(axis=1)[:, 2] / 300.0)
    assert strains[:, 0] == pytest.approx(np.sin(c) / c - 1, abs=2e-3)
    assert np.abs(strains[:, 1]).max() < 2e-3


def test_gauss_bonnet():
    # Gauss, Disquisitiones generales circa superficies curvas (1828); Bonnet: all curvature
    # and the rim's turning make 2π; the cap's own share is 2π (1 - cos θ).
    for mesh in (cap(60, rings=30), saddle(), torus_outer(), cylinder()):
        network = plain_network(mesh)
        assert vertex_curvatures(network).sum() == pytest.approx(2 * math.pi, abs=1e-9)
    network = plain_network(cap(60, rings=30))
    inside = vertex_curvatures(network)[~is_on_rim(network)].sum()
    assert inside == pytest.approx(2 * math.pi * (1 - math.cos(math.radians(60))), rel=0.04)


def test_small_circles_tell_curvature():
    # Bertrand, Diguet & Puiseux, J. de Math. 13 (1848) 80-90:
    # K = lim 3 (2πr - C) / (πr³) = lim 12 (πr² - A) / (πr⁴).
    radius, r = 300.0, 150.0
    network = plain_network(cap(math.degrees(r / radius), radius, rings=60))
    ends, lengths = rim_sides(network)
    assert len(ends) == 360
    by_girth = 3 * (2 * math.pi * r - lengths.sum()) / (math.pi * r**3)
    by_area = 12 * (math.pi * r**2 - network.areas.sum()) / (math.pi * r**4)
    # At r = R/2 the next terms of both series are 1 to 2 %.
    assert by_girth == pytest.approx(1 / radius**2, rel=0.03)
    assert by_area == pytest.approx(1 / radius**2, rel=0.03)


@pytest.mark.parametrize(
    "cost", [Membrane(), Membrane(0.3, 40.0), WorstStrain(2), WorstStrain(4)]
)
def test_gradients_are_those_of_finite_differences(cost):
    network = plain_network(cap(35, rings=4))
    elements = elements_of(network)
    function = cost.on(elements)
    rng = np.random.default_rng(3)
    film = network.at[:, 0] + 1j * network.at[:, 1]
    film = film * 1.05 + rng.normal(size=len(film)) + 1j * rng.normal(size=len(film))
    _, gradient = function(film)
    step = 1e-5
    for i in rng.integers(0, len(film), 12):
        for way in (1, 1j):
            there, back = film.copy(), film.copy()
            there[i] += step * way
            back[i] -= step * way
            slope = (function(there)[0] - function(back)[0]) / (2 * step)
            assert (gradient[i] * np.conj(way)).real == pytest.approx(slope, rel=1e-5, abs=1e-9)


SURFACES = {
    "cylinder": cylinder(around=20, along=16),
    "cap of 20°": cap(20, rings=16),
    "cap of 40°": cap(40, rings=16),
    "saddle": saddle(rings=16),
    "torus": torus_outer(cells=24),
    "domed hood": hood_mesh(16),
}


@pytest.mark.parametrize("name", SURFACES)
def test_as_libigl_lays_it(name):
    assert_laid_as_libigl_does(*SURFACES[name])


def test_the_hood_in_one_piece_in_three_and_in_five_with_a_stripe():
    """That one piece fails and a split works is common practice, no source.

    The numbers are ours: 750 × 800 mm over the surface, cut along x = const; cast film of 5 %
    stretch and 2 % bunching takes a range of 7.14 %.
    """
    rings = 24
    network = network_of_mesh(*hood_mesh(rings))
    outline = Polygon(network.at[-6 * rings :])
    x0, y0, x1, y1 = outline.bounds

    def worst(*cuts):
        stops = [x0, *cuts, x1]
        return max(
            develop(network, outline.intersection(box(a, y0, b, y1))).range_pct
            for a, b in itertools.pairwise(stops)
        )

    one = judge(network, CAST)
    assert one.range_pct == pytest.approx(18.9, abs=0.6)
    assert one.bunching_pct > CAST.bunching_pct
    # It bunches at the shoulders, and lies on the top.
    assert np.hypot(*one.bunching_at) > 250
    assert develop(network, Point(0, 0).buffer(200)).range_pct < 1.5
    assert worst(-150, 150) == pytest.approx(5.6, abs=0.5)
    assert worst(-150, 150) < CAST.range_pct
    assert worst(-180, -45, 45, 180) < worst(-150, 150) < one.range_pct / 2
    assert worst(-180, -45, 45, 180) == pytest.approx(4.3, abs=0.4)

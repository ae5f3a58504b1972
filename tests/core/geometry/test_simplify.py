import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from core.geometry import shapes
from core.geometry.bezier import area_of, straight
from core.geometry.boolean_paths import flat_ring
from core.geometry.fit_cubics import fit_cubics
from core.geometry.simplify import CORNER_RAD, deviation, simplified
from helpers.rings import numbered, smooth_rings


def traced(ring, spacing=4.0, noise=0.0, seed=1):
    """A ring as a tracer gives it: many corners along it, a little off."""
    line = LineString([*flat_ring(ring, 1e-3), flat_ring(ring, 1e-3)[0]])
    count = int(line.length / spacing)
    at = shapely.get_coordinates(line.interpolate(np.arange(count) * line.length / count))
    at = at + np.random.default_rng(seed).normal(0, noise, at.shape) if noise else at
    return numbered(shapes.polygon([complex(x, y) for x, y in at]))


def apart(a, b):
    """Largest distance between fine polylines, every millimetre, by shapely (GEOS)."""
    lines = [LineString([*r, r[0]]) for r in (flat_ring(a, 1e-2), flat_ring(b, 1e-2))]
    off = 0.0
    for here, there in (lines, lines[::-1]):
        shapely.prepare(there)
        at = shapely.points(shapely.get_coordinates(shapely.segmentize(here, 1.0)))
        off = max(off, float(shapely.distance(at, there).max()))
    return off


@settings(max_examples=12)  # each takes a tenth of a second
@given(smooth_rings(), st.floats(0.1, 2.0))
def test_a_traced_curve_comes_back_with_few_nodes_within_the_tolerance(ring, tolerance):
    many = traced(ring)
    result = simplified(many, tolerance)
    assert apart(many, result.chain) <= tolerance + 0.02
    assert result.deviation <= tolerance
    assert result.deviation == pytest.approx(apart(many, result.chain), abs=0.02)
    assert len(result.chain) < len(many) / 3


def test_what_is_told_is_what_is_seen_also_for_noise():
    ring = traced(shapes.ellipse(600, 400), noise=0.1)
    result = simplified(ring, 0.5)
    assert len(result.chain) <= 12
    assert result.deviation <= 0.5
    assert area_of(result.chain) == pytest.approx(math.pi * 300 * 200, rel=1e-3)


def test_corners_stay_and_straight_stretches_become_straight():
    many = traced(shapes.rectangle(400, 200), spacing=5.0)
    result = simplified(many, 0.3)
    assert len(result.chain) == 4
    assert all(s.is_straight for s in result.chain)
    assert result.deviation < 1e-9


def test_a_rounded_rectangle_keeps_its_sides():
    ring = numbered(shapes.rectangle(400, 200, 30))
    assert simplified(ring, 0.5).chain == ring
    halved = []
    for s in ring:
        middle = (s.p0 + s.p3) / 2
        halved += [straight(s.p0, middle), straight(middle, s.p3)] if s.is_straight else [s]
    result = simplified(numbered(halved), 0.5)
    assert result.deviation <= 0.5


def test_nodes_that_have_to_stay_do():
    many = traced(shapes.rectangle(400, 200), spacing=5.0)
    result = simplified(many, 0.3, kept=[10])
    assert any(abs(s.p0 - many[10].p0) < 1e-9 for s in result.chain)
    assert len(result.chain) == 5


def test_a_small_turn_is_no_corner():
    assert math.degrees(CORNER_RAD) > 20
    ring = numbered(shapes.polygon(shapes.ellipse_corners(40)))
    assert len(simplified(ring, 3.0).chain) < 10


def test_deviation_is_that_of_the_farther_way_round():
    a = numbered(shapes.rectangle(100, 100))
    spike = [0j, 50 + 0j, 50 - 20j, 51 + 0j, 100 + 0j, 100 + 100j, 100j]
    assert deviation(a, shapes.polygon(spike)) == pytest.approx(20, abs=1.0)


@settings(max_examples=12)  # each takes a tenth of a second
@given(st.floats(0.01, 1.0))
def test_a_fit_keeps_its_ends_and_its_tolerance(tolerance):
    t = np.linspace(0, 3, 200)
    points = 100 * t + 1j * 80 * np.sin(t * 2)
    slope = 100 + 1j * 160 * np.cos(t * 2)
    chain = fit_cubics(points, slope / np.abs(slope), tolerance)
    assert chain[0].p0 == points[0]
    assert chain[-1].p3 == points[-1]
    fitted = LineString([(p.real, p.imag) for s in chain for p in _dense(s)])
    at = shapely.points(points.real, points.imag)
    assert float(shapely.distance(at, fitted).max()) <= tolerance + 1e-3


def _dense(s):
    u = np.linspace(0, 1, 400)
    v = 1 - u
    return v**3 * s.p0 + 3 * v * v * u * s.p1 + 3 * v * u * u * s.p2 + u**3 * s.p3


def test_the_result_is_simple():
    result = simplified(traced(shapes.ellipse(300, 80)), 1.0)
    assert Polygon(flat_ring(result.chain)).is_valid

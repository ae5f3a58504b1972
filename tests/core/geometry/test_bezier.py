import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from core.geometry.bezier import (
    Segment,
    arc,
    area_of,
    bounds_of,
    direction_at,
    length_of,
    line_crossings,
    meeting,
    point_at,
    points_at,
    straight,
    sub_segment,
)
from core.geometry.boolean_paths import flat_ring
from helpers.rings import smooth_rings

points = st.complex_numbers(max_magnitude=500, allow_nan=False, allow_infinity=False)
curves = st.builds(Segment, points, points, points, points)


@given(curves, st.floats(0, 1), st.floats(0, 1))
def test_a_stretch_is_the_curve_itself(curve, a, b):
    low, high = sorted((a, b))
    part = sub_segment(curve, low, high)
    for share in (0.0, 0.3, 1.0):
        there = point_at(curve, low + share * (high - low))
        assert abs(point_at(part, share) - there) < 1e-9


def test_a_stretch_remembers_what_it_is_of():
    whole = Segment(0, 1, 2, 3, source=7)
    part = sub_segment(sub_segment(whole, 0.5, 1.0), 0.0, 0.5)
    assert (part.source, part.t0, part.t1) == (7, 0.5, 0.75)
    assert sub_segment(straight(0, 8), 0.25, 0.5).is_straight


@settings(max_examples=40)
@given(smooth_rings())
def test_area_and_length_agree_with_a_fine_polyline(ring):
    fine = flat_ring(ring, 1e-5)
    assert area_of(ring) == pytest.approx(Polygon(fine).area, rel=1e-6)
    around = LineString([*fine, fine[0]]).length
    assert sum(map(length_of, ring)) == pytest.approx(around, rel=1e-6)


@given(smooth_rings())
def test_bounds_hold_every_point_and_are_reached(ring):
    x0, y0, x1, y1 = bounds_of(ring)
    at = np.concatenate([points_at(s, np.linspace(0, 1, 2001)) for s in ring])
    assert x0 - 1e-9 <= at.real.min() <= x0 + 1e-3
    assert y0 - 1e-9 <= at.imag.min() <= y0 + 1e-3
    assert x1 - 1e-3 <= at.real.max() <= x1 + 1e-9
    assert y1 - 1e-3 <= at.imag.max() <= y1 + 1e-9


def test_an_arc_strays_from_its_circle_by_less_than_three_parts_in_ten_thousand():
    # 2.73e-4 of the radius is the known error of the quarter-circle approximation (Goldapp
    # 1991, from memory).
    chain = arc(10 + 5j, 100.0, 0.3, 2 * math.pi)
    at = np.concatenate([points_at(s, np.linspace(0, 1, 501)) for s in chain])
    off = np.abs(at - (10 + 5j)) - 100
    assert 0 <= off.max() < 0.0274
    assert off.min() > -1e-9
    assert chain[0].p0 == pytest.approx(chain[-1].p3)


@given(curves, points, st.floats(0, math.tau))
def test_crossings_lie_on_the_line(curve, through, angle):
    along = complex(math.cos(angle), math.sin(angle))
    for t in line_crossings(curve, through, along):
        off = (along.conjugate() * (point_at(curve, t) - through)).imag
        assert abs(off) < 1e-3


def test_each_change_of_side_is_a_crossing():
    curve = Segment(0j, 100 + 300j, 200 - 300j, 300 + 0j)
    found = line_crossings(curve, 0 + 10j, 1)
    sides = np.sign(points_at(curve, np.linspace(0, 1, 999)).imag - 10)
    assert len(found) == int((np.diff(sides) != 0).sum()) == 2


def test_two_curves_meet_where_newton_says():
    a = Segment(0j, 0 + 100j, 200 + 100j, 200 + 0j)
    found = meeting(a, 0.3, straight(50 - 50j, 50 + 200j), 0.5)
    assert found is not None
    assert point_at(a, found[0]).real == pytest.approx(50, abs=1e-9)
    assert meeting(straight(0j, 10j), 0.5, straight(1 + 0j, 1 + 10j), 0.5) is None


def test_a_curve_without_a_handle_still_has_a_direction():
    bare = Segment(0j, 0j, 10 + 10j, 20 + 0j)
    assert direction_at(bare, 0.0) == pytest.approx((1 + 1j) / math.sqrt(2))
    assert direction_at(Segment(1j, 1j, 1j, 1j), 0.0) == 0

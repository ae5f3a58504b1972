"""Ribbons judged by trapezia, sectors and shapely's own buffers."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely import LineString, Point, Polygon, box

from core.geometry.ribbon import ribbon, side_line, widths_along


def made(points, start, end=None):
    line = np.array(points, dtype=float)
    return ribbon(line, widths_along(line, start, start if end is None else end))


def test_a_straight_ribbon_is_a_rectangle():
    assert made([(0, 0), (300, 0)], 40).equals(box(0, -20, 300, 20))


def test_a_taper_is_a_trapezium():
    shape = made([(0, 0), (300, 0)], 40, 10)
    assert shape.equals(Polygon([(0, -20), (300, -5), (300, 5), (0, 20)]))
    assert shape.area == pytest.approx((40 + 10) / 2 * 300)


@pytest.mark.parametrize("widths", [(40, 0), (0, 40)])
def test_a_taper_to_nothing_is_a_triangle(widths):
    shape = made([(0, 0), (300, 0)], *widths)
    assert shape.area == pytest.approx(40 * 300 / 2)
    assert shape.is_valid


def test_widths_are_linear_in_the_length_run_not_in_the_number_of_points():
    line = np.array([(0, 0), (10, 0), (10, 90)], dtype=float)
    assert widths_along(line, 0, 100).tolist() == [0, 10, 100]


def test_a_taper_along_a_bent_line_has_the_width_of_where_it_is():
    shape = made([(0, 0), (100, 0), (100, 100)], 40, 0)
    across = shape.intersection(LineString([(50, -99), (50, 50)]))
    assert across.length == pytest.approx(30, rel=0.02)  # a quarter of the way


def test_a_square_bend_is_mitred():
    shape = made([(0, 0), (200, 0), (200, 200)], 40)
    # Outside it reaches the corner (220, -20), inside (180, 20): the bend gains what it loses.
    assert shape.area == pytest.approx(400 * 40)
    assert shape.covers(Point(219.99, -19.99))
    assert not shape.covers(Point(179, 21))


@pytest.mark.parametrize("degrees", [10, 45, 90, 119])
def test_bends_up_to_the_mitre_limit_agree_with_a_mitred_buffer(degrees):
    turn = math.radians(degrees)
    points = [(0, 0), (300, 0), (300 + 300 * math.cos(turn), 300 * math.sin(turn))]
    want = LineString(points).buffer(15, cap_style="flat", join_style="mitre", mitre_limit=2.01)
    assert made(points, 30).symmetric_difference(want).area < 1e-6 * want.area


@pytest.mark.parametrize("degrees", [125, 150, 170])
def test_sharper_bends_agree_with_a_round_buffer(degrees):
    turn = math.radians(degrees)
    points = [(0, 0), (300, 0), (300 + 300 * math.cos(turn), 300 * math.sin(turn))]
    want = LineString(points).buffer(15, cap_style="flat", join_style="round", quad_segs=64)
    assert made(points, 30).symmetric_difference(want).area < 1e-3 * want.area


def test_a_curve_has_the_area_of_a_ring_sector():
    angles = np.linspace(0, math.pi / 2, 200)
    line = np.stack([100 * np.cos(angles), 100 * np.sin(angles)], axis=1)
    # Pappus: width times the length of the centre line.
    assert made(line, 30).area == pytest.approx(30 * 100 * math.pi / 2, rel=1e-4)


def test_a_curve_tighter_than_half_the_width_is_still_one_sound_shape():
    angles = np.linspace(0, math.pi, 60)
    line = np.stack([20 * np.cos(angles), 20 * np.sin(angles)], axis=1)
    shape = made(np.vstack([[(20, -150)], line, [(-20, -150)]]), 60)
    assert shape is not None
    assert shape.is_valid
    assert shape.bounds == pytest.approx((-50, -150, 50, 50), abs=0.1)


def test_no_width_is_no_ribbon():
    assert made([(0, 0), (100, 0)], 0) is None


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (100, 0), (100, 100), (0, 100), (0, 0)],
        [(0, 0), (200, 0), (200, 100), (100, 100), (100, -100)],
    ],
)
def test_a_line_that_goes_round_something_is_refused(points):
    assert made(points, 10) is None


def test_there_and_back_is_one_blunt_ribbon():
    shape = made([(0, 0), (100, 0), (1, 0.5)], 10)
    assert shape is not None
    assert shape.is_valid
    assert not shape.interiors


def test_the_ring_runs_counter_clockwise_whichever_way_the_line_runs():
    for points in ([(0, 0), (100, 10)], [(100, 10), (0, 0)]):
        assert made(points, 20).exterior.is_ccw


def test_the_left_side_is_on_the_left():
    line = np.array([(0, 0), (100, 0)], dtype=float)
    assert side_line(line, np.array([5.0, 5.0])).tolist() == [[0, 5], [100, 5]]


@given(st.integers(0, 2**32 - 1), st.floats(2, 60), st.floats(2, 60))
@settings(max_examples=80, deadline=None)
def test_any_ribbon_is_sound_and_has_its_line_within(seed, start, end):
    rng = np.random.default_rng(seed)
    line = np.cumsum(rng.uniform(-120, 120, (int(rng.integers(2, 7)), 2)), axis=0)
    shape = ribbon(line, widths_along(line, start, end))
    if shape is None:
        return
    assert shape.is_valid
    assert shape.exterior.is_ccw
    assert not shape.interiors
    least = min(start, end) / 2
    core = LineString(line).buffer(0.9 * least, cap_style="flat", join_style="bevel")
    assert shapely.difference(core, shape.buffer(1e-6)).area < 1e-3 * core.area
    # A mitre reaches at most twice half the width.
    assert shape.within(LineString(line).buffer(max(start, end) + 1e-6))

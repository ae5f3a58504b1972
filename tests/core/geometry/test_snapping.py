import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.snapping import (
    CatchKind,
    Track,
    build_field,
    find_catch,
    guide_from,
    on_track,
)

SQUARE = np.array([(0, 0), (100, 0), (100, 80), (0, 80)], dtype=float)
MIDDLES = np.array([(50, 0), (100, 40), (50, 80), (0, 40)], dtype=float)
NONE = np.empty((0, 2))


def rim():
    return Track("rim", SQUARE, closed=True, nodes=SQUARE, middles=MIDDLES)


def line(name, *points):
    return Track(name, np.array(points, dtype=float), closed=False, nodes=NONE, middles=NONE)


@pytest.fixture
def field():
    return build_field([rim(), line("s1", (30, -10), (30, 90)), line("s2", (0, 20), (100, 20))])


def test_node_is_caught_exactly(field):
    caught = find_catch(field, (97, 2), 5)
    assert (caught.at, caught.kind, caught.track) == ((100, 0), CatchKind.NODE, "rim")
    assert caught.distance == pytest.approx(math.hypot(3, 2))


def test_middle_of_the_rim_is_caught(field):
    caught = find_catch(field, (52, 78), 5)
    assert (caught.at, caught.kind) == ((50, 80), CatchKind.MIDDLE)


def test_a_node_wins_over_a_middle_that_is_as_near():
    points = np.array([(0, 0), (10, 0)], dtype=float)
    field = build_field(
        [Track("s", points, closed=False, nodes=points, middles=points + 5 * points[1:] / 10)]
    )
    assert find_catch(field, (7.5, 0), 6).kind is CatchKind.NODE


def test_crossing_of_two_lines_is_caught(field):
    caught = find_catch(field, (31, 21), 3)
    assert (caught.at, caught.kind) == ((30, 20), CatchKind.CROSSING)


def test_any_point_of_a_track_is_caught_last(field):
    caught = find_catch(field, (70, 22), 4)
    assert (caught.at, caught.kind, caught.track) == ((70, 20), CatchKind.ON, "s2")


def test_the_closing_side_of_a_ring_counts(field):
    caught = find_catch(field, (2, 60), 4)
    assert (caught.at, caught.track) == ((0, 60), "rim")


def test_nothing_is_caught_beyond_reach(field):
    assert find_catch(field, (70, 50), 4) is None


def test_an_empty_field_catches_directions_only():
    field = build_field([])
    assert find_catch(field, (5, 5), 10) is None
    caught = find_catch(field, (50, 1), 5, guide_from(field, [(0, 0)]))
    assert (caught.at, caught.kind, caught.track) == ((50, 0), CatchKind.ALONG, None)


def test_foot_of_the_perpendicular_is_caught_on_a_slanted_line():
    field = build_field([line("s1", (0, 0), (100, 100))])
    caught = find_catch(field, (49, 52), 5, guide_from(field, [(20, 80)]))
    assert caught.kind is CatchKind.SQUARE
    assert caught.at == pytest.approx((50, 50))


def test_eighth_turn_meets_a_track(field):
    guide = guide_from(field, [(60, 50)])
    caught = find_catch(field, (88, 79), 4, guide)
    assert (caught.kind, caught.track) == (CatchKind.ALONG, "rim")
    assert caught.at == pytest.approx((90, 80))


def test_a_line_favours_the_right_angle_to_the_track_it_leaves():
    field = build_field([line("s1", (0, 0), (100, 30))])
    start = (50.0, 15.0)
    normal = (-30 / math.hypot(100, 30), 100 / math.hypot(100, 30))
    near = (start[0] + 40 * normal[0] + 1, start[1] + 40 * normal[1])
    caught = find_catch(field, near, 4, guide_from(field, [start]))
    assert caught.kind is CatchKind.SQUARE
    step = (caught.at[0] - start[0], caught.at[1] - start[1])
    assert step[0] * 100 + step[1] * 30 == pytest.approx(0, abs=1e-9)


def test_a_second_stretch_favours_right_angles_to_the_first():
    field = build_field([])
    guide = guide_from(field, [(0.0, 0.0), (30.0, 10.0)])
    caught = find_catch(field, (20.5, 40), 2, guide)
    assert caught.kind is CatchKind.SQUARE
    assert (caught.at[0] - 30) * 30 + (caught.at[1] - 10) * 10 == pytest.approx(0, abs=1e-9)


def test_no_points_give_no_guide(field):
    assert guide_from(field, []) is None


def test_doubled_points_give_a_guide_of_eighth_turns_only():
    guide = guide_from(build_field([]), [(5, 5), (5, 5)])
    assert {kind for _, kind in guide.directions} == {CatchKind.ALONG}


@given(
    st.floats(-50, 150),
    st.floats(-50, 150),
    st.floats(0.1, 40),
)
def test_a_catch_lies_within_reach_and_on_its_track(x, y, reach):
    field = build_field([rim(), line("s1", (30, -10), (30, 90))])
    caught = find_catch(field, (x, y), reach, guide_from(field, [(60.0, 50.0)]))
    if caught is None:
        assert on_track(field, (x, y), reach) is None
        return
    assert math.dist(caught.at, (x, y)) <= reach + 1e-9
    if caught.track is not None:
        assert on_track(field, caught.at, 1e-6) is not None

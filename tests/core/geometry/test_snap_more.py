"""Tangents, rules and grid: caught where elementary geometry puts them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.snap_tangents import tangent_catch
from core.geometry.snapping import (
    CatchKind,
    Rules,
    Track,
    build_field,
    find_catch,
    guide_from,
)

NONE = np.empty((0, 2))


def circle(radius, steps, name="circle"):
    a = np.arange(steps) * 2 * math.pi / steps
    points = radius * np.stack([np.cos(a), np.sin(a)], axis=1)
    return Track(name, points, closed=True, nodes=NONE, middles=NONE)


def straight(a, b, name="line"):
    points = np.array([a, b], dtype=float)
    return Track(name, points, closed=False, nodes=points, middles=NONE)


@given(st.floats(20, 400), st.floats(0, 2 * math.pi), st.floats(1.2, 8))
def test_tangents_to_a_circle_are_thales(radius, turn, far) -> None:
    # Euclid, Elements III.17 by way of Thales' circle: the point of tangency T of a line from P
    # has OT = r and OT at a right angle to PT, so cos(POT) = r / OP.
    steps = max(8, math.ceil(math.pi / math.acos(1 - 0.05 / radius)))
    field = build_field([circle(radius, steps)])
    origin = (far * radius * math.cos(turn), far * radius * math.sin(turn))
    for way in (1, -1):
        angle = turn + way * math.acos(1 / far)
        wanted = (radius * math.cos(angle), radius * math.sin(angle))
        near = (wanted[0] + 1.0, wanted[1] - 1.0)
        found = tangent_catch(field, near, 5.0, origin)
        assert found.kind is CatchKind.TANGENT
        # The polyline strays by 0.05 mm; the catch by far less.
        assert math.dist(found.at, wanted) < 0.02
        assert math.hypot(*found.at) == pytest.approx(radius, abs=1e-3)


def test_straight_tracks_and_corners_have_no_tangents() -> None:
    square = Track(
        "square",
        np.array([(0, 0), (100, 0), (100, 100), (0, 100.0)]),
        closed=True,
        nodes=NONE,
        middles=NONE,
    )
    field = build_field([square])
    for at in ((100, 0), (100, 100), (50, 0), (100, 50)):
        assert tangent_catch(field, at, 10.0, (-200.0, -300.0)) is None
    assert tangent_catch(build_field([]), (0, 0), 10.0, (5.0, 5.0)) is None


def test_a_tangent_is_caught_while_drawing_and_named_by_its_track() -> None:
    field = build_field([circle(100, 90)])
    guide = guide_from(field, [(200.0, 0.0)])
    found = find_catch(field, (51, 88), 9.0, guide)
    assert (found.kind, found.track) == (CatchKind.TANGENT, "circle")
    assert found.at == pytest.approx((50, 86.6025), abs=0.01)


def test_rules_are_caught_alone_crossing_and_on_tracks() -> None:
    field = build_field([straight((0, 0), (100, 50))])
    rules = Rules(xs=(40.0,), ys=(80.0,))
    on = find_catch(field, (43, 60), 5.0, None, rules)
    assert (on.kind, on.at, on.track) == (CatchKind.RULE, (40, 60), None)
    both = find_catch(field, (42, 78), 5.0, None, rules)
    assert both.at == (40, 80)
    met = find_catch(field, (42, 18), 5.0, None, rules)
    assert (met.kind, met.track) == (CatchKind.RULE, "line")
    assert met.at == pytest.approx((40, 20))
    assert find_catch(field, (60, 70), 5.0, None, rules) is None


def test_a_node_wins_over_a_rule_beside_it() -> None:
    field = build_field([straight((0, 0), (100, 50))])
    found = find_catch(field, (1, 1), 5.0, None, Rules(xs=(1.0,)))
    assert found.kind is CatchKind.NODE


def test_the_grid_is_caught_last_and_within_reach_only() -> None:
    field = build_field([straight((0, 0), (100, 0))])
    grid = Rules(spacing=25.0, origin=(5.0, 0.0))
    found = find_catch(field, (29, 51), 5.0, None, grid)
    assert (found.kind, found.at) == (CatchKind.GRID, (30, 50))
    assert find_catch(field, (42, 51), 5.0, None, grid) is None
    assert find_catch(field, (56, 3), 5.0, None, grid).kind is CatchKind.ON


def test_a_crossing_of_rules_out_of_reach_is_not_caught() -> None:
    rules = Rules(xs=(40.0,), ys=(80.0,))
    found = find_catch(build_field([]), (44.5, 75.5), 5.0, None, rules)
    # Each rule is 4.5 away, their crossing 6.4.
    assert found.at in ((40, 75.5), (44.5, 80))


def test_a_track_level_with_a_rule_is_not_crossed_by_it() -> None:
    field = build_field([straight((0, 0), (100, 0)), straight((0, 10), (100, 30))])
    found = find_catch(field, (50, 1), 3.0, None, Rules(ys=(1.5,)))
    assert found.kind is not CatchKind.RULE
    assert find_catch(field, (50, 60), 3.0, None, Rules(ys=(61.0,))).at == (50, 61)


def test_the_nearer_of_two_tangents_is_caught() -> None:
    far = circle(100, 90, "far")
    field = build_field([circle(100.5, 90, "near"), far])
    found = tangent_catch(field, (50.3, 87.0), 9.0, (201.0, 0.0))
    assert found.track == "near"

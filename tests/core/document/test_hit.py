import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.document import hit
from core.document.edits.paths import insert_node
from core.document.lines import SeamRule, Side
from core.errors import InputError
from helpers.jobs import circle_path, inlay, path, scheme, seam, stripe


def test_nearest_point_of_a_straight_path_with_its_segment():
    found = hit.nearest_on_path(path([(0, 0), (100, 0), (100, 50)]), (97, 20), closed=False)
    assert (found.after, found.at) == ("n2", pytest.approx((100, 20), abs=1e-4))
    assert found.t == pytest.approx(0.4, abs=1e-5)
    assert found.distance_mm == pytest.approx(3, abs=1e-6)


def test_the_closing_segment_counts_only_when_closed():
    triangle = path([(0, 0), (100, 0), (0, 100)])
    assert hit.nearest_on_path(triangle, (-5, 50), closed=True).after == "n3"
    open_end = hit.nearest_on_path(triangle, (-5, 50), closed=False)
    assert (open_end.after, open_end.distance_mm) == ("n2", pytest.approx(55 / math.sqrt(2)))


def test_a_path_of_one_node_has_no_nearest_point():
    assert hit.nearest_on_path(path([(0, 0)]), (1, 1), closed=False) is None


@given(st.floats(0, 2 * math.pi), st.floats(20, 400))
def test_distance_to_a_circle_is_its_radius_less(angle, away):
    at = (away * math.cos(angle), away * math.sin(angle))
    found = hit.nearest_on_path(circle_path(0, 0, 100), at, closed=True)
    # Four cubic arcs leave a circle by 0.027 % of its radius (standard value, from memory).
    assert found.distance_mm == pytest.approx(abs(away - 100), abs=0.03)


def test_a_node_inserted_at_a_hit_lies_there():
    ring = circle_path(0, 0, 100)
    found = hit.nearest_on_path(ring, (80, 90), closed=True)
    longer = insert_node(ring, found.after, found.t, closed=True)
    new = next(n for n in longer if n.id not in {m.id for m in ring})
    assert new.at == pytest.approx(found.at, abs=1e-6)


def test_middles_are_by_length():
    middles = hit.segment_middles(path([(0, 0), (100, 0), (100, 50)]), closed=True)
    assert middles.tolist() == [
        pytest.approx([50, 0]),
        pytest.approx([100, 25]),
        pytest.approx([50, 25]),
    ]
    arc = hit.segment_middles(circle_path(0, 0, 100), closed=True)
    assert arc[0] == pytest.approx([70.71, 70.71], abs=0.1)


def test_stripe_ends_stand_square_to_its_centre_line():
    start, end = hit.stripe_ends(stripe("t1", [(0, 0), (30, 40)], (20, 10)))
    assert start.left == pytest.approx((-8, 6))
    assert start.right == pytest.approx((8, -6))
    assert end.left == pytest.approx((30 - 4, 40 + 3))
    assert math.dist(end.left, end.right) == pytest.approx(10)


@pytest.mark.parametrize("end", ["start", "end"])
def test_a_width_through_a_point_brings_the_side_there(end):
    line = stripe("t1", [(0, 0), (200, 0)], 10)
    assert hit.stripe_width_through(line, end, (50, -30)) == pytest.approx(60)


def test_width_through_a_point_beside_the_path():
    assert hit.width_through(path([(0, 0), (200, 0)]), (50, 12)) == pytest.approx(24)


def test_later_lines_win_where_two_are_as_near():
    both = scheme(
        "p1", seam("s1", [(0, 0), (100, 0)]), inlay("i1", [(0, 0), (100, 0), (50, 50)])
    )
    assert hit.find_line_near(both, (30, 1), 3).id == "i1"
    assert hit.find_line_near(both, (30, -9), 3) is None


def test_length_and_direction_give_a_point_and_back():
    at = hit.point_from((10, 10), 50, 30)
    assert hit.distance_mm((10, 10), at) == pytest.approx(50)
    assert hit.bearing_deg((10, 10), at) == pytest.approx(30)
    assert hit.bearing_deg((0, 0), (0, -1)) == pytest.approx(270)


@pytest.mark.parametrize("text", ["", "abc", "nan", "inf", "4 5"])
def test_nonsense_is_no_angle(text):
    with pytest.raises(InputError):
        hit.parse_angle(text)


def test_a_drawn_path_ends_in_corners_without_outer_handles():
    pulled = [hit.drawn_node("x", (0, 0), (5, 0)), hit.drawn_node("x", (9, 9), (12, 9))]
    first, last = hit.drawn_path(pulled, closed=False)
    assert (first.id, last.id) == ("n1", "n2")
    assert (first.smooth, first.before, first.after) == (False, None, (5, 0))
    assert (last.smooth, last.before, last.after) == (False, (-3, 0), None)
    assert all(n.smooth for n in hit.drawn_path(pulled, closed=True))


def test_previous_nodes_are_those_a_place_is_judged_by():
    nodes = path([(0, 0), (1, 0), (2, 0), (3, 0)])

    def ids(node, *, closed):
        return [n.id for n in hit.previous_nodes(nodes, node, closed=closed)]

    assert ids("n4", closed=False) == ["n2", "n3"]
    assert ids("n2", closed=False) == ["n1"]
    assert ids("n1", closed=False) == ["n3", "n2"]
    assert ids("n1", closed=True) == ["n3", "n4"]


def test_reversing_keeps_what_lies_on_top_and_the_taper():
    rule = SeamRule(on_top=Side.LEFT)
    turned = hit.reversed_line(seam("s1", [(0, 0), (10, 0)], rule=rule))
    assert turned.nodes[0].at == (10, 0)
    assert turned.rule.on_top is Side.RIGHT
    tapered = hit.reversed_line(stripe("t1", [(0, 0), (10, 0)], (8, 3), rule=rule))
    assert (tapered.start_width_mm, tapered.end_width_mm) == (3, 8)
    assert tapered.rule.on_top is Side.LEFT

import math

import numpy as np
import pytest
from ezdxf.math import Vec2, split_bezier
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, hausdorff_distance

from core.document.edits.paths import (
    delete_node,
    insert_node,
    move_handle,
    move_node,
    reverse_path,
    set_smooth,
    translate_path,
)
from core.document.flatten import flatten
from core.document.path import Node, Path, edge_of_segments
from core.errors import EditRefused, InputError
from helpers.jobs import circle_path, path

SQUARE = path([(0, 0), (100, 0), (100, 100), (0, 100)])
ARCH = (
    Node(id="n1", at=(0.0, 0.0), after=(0.0, 60.0)),
    Node(id="n2", at=(100.0, 0.0), before=(-10.0, 80.0)),
)


def turned(ring: Path, **turns: float) -> Path:
    return tuple(Node(id=n.id, at=n.at, smooth=n.smooth, turn_mm=turns.get(n.id)) for n in ring)


def turn_of_segments(ring: Path) -> dict[frozenset[tuple[float, float]], float | None]:
    """The turn of each segment, named by its two ends."""
    turn = {n.id: n.turn_mm for n in ring}
    return {
        frozenset((ring[i].at, ring[(i + 1) % len(ring)].at)): turn[edge]
        for i, edge in enumerate(edge_of_segments(ring))
    }


def test_a_node_moves_with_its_handles() -> None:
    moved = move_node(ARCH, "n1", (5, 7))
    assert moved[0] == Node(id="n1", at=(5.0, 7.0), after=(0.0, 60.0))
    assert moved[1] is ARCH[1]


def test_an_unknown_node_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        move_node(ARCH, "n9", (0, 0))


def test_a_smooth_nodes_handles_stay_in_line_and_keep_their_lengths() -> None:
    disc = circle_path(0, 0, 50)
    node = move_handle(disc, "n1", "after", (12.0, 16.0))[0]
    assert node.after == (12.0, 16.0)
    assert node.before is not None
    assert math.hypot(*node.before) == pytest.approx(math.hypot(*disc[0].before))
    assert np.cross([*node.before, 0], [*node.after, 0])[2] == pytest.approx(0, abs=1e-9)
    assert np.dot(node.before, node.after) < 0


def test_a_corners_other_handle_stays_put() -> None:
    corner = (Node(id="n1", at=(0.0, 0.0), before=(1.0, 2.0), after=(3.0, 4.0)), *ARCH[1:])
    moved = move_handle(corner, "n1", "before", (9, 9))[0]
    assert (moved.before, moved.after) == ((9.0, 9.0), (3.0, 4.0))


def test_a_handle_pulled_into_its_node_leaves_the_other_one() -> None:
    node = move_handle(circle_path(0, 0, 50), "n1", "after", (0, 0))[0]
    assert node.before == circle_path(0, 0, 50)[0].before


@pytest.mark.parametrize("t", [0.1, 0.5, 0.93])
def test_a_curve_is_split_as_ezdxf_splits_it(t: float) -> None:
    a, node, b = insert_node(ARCH, "n1", t, closed=False)
    left, right = split_bezier(Vec2.list([(0, 0), (0, 60), (90, 80), (100, 0)]), t)
    ours = [a.at, plus(a.at, a.after), plus(node.at, node.before), node.at]
    assert np.allclose(ours, left, atol=1e-9)
    ours = [node.at, plus(node.at, node.after), plus(b.at, b.before), b.at]
    assert np.allclose(ours, right[::-1], atol=1e-9)  # it runs from the end
    assert node.smooth
    assert node.id == "n3"


def plus(at, handle):
    return (at[0] + handle[0], at[1] + handle[1])


def test_splitting_a_straight_line_makes_a_corner_with_the_edges_turn() -> None:
    ring = turned(SQUARE, n2=15.0)
    split = insert_node(ring, "n2", 0.25, closed=True)
    assert split[2] == Node(id="n5", at=(100.0, 25.0), turn_mm=15.0)


def test_splitting_the_closing_segment() -> None:
    split = insert_node(SQUARE, "n4", 0.5, closed=True)
    assert split[-1].at == (0.0, 50.0)
    with pytest.raises(KeyError):
        insert_node(SQUARE, "n4", 0.5, closed=False)


@pytest.mark.parametrize("t", [0.0, 1.0, -1.0, math.nan])
def test_a_node_is_not_inserted_on_another(t: float) -> None:
    with pytest.raises(InputError):
        insert_node(SQUARE, "n1", t, closed=True)


@settings(deadline=None)
@given(st.floats(0.02, 0.98), st.sampled_from(["n1", "n2", "n3", "n4"]))
def test_deleting_what_was_inserted_gives_the_curve_back(t: float, after: str) -> None:
    disc = circle_path(10, 20, 50)
    split = insert_node(disc, after, t, closed=True)
    back = delete_node(split, "n5", closed=True)
    for ours, theirs in zip(back, disc, strict=True):
        assert np.allclose(ours.before, theirs.before, atol=1e-6)
        assert np.allclose(ours.after, theirs.after, atol=1e-6)


@settings(deadline=None)
@given(st.floats(0.02, 0.98))
def test_inserting_leaves_the_shape_as_it_is(t: float) -> None:
    whole = flatten(ARCH, closed=False)
    split = flatten(insert_node(ARCH, "n1", t, closed=False), closed=False)
    # Both polylines lie within the flattening tolerance of the one curve.
    assert polyline_distance(split, whole) < 0.11


def polyline_distance(points, line) -> float:
    return hausdorff_distance(LineString(points), LineString(line), densify=0.05)


@pytest.mark.parametrize(("count", "closed"), [(2, False), (3, True)])
def test_the_last_nodes_cannot_be_deleted(count: int, closed: bool) -> None:
    with pytest.raises(EditRefused, match="needs"):
        delete_node(SQUARE[:count], "n1", closed=closed)


def test_the_last_corners_turn_lives_on() -> None:
    ring = (
        Node(id="n1", at=(0.0, 0.0), turn_mm=9.0),
        *(
            Node(id=f"n{i}", at=at, smooth=True)
            for i, at in enumerate([(9, 0), (9, 9), (0, 9)], 2)
        ),
    )
    assert delete_node(ring, "n1", closed=True)[0].turn_mm == 9.0
    smooth = set_smooth(ring, "n1", True, closed=True)
    assert smooth[0].turn_mm == 9.0


def test_smoothing_a_corner_makes_handles_in_line() -> None:
    node = set_smooth(SQUARE, "n2", True, closed=True)[1]
    assert node.smooth
    # By symmetry the tangent at a square's corner is its diagonal; a third of the side long.
    assert np.allclose(node.after, (100 / 3 / math.sqrt(2), 100 / 3 / math.sqrt(2)))
    assert np.allclose(node.before, (-node.after[0], -node.after[1]))


def test_smoothing_drops_a_turn_that_no_edge_reads_any_more() -> None:
    assert set_smooth(turned(SQUARE, n2=15.0), "n2", True, closed=True)[1].turn_mm is None


def test_a_smooth_node_made_a_corner_keeps_its_shape() -> None:
    disc = circle_path(0, 0, 50)
    corner = set_smooth(disc, "n2", False, closed=True)[1]
    assert (corner.before, corner.after) == (disc[1].before, disc[1].after)
    assert not corner.smooth


def test_the_end_of_a_line_cannot_be_smooth() -> None:
    with pytest.raises(EditRefused):
        set_smooth(SQUARE, "n1", True, closed=False)


def test_translating_moves_nodes_and_leaves_handles() -> None:
    moved = translate_path(ARCH, 3, -4)
    assert [n.at for n in moved] == [(3.0, -4.0), (103.0, -4.0)]
    assert [n.after for n in moved] == [n.after for n in ARCH]


@settings(deadline=None)
@given(st.lists(st.none() | st.floats(0, 50), min_size=4, max_size=4), st.integers(0, 15))
def test_reversing_keeps_every_edges_turn(turns: list[float | None], smooth: int) -> None:
    ring = tuple(
        Node(
            id=n.id,
            at=n.at,
            smooth=bool(smooth >> i & 1),
            turn_mm=None if smooth >> i & 1 and (i or smooth != 15) else turns[i],
        )
        for i, n in enumerate(SQUARE)
    )
    back = reverse_path(ring)
    assert turn_of_segments(back) == turn_of_segments(ring)
    assert [n.at for n in back] == [n.at for n in reversed(ring)]


def test_reversing_swaps_handles() -> None:
    first, last = reverse_path(ARCH)
    assert (first.at, first.after) == ((100.0, 0.0), (-10.0, 80.0))
    assert (last.at, last.before) == ((0.0, 0.0), (0.0, 60.0))

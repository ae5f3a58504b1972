import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.document.measures import (
    align_nodes,
    edge_at,
    edge_ends,
    edge_length,
    length_between,
    ring_middle,
    ring_size,
    set_edge_length,
    weld_nodes,
)
from core.document.path import Node
from core.document.shaping import ring_of
from core.errors import EditRefused
from helpers.jobs import circle_path, path
from helpers.rings import smooth_rings

SQUARE = path([(0, 0), (400, 0), (400, 200), (0, 200)])
BOWED = (
    Node(id="n1", at=(0.0, 0.0), after=(100.0, -60.0)),
    Node(id="n2", at=(300.0, 0.0), smooth=True, before=(-80.0, -10.0), after=(40.0, 5.0)),
    Node(id="n3", at=(420.0, 60.0), before=(-30.0, -30.0)),
    Node(id="n4", at=(200.0, 260.0)),
)
"""Its edge n1 runs through n2 to n3."""


def at(ring, node):
    return next(n.at for n in ring if n.id == node)


def test_an_edge_runs_from_corner_to_corner():
    assert edge_at(BOWED, "n2") == "n1"
    assert edge_ends(BOWED, "n1") == ("n1", "n3")
    assert edge_ends(BOWED, "n4") == ("n4", "n1")
    assert edge_length(BOWED, "n3") == pytest.approx(math.dist((420, 60), (200, 260)))
    with pytest.raises(KeyError):
        edge_length(BOWED, "n2")


@given(st.floats(1, 5000))
def test_a_straight_edge_gets_its_length_and_the_rest_stays(length):
    ring = set_edge_length(SQUARE, "n1", length)
    assert edge_length(ring, "n1") == pytest.approx(length, rel=1e-9)
    assert at(ring, "n2") == pytest.approx((length, 0))
    assert [at(ring, n) for n in ("n1", "n3", "n4")] == [(0, 0), (400, 200), (0, 200)]


@given(st.floats(460, 3000))
def test_a_curved_edge_gets_its_length_along_its_direction(length):
    ring = set_edge_length(BOWED, "n1", length)
    assert edge_length(ring, "n1") == pytest.approx(length, rel=1e-9)
    (x, y), (x0, y0) = at(ring, "n3"), at(BOWED, "n3")
    assert (x - x0) * 60 == pytest.approx((y - y0) * 420, abs=1e-6)
    assert at(ring, "n2") == at(BOWED, "n2")


def test_a_length_that_no_place_gives_is_refused():
    with pytest.raises(EditRefused, match="cannot have that length"):
        set_edge_length(BOWED, "n1", 100)
    with pytest.raises(EditRefused, match="longer than nothing"):
        set_edge_length(SQUARE, "n1", 0)
    with pytest.raises(EditRefused, match="goes all round"):
        set_edge_length(circle_path(0, 0, 50), "n1", 100)


def test_lengths_between_nodes_straight_and_along():
    assert length_between(SQUARE, "n1", "n3", is_along=False) == pytest.approx(447.2136)
    assert length_between(SQUARE, "n1", "n3", is_along=True) == 600
    assert length_between(SQUARE, "n3", "n2", is_along=True) == 1000


@given(smooth_rings().map(ring_of))
def test_size_holds_every_point(ring):
    width, height = ring_size(ring)
    xs, ys = zip(*(n.at for n in ring), strict=True)
    assert width >= max(xs) - min(xs) - 1e-9
    assert height >= max(ys) - min(ys) - 1e-9


def test_size_and_middle_of_a_circle_are_exact():
    assert ring_size(circle_path(10, 20, 50)) == pytest.approx((100, 100), rel=1e-12)
    assert ring_middle(circle_path(10, 20, 50)) == pytest.approx((10, 20))


def test_nodes_in_line_with_the_first():
    ring = align_nodes(BOWED, ["n1", "n3", "n4"], is_level=True)
    assert [at(ring, n) for n in ("n1", "n3", "n4")] == [(0, 0), (420, 0), (200, 0)]
    ring = align_nodes(BOWED, ["n3", "n2"], is_level=False)
    assert at(ring, "n2") == (420, 0)
    with pytest.raises(EditRefused):
        align_nodes(BOWED, ["n3", "n3"], is_level=False)


def test_welded_nodes_are_one_half_way():
    ring = tuple(replace(n, turn_mm=float(n.id[1:])) for n in SQUARE)
    welded = weld_nodes(ring, "n2", "n3")
    assert [(n.id, n.at, n.turn_mm) for n in welded] == [
        ("n1", (0, 0), 1.0), ("n2", (400, 100), 3.0), ("n4", (0, 200), 4.0),
    ]  # fmt: skip
    around = weld_nodes(ring, "n1", "n4")
    assert [(n.id, n.at, n.turn_mm) for n in around] == [
        ("n2", (400, 0), 2.0), ("n3", (400, 200), 3.0), ("n1", (0, 100), 1.0),
    ]  # fmt: skip
    with pytest.raises(EditRefused, match="Only neighbours"):
        weld_nodes(ring, "n1", "n3")
    with pytest.raises(EditRefused, match="Too little"):
        weld_nodes(welded, "n1", "n2")


def test_smooth_nodes_in_line_weld_to_a_smooth_one():
    disc = circle_path(0, 0, 50)
    near = (*disc[:1], replace(disc[0], id="n9", at=(49.9, 2.0)), *disc[1:])
    welded = weld_nodes(near, "n1", "n9")
    assert welded[0].smooth
    assert len(welded) == 4

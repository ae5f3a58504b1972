import pytest

from core.progress import Silent
from core.read.joining import Loop
from core.read.loops import nest, to_nodes, to_ring, without_doubles
from core.read.strokes import Segment, Stroke, circle_arc, segments_of


def square(x, y, side, layer="0"):
    a = complex(x, y)
    ring = [a, a + side, a + side + side * 1j, a + side * 1j]
    ends = [*ring[1:], ring[0]]
    segments = tuple(Segment(p, None, None, q) for p, q in zip(ring, ends, strict=True))
    return to_ring(Loop(segments, layer, "", 0))


def shape_of(nests):
    return [(round(n.outline.shape.area), sorted(round(o.shape.area) for o in n.openings))
            for n in nests]  # fmt: skip


def test_loops_inside_are_openings_and_loops_inside_those_panels_again():
    rings = [square(40, 40, 20), square(0, 0, 100), square(30, 30, 40), square(5, 5, 10)]
    assert shape_of(nest(rings, Silent())) == [(400, []), (10_000, [100, 1600])]


def test_loops_side_by_side_are_panels_each():
    assert shape_of(nest([square(0, 0, 10), square(20, 0, 10)], Silent())) == [
        (100, []), (100, []),
    ]  # fmt: skip


def test_loops_that_cross_are_panels_both():
    assert shape_of(nest([square(0, 0, 10), square(5, 5, 10)], Silent())) == [
        (100, []), (100, []),
    ]  # fmt: skip


def test_nothing_gives_nothing():
    assert nest([], Silent()) == []


def test_a_loop_drawn_twice_is_kept_once():
    rings = [square(0, 0, 10), square(0.004, 0, 10), square(0, 0, 10.5)]
    kept, dropped = without_doubles(rings)
    assert dropped == 1
    assert kept == [rings[0], rings[2]]


def test_tiny_loops_are_none():
    assert square(0, 0, 0.9) is None
    assert square(0, 0, 1.1) is not None


def test_a_loop_that_crosses_itself_is_told_and_still_has_an_area():
    ring = [0, 100, 100 + 50j, 50j, 20 - 20j]
    ends = [*ring[1:], ring[0]]
    segments = tuple(Segment(p, None, None, q) for p, q in zip(ring, ends, strict=True))
    found = to_ring(Loop(segments, "0", "", 0))
    assert found.is_crossing
    assert found.shape.is_valid
    assert found.shape.area > 4000


def test_nodes_are_smooth_where_tangents_agree_at_a_curve():
    # A rounded corner: line, quarter of a circle, line; then two corners.
    start, arc = circle_arc(80 + 20j, 20, -1.5707963267948966, 1.5707963267948966)
    curve = segments_of(Stroke(start, (arc,)), 1.0, 0.01)
    segments = [
        Segment(0, None, None, start),
        *curve,
        Segment(curve[-1].end, None, None, 100 + 90j),
        Segment(100 + 90j, None, None, 0),
    ]
    nodes = to_nodes(segments)
    assert [n.smooth for n in nodes] == [False, True, True, False]
    assert nodes[1].before is None
    assert nodes[1].after == pytest.approx((11.0457, 0), abs=1e-4)
    assert nodes[2].after is None


def test_a_tangent_that_turns_by_a_degree_is_a_corner():
    bent = Segment(10, 20 + 0.2j, 30 + 5j, 30 + 30j)
    assert not to_nodes([Segment(0, None, None, 10), bent, Segment(30 + 30j, None, None, 0)])[
        1
    ].smooth


def test_the_corner_of_a_ring_counts_its_curves():
    start, arc = circle_arc(5 + 7j, 30, 1.0, 6.283185307179586)
    ring = to_ring(Loop(tuple(segments_of(Stroke(start, (arc,)), 1.0, 0.01)), "0", "", 0))
    assert ring.corner == pytest.approx((-25, -23), abs=0.01)

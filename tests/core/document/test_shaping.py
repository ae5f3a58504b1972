import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import Polygon

from core.document.combining import cut_ring, join_rings
from core.document.edits.paths import reverse_path
from core.document.path import Node
from core.document.placing import Placing, mirrored, place_path, place_ring, scaled, turned
from core.document.shaping import (
    chain_of,
    counter_clockwise,
    drawn,
    edge_turns,
    offset_path,
    ring_of,
    round_corners,
    simplify_ring,
    split_ring,
    straighten,
)
from core.errors import EditRefused
from core.geometry.bezier import area_of
from core.geometry.boolean_paths import flat_ring
from core.geometry.path_offset import Corners
from helpers.jobs import circle_path, path
from helpers.rings import corner_rings, smooth_rings

SQUARE = path([(0, 0), (400, 0), (400, 200), (0, 200)])
rings = st.one_of(corner_rings(), smooth_rings()).map(ring_of)


def area(ring):
    return area_of(chain_of(ring))


def ids(ring):
    return [n.id for n in ring]


def turned_edge(ring, node, turn):
    return tuple(replace(n, turn_mm=turn) if n.id == node else n for n in ring)


@given(rings)
def test_a_ring_is_the_same_after_a_walk_through_segments(ring):
    again = ring_of(chain_of(ring), drawn(ring))
    assert ids(again) == ids(ring)
    for a, b in zip(again, ring, strict=True):
        assert a.at == pytest.approx(b.at)
        assert (a.smooth, a.turn_mm) == (b.smooth, b.turn_mm)


@settings(max_examples=20)  # each takes a tenth of a second
@given(corner_rings().map(ring_of), st.floats(0.5, 5.0))
def test_rounding_all_corners_removes_what_the_formula_says(ring, radius):
    # Per corner r^2 (tan(t/2) - t/2), more where it is convex, filled where it is not.
    points = [complex(*n.at) for n in ring]
    expected, slack = area(ring), 0.0
    for i, here in enumerate(points):
        into, out = here - points[i - 1], points[(i + 1) % len(points)] - here
        turn = math.atan2((into.conjugate() * out).imag, (into.conjugate() * out).real)
        assume(0.02 < abs(turn) < 2.6)
        bit = radius**2 * (math.tan(abs(turn) / 2) - abs(turn) / 2)
        expected -= math.copysign(bit, turn)
        slack += 3e-4 * radius**2 * abs(turn)
    rounded = round_corners(ring, None, radius)
    assert area(rounded) == pytest.approx(expected, abs=slack + 1e-6)
    assert all(n.smooth for n in rounded)
    assert set(ids(ring)) <= set(ids(rounded))


def test_one_corner_keeps_the_others_and_the_turns():
    ring = turned_edge(SQUARE, "n3", 5.0)
    one = round_corners(ring, ["n2"], 20)
    assert ids(one) == ["n1", "n5", "n2", "n3", "n4"]
    assert [n.smooth for n in one] == [False, True, True, False, False]
    assert one[3].turn_mm == 5.0


def test_edges_of_different_turns_stay_two_edges():
    ring = turned_edge(SQUARE, "n3", 5.0)
    rounded = {n.id: n for n in round_corners(ring, None, 20)}
    assert not rounded["n3"].smooth
    assert rounded["n3"].turn_mm == 5.0
    assert rounded["n2"].smooth


def test_a_radius_that_does_not_fit_says_what_would():
    with pytest.raises(EditRefused, match="room for about 100 mm"):
        round_corners(SQUARE, None, 150)
    with pytest.raises(EditRefused, match="more than nothing"):
        round_corners(SQUARE, None, 0)
    with pytest.raises(EditRefused, match="no corners"):
        round_corners(circle_path(0, 0, 50), None, 5)


def test_offset_keeps_edges_their_names_and_turns():
    ring = turned_edge(SQUARE, "n3", 5.0)
    out = offset_path(ring, 10, Corners.SHARP)
    assert [(n.id, n.turn_mm) for n in out] == [(n.id, n.turn_mm) for n in ring]
    assert area(out) == pytest.approx(420 * 220)
    rounded = offset_path(ring, 10, Corners.ROUND)
    assert [t for t in edge_turns(rounded) if t is not None]
    assert len(rounded) == 8


@settings(max_examples=20)  # each takes a tenth of a second
@given(corner_rings().map(ring_of), st.floats(1, 10))
def test_offset_of_a_clockwise_ring_is_that_of_the_other(ring, distance):
    a = area(offset_path(ring, distance, Corners.ROUND))
    b = area(offset_path(reverse_path(ring), distance, Corners.ROUND))
    assert b == pytest.approx(-a)


def test_offset_refuses_what_leaves_nothing_or_parts():
    with pytest.raises(EditRefused, match="Nothing is left"):
        offset_path(SQUARE, -150, Corners.SHARP)
    with pytest.raises(EditRefused, match="changes nothing"):
        offset_path(SQUARE, 0, Corners.SHARP)
    dumbbell = path(
        [(0, 0), (100, 0), (100, 45), (200, 45), (200, 0), (300, 0), (300, 100), (200, 100),
         (200, 55), (100, 55), (100, 100), (0, 100)]
    )  # fmt: skip
    with pytest.raises(EditRefused, match="parts"):
        offset_path(dumbbell, -8, Corners.SHARP)


def test_straighten_drops_the_nodes_between_either_way_round():
    ring = turned_edge(SQUARE, "n2", 5.0)
    assert ids(straighten(ring, "n1", "n3")) == ["n1", "n3", "n4"]
    assert ids(straighten(ring, "n3", "n1")) == ["n1", "n2", "n3"]
    disc = straighten(circle_path(0, 0, 50), "n1", "n3")
    assert ids(disc) == ["n1", "n3", "n4"]
    assert (disc[0].after, disc[1].before, disc[0].smooth) == (None, None, False)
    with pytest.raises(EditRefused, match="Too little"):
        straighten(straighten(ring, "n1", "n3"), "n1", "n4")


def test_a_stretch_straightened_away_takes_its_turn_along():
    ring = tuple(replace(n, turn_mm=float(n.id[1:])) for n in SQUARE)
    assert [n.turn_mm for n in straighten(ring, "n1", "n3")] == [1.0, 3.0, 4.0]


@settings(max_examples=8)  # each takes up to two seconds
@given(rings, st.floats(0.2, 1.0))
def test_simplify_never_strays_farther_than_it_says(ring, tolerance):
    fresh, off = simplify_ring(ring, tolerance)
    assert off <= tolerance
    assert len(fresh) <= len(ring)
    flat = Polygon(flat_ring(chain_of(ring), 1e-2))
    again = Polygon(flat_ring(chain_of(fresh), 1e-2))
    assert again.exterior.hausdorff_distance(flat.exterior) <= tolerance + 0.03


def test_simplify_keeps_a_node_where_the_turn_changes():
    many = path([(x, 0) for x in range(0, 401, 20)] + [(400, 200), (0, 200)])
    assert len(simplify_ring(many, 0.1)[0]) == 4
    marked = turned_edge(many, "n11", 5.0)
    fresh, _ = simplify_ring(marked, 0.1)
    assert "n11" in ids(fresh)
    assert len(fresh) > 4


@given(smooth_rings().map(ring_of), st.data())
def test_the_halves_of_a_cut_add_up(ring, data):
    i = data.draw(st.integers(0, len(ring) - 1))
    j = (i + data.draw(st.integers(2, len(ring) - 2))) % len(ring)
    try:
        a, b = split_ring(ring, ring[i].id, ring[j].id, 0.0)
    except EditRefused:
        assume(False)
    assert area(a) + area(b) == pytest.approx(area(ring), rel=1e-12)


def test_the_cut_has_its_turn_and_the_edges_keep_theirs():
    ring = tuple(replace(n, turn_mm=float(n.id[1:])) for n in SQUARE)
    a, b = split_ring(ring, "n1", "n3", 0.5)
    assert [(n.id, n.turn_mm) for n in a] == [("n1", 1.0), ("n2", 2.0), ("n3", 0.5)]
    assert [(n.id, n.turn_mm) for n in b] == [("n3", 3.0), ("n4", 4.0), ("n1", 0.5)]


def test_a_cut_has_to_run_inside():
    dent = path([(0, 0), (300, 0), (300, 200), (150, 50), (0, 200)])
    for first, last in (("n3", "n5"), ("n1", "n2"), ("n1", "n1")):
        with pytest.raises(EditRefused):
            split_ring(dent, first, last, None)
    assert len(split_ring(dent, "n1", "n4", None)[0]) == 4


@given(rings, st.floats(-180, 180), st.tuples(st.floats(-99, 99), st.floats(-99, 99)))
def test_mirrored_twice_is_as_it_was(ring, angle, through):
    ring = turned_edge(ring, ring[0].id, 3.0) if not ring[0].smooth else ring
    mirror = mirrored(through, angle)
    again = place_ring(place_ring(ring, mirror), mirror)
    assert ids(again) == ids(ring)
    for a, b in zip(again, ring, strict=True):
        assert a.at == pytest.approx(b.at, abs=1e-9)
        assert (a.smooth, a.turn_mm) == (b.smooth, b.turn_mm)
        for handle in ("before", "after"):
            old, new = getattr(b, handle), getattr(a, handle)
            assert (new is None) == (old is None)
            assert new is None or new == pytest.approx(old, abs=1e-9)
    assert area(place_ring(ring, mirror)) == pytest.approx(area(ring))


@given(rings, st.floats(-360, 360))
def test_a_turn_keeps_area_and_a_scaling_multiplies_it(ring, angle):
    assert area(place_ring(ring, turned((5.0, 7.0), angle))) == pytest.approx(area(ring))
    assert area(place_ring(ring, scaled((1.0, 2.0), 2.0, 0.5))) == pytest.approx(area(ring))


def test_union_keeps_the_nodes_and_turns_of_both():
    other = turned_edge(place_path(SQUARE, Placing(dx=300, dy=50)), "n2", 7.0)
    shape = join_rings(turned_edge(SQUARE, "n4", 5.0), other)
    assert area(shape.outline) == pytest.approx(2 * 80_000 - 100 * 150)
    assert {"n1", "n2", "n4"} <= set(ids(shape.outline))
    at = {n.at: n for n in shape.outline}
    assert at[(700.0, 50.0)].turn_mm == 7.0
    assert at[(0.0, 200.0)].turn_mm == 5.0
    assert len(set(ids(shape.outline))) == len(shape.outline) == 8
    with pytest.raises(EditRefused, match="do not overlap"):
        join_rings(SQUARE, place_path(SQUARE, Placing(dx=900)))


def test_difference_takes_a_bite_a_hole_or_is_refused():
    disc = circle_path(400, 100, 50)
    bite = cut_ring(SQUARE, disc)
    assert area(bite.outline) == pytest.approx(80_000 - area(disc) / 2, abs=0.5)
    holed = cut_ring(SQUARE, circle_path(200, 100, 50))
    assert [abs(area(h)) for h in holed.holes] == [pytest.approx(area(disc), abs=0.1)]
    for other, words in (
        (path([(-9, -9), (500, -9), (500, 300), (-9, 300)]), "Nothing"),
        (path([(100, -9), (150, -9), (150, 300), (100, 300)]), "2 parts"),
        (circle_path(900, 900, 50), "do not overlap"),
    ):
        with pytest.raises(EditRefused, match=words):
            cut_ring(SQUARE, other)


def test_a_ring_is_turned_counter_clockwise_only_when_it_is_not():
    assert counter_clockwise(SQUARE) is SQUARE
    assert area(counter_clockwise(tuple(reversed(SQUARE)))) > 0


def test_a_node_without_handles_beside_a_curve_stays_without():
    ring = (
        Node(id="n1", at=(0.0, 0.0), after=(50.0, -40.0)),
        Node(id="n2", at=(200.0, 0.0)),
        Node(id="n3", at=(100.0, 150.0)),
    )
    assert ring_of(chain_of(ring), drawn(ring)) == ring

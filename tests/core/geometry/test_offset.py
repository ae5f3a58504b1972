"""Growing a polygon by distances of its own for each edge: areas worked out by hand."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely import Point, Polygon, box

from core.geometry.offset import grow, grow_labelled, moved_segments


def grown(points, distances, *holes):
    """Grow a counter-clockwise ring; a hole is (clockwise ring, distances)."""
    shape = Polygon(points, [h for h, _ in holes])
    rings = [distances, *(d for _, d in holes)]
    sizes = [len(points), *(len(h) for h, _ in holes)]
    each = [
        np.broadcast_to(np.asarray(d, float), (n,)) for d, n in zip(rings, sizes, strict=True)
    ]
    made = grow(shape, list(each))
    assert made.is_valid
    assert made.exterior.is_ccw
    return made


RECT = [(0, 0), (400, 0), (400, 300), (0, 300)]


@pytest.mark.parametrize("turn", [0.0, 0.5, 15.0, 400.0])
def test_a_rectangle_grows_to_a_rectangle_with_mitred_corners(turn):
    made = grown(RECT, turn)
    assert made.area == pytest.approx((400 + 2 * turn) * (300 + 2 * turn), rel=1e-12)
    assert made.bounds == pytest.approx((-turn, -turn, 400 + turn, 300 + turn))


def test_edges_of_their_own_turn_meet_where_their_lines_meet():
    made = grown(RECT, [10, 20, 30, 40])  # bottom, right, top, left
    assert made.equals(box(-40, -10, 420, 330))


def test_beside_an_edge_that_does_not_move_the_step_is_square():
    made = grown(RECT, [15, 0, 15, 0])
    assert made.equals(box(0, -15, 400, 315))


def test_an_inside_corner_stays_sharp():
    ell = [(0, 0), (200, 0), (200, 100), (100, 100), (100, 200), (0, 200)]
    made = grown(ell, 10)
    # The L of arms grown by ten on every side: 220 * 220 less the notch of
    # 100 * 100, which has moved by ten both ways.
    assert made.area == pytest.approx(220**2 - 100**2, rel=1e-12)


def test_an_l_with_one_still_edge_in_its_notch_keeps_that_edge():
    ell = [(0, 0), (200, 0), (200, 100), (100, 100), (100, 200), (0, 200)]
    made = grown(ell, [0, 0, 10, 0, 0, 0])  # the edge from (200, 100) to (100, 100)
    assert made.area == pytest.approx(30_000 + 100 * 10)
    assert Polygon(ell).boundary.intersection(made.boundary).length == pytest.approx(
        Polygon(ell).length - 100 - 10
    )


def test_a_disc_grows_by_its_length_times_the_turn_and_a_disc_of_the_turn():
    # Steiner's formula: A + L d + pi d^2 for round corners; mitred ones of a fine polygon
    # differ from it by next to nothing.
    disc = Point(0, 0).buffer(200, quad_segs=64).reverse()
    ring = np.asarray(shapely.orient_polygons(disc).exterior.coords)[:-1]
    made = grown(ring, 10)
    want = disc.area + disc.length * 10 + math.pi * 100
    assert made.area == pytest.approx(want, rel=1e-5)


def test_a_tip_sharper_than_the_mitre_limit_is_bevelled():
    tip = [(0, 0), (400, -20), (400, 20)]
    made = grown(tip, 10)
    # Unlimited, the mitre at the tip of 5.7 degrees would reach 10 / sin(2.86) = 200 mm out.
    assert made.bounds[0] > -21
    assert made.contains(Polygon(tip).buffer(9.9, join_style="bevel"))


def test_a_hole_shrinks_by_what_is_turned_into_it():
    hole = [(100, 100), (100, 200), (200, 200), (200, 100)]
    made = grown(RECT, 0, (hole, 5))
    assert made.area == pytest.approx(400 * 300 - 90 * 90)
    assert len(made.interiors) == 1
    uneven = grown(RECT, 0, (hole, [5, 0, 20, 0]))
    assert Polygon(uneven.interiors[0]).bounds == pytest.approx((105, 100, 180, 200))


def test_a_hole_narrower_than_what_is_turned_into_it_closes():
    hole = [(100, 100), (100, 118), (300, 118), (300, 100)]
    assert len(grown(RECT, 0, (hole, 9)).interiors) == 0
    assert grown(RECT, 0, (hole, 9)).area == pytest.approx(400 * 300)


@pytest.mark.parametrize("turn", [19.0, 20.0, 21.0, 39.0, 41.0])
def test_a_round_hole_closes_when_as_much_is_turned_in_as_its_radius(turn):
    hole = np.asarray(shapely.orient_polygons(Point(200, 150).buffer(20)).exterior.coords)[
        :0:-1
    ]
    made = grown(RECT, 0, (hole.tolist(), turn))
    assert len(made.interiors) == (1 if turn < 20 else 0)


def test_every_segment_knows_the_one_it_came_from():
    shape = Polygon(RECT, [[(100, 100), (100, 200), (200, 200), (200, 100)]])
    made, labels = grow_labelled(shape, [np.full(4, 10.0), np.array([5.0, 0.0, 5.0, 5.0])])
    outer, inner = (set(part.tolist()) for part in labels)
    assert outer == {0, 1, 2, 3}
    assert inner == {4, 5, 6, 7}
    for ring, part in zip((made.exterior, *made.interiors), labels, strict=True):
        assert len(part) == len(ring.coords) - 1
    bottom = [tuple(c) for c in np.asarray(made.exterior.coords)[:-1][labels[0] == 0].tolist()]
    assert (-10.0, -10.0) in bottom


def test_a_shape_whose_moved_edges_meet_is_labelled_too():
    slot = [
        (0, 0),
        (400, 0),
        (400, 300),
        (205, 300),
        (205, 150),
        (195, 150),
        (195, 300),
        (0, 300),
    ]
    made, labels = grow_labelled(Polygon(slot), [np.full(8, 10.0)])
    assert made.area == pytest.approx(420 * 320)
    assert set(labels[0].tolist()) == {0, 1, 2, 6, 7}


def test_a_waist_in_a_hole_that_closes_leaves_two():
    waist = [(50, 100), (50, 200), (180, 200), (180, 155), (220, 155), (220, 200), (350, 200)]
    waist += [(350, 100), (220, 100), (220, 145), (180, 145), (180, 100)]
    made = grown(RECT, 0, (waist, 6))
    assert len(made.interiors) == 2


def test_nothing_moves_by_nothing():
    shape = Polygon(RECT)
    assert grow(shape, [np.zeros(4)]) is shape


def test_a_straight_corner_in_an_edge_makes_no_difference():
    doubled = [(0, 0), (200, 0), (400, 0), (400, 300), (0, 300)]
    assert grown(doubled, 15).area == pytest.approx(430 * 330)


def test_a_step_between_two_parallel_turns_is_square():
    doubled = [(0, 0), (200, 0), (400, 0), (400, 300), (0, 300)]
    made = grown(doubled, [20, 10, 0, 0, 0])
    assert made.area == pytest.approx(400 * 300 + 200 * 20 + 200 * 10)


@pytest.mark.parametrize("far", [0.0, 1e4, 9e5])
def test_far_from_the_origin_it_is_the_same(far):
    moved = [(x + far, y - far) for x, y in RECT]
    assert grown(moved, [10, 20, 30, 40]).area == pytest.approx(460 * 340, rel=1e-9)


def test_moved_segments_lie_at_their_distance_outside():
    ring = np.array(RECT, dtype=float)
    starts, ends = moved_segments(ring, np.array([1.0, 2.0, 3.0, 0.0]))
    assert starts.tolist() == [[0, -1], [402, 0], [400, 303], [0, 300]]
    assert ends.tolist() == [[400, -1], [402, 300], [0, 303], [0, 0]]


@given(
    st.integers(3, 12),
    st.integers(0, 2**32 - 1),
    st.lists(st.sampled_from([0.0, 3.0, 12.0]), min_size=12, max_size=12),
)
@settings(max_examples=60, deadline=None)
def test_what_is_grown_covers_the_shape_and_reaches_no_farther_than_a_mitre(n, seed, turns):
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(0, math.tau, n) * 0.2 + np.arange(n) * math.tau / n)
    radii = rng.uniform(60, 200, n)
    ring = np.stack([radii * np.cos(angles), radii * np.sin(angles)], axis=1)
    shape = Polygon(ring)
    if not shape.is_valid or not shape.exterior.is_ccw:
        return
    made = grown(ring, turns[:n])
    assert made.area >= shape.area - 1e-6
    assert shapely.difference(shape, made).area < 1e-6
    most = max(turns[:n])
    assert shapely.difference(made, shape.buffer(2 * most + 1e-6, quad_segs=64)).area < 1e-6
    # Every edge has at least its own turn on it, wherever it lies.
    for a, b, d in zip(ring, np.roll(ring, -1, axis=0), turns, strict=False):
        along = (b - a) / np.hypot(*(b - a))
        out = np.array([along[1], -along[0]]) * d
        assert shapely.difference(Polygon([a, a + out, b + out, b]), made).area < 1e-6

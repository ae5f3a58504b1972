import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from core.write.cut_path import cut_lengths, ordered_cuts
from core.write.cut_starts import CORNER_DEG, ring_from, start_places
from core.write.drawing import Drawing, Shape, Text, area_runs, open_run
from core.write.tour import short_tour
from helpers.plotted import CUT, LABEL, TICK, cuts_of, drawing_of, line_of, ring_and_overcut


def frame(x, y, size):
    """A square frame about a point, with room inside for another."""
    outer = box(x - size, y - size, x + size, y + size)
    return outer.difference(outer.buffer(-size / 3, join_style="mitre"))


@st.composite
def nested_pieces(draw):
    """Pieces in a grid, some with openings, some of those with pieces in them."""
    count = draw(st.integers(1, 12))
    areas = {}
    for i in range(count):
        x, y = 150 + 220 * (i % 4), 150 + 220 * (i // 4)
        depth = draw(st.integers(0, 3))
        size, angle = draw(st.floats(40, 100)), draw(st.floats(0, 90))
        for level in range(depth):
            ring = frame(x, y, size)
            areas[f"p{i}.{level}"] = rotate(ring, angle, origin=(x, y))
            size *= 0.6
        areas[f"p{i}.core"] = draw(
            st.sampled_from([Point(x, y).buffer(size / 2), box(x, y, x + size / 3, y + 5)])
        )
    names = draw(st.permutations(list(areas)))
    return {name: areas[name] for name in names}


@settings(max_examples=40, deadline=None)
@given(nested_pieces(), st.sampled_from([0.0, 0.5, 3.0]))
def test_every_line_is_cut_once_closed_and_inside_out(areas, overcut):
    ordered = ordered_cuts(drawing_of(areas), overcut)
    cuts = cuts_of(ordered)
    wanted = [(s, r) for s, a in areas.items() for r in (a.exterior, *a.interiors)]
    assert len(cuts) == len(wanted)
    left = [(source, Polygon(ring)) for source, ring in wanted]
    done = []
    for source, run in cuts:
        line = line_of(run)
        assert run.is_closed == (overcut == 0)
        ring = Polygon(run.points)
        if overcut:
            ring, tail = ring_and_overcut(line, overcut)
            assert ring.exterior.buffer(1e-6).contains(tail)
            assert tail.length == pytest.approx(overcut)
        match = [i for i, (s, r) in enumerate(left) if s == source and alike(r, ring)]
        assert match, f"{source} is cut once, and as planned"
        left.pop(match[0])
        for earlier in done:
            # Once a line is cut, nothing inside it may be cut any more.
            assert not earlier.contains(Point(ring.exterior.coords[0])), source
        done.append(ring)
    assert not left


def alike(a, b):
    return a.symmetric_difference(b).area < 1e-6 * a.area


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 2000), st.floats(0, 1000)), max_size=40))
def test_a_tour_visits_every_place_once(places):
    points = np.array(places).reshape(-1, 2)
    order = short_tour(points, np.zeros(2))
    assert sorted(order) == list(range(len(places)))


def length_of(points, order):
    path = np.vstack([np.zeros(2), points[order]])
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


def test_a_tour_round_a_circle_is_the_circle():
    turns = np.linspace(0, 2 * math.pi, 60, endpoint=False)
    points = 500 + 400 * np.column_stack([np.cos(turns), np.sin(turns)])
    rng = np.random.default_rng(3)
    shuffled = points[rng.permutation(60)]
    best = 59 * 800 * math.sin(math.pi / 60)  # 59 chords
    there = math.hypot(500, 500) - 400  # from the origin to the circle
    assert length_of(shuffled, short_tour(shuffled, np.zeros(2))) <= best + there + 25


def test_a_tour_of_a_grid_is_near_the_shortest_and_far_below_chance():
    grid = np.array([(x, y) for x in range(0, 1500, 100) for y in range(0, 1000, 100)], float)
    points = grid[np.random.default_rng(5).permutation(len(grid))]
    shortest = 100 * (len(points) - 1)  # to and fro, row by row
    assert length_of(points, short_tour(points, np.zeros(2))) < 1.12 * shortest


def test_more_places_than_are_made_better_at_once_are_still_visited():
    points = np.random.default_rng(1).uniform(0, 5000, (1500, 2))
    order = short_tour(points, np.zeros(2))
    assert sorted(order) == list(range(1500))
    # A random tour is 0.52 of the side a step; the shortest 0.7124 * sqrt(n A) (Beardwood,
    # Halton and Hammersley, from memory).
    assert length_of(points, order) < 1.25 * 0.7124 * math.sqrt(1500 * 5000**2)


def test_travel_falls_against_the_order_of_the_drawing():
    rng = np.random.default_rng(2)
    spots = [(x, y) for x in range(100, 2000, 200) for y in range(100, 1000, 150)]
    order = rng.permutation(len(spots))
    areas = {f"p{i}": Point(spots[i]).buffer(40) for i in order}
    naive = drawing_of(areas)
    ordered = ordered_cuts(naive, 0.0)
    assert cut_lengths(ordered).cut_mm == pytest.approx(cut_lengths(naive).cut_mm)
    assert cut_lengths(ordered).travel_mm < 0.2 * cut_lengths(naive).travel_mm


# Where the knife sets in


def test_a_rectangle_is_begun_in_the_middle_of_a_long_side():
    ring = np.array([(0, 0), (300, 0), (300, 100), (0, 100)], dtype=float)
    assert start_places(ring).tolist() == [150, 550]


def test_points_on_a_straight_side_are_no_corners():
    ring = np.array([(0, 0), (30, 0), (280, 0), (300, 0), (300, 100), (0, 100)], dtype=float)
    assert start_places(ring).tolist() == [150, 550]


def test_a_round_with_a_flat_is_begun_on_the_flat():
    shape = Point(0, 0).buffer(50, quad_segs=24).difference(box(-60, -60, 60, -30))
    ring = np.array(shape.exterior.coords)[:-1]
    (place,) = start_places(ring)
    x, y = shape.exterior.interpolate(place).coords[0]
    assert (x, y) == pytest.approx((0, -30), abs=1e-6)


def test_a_leaf_without_straight_sides_is_begun_away_from_its_tips():
    lens = Point(0, 0).buffer(100, quad_segs=48)
    leaf = lens.intersection(translate(lens, 120, 0))
    ring = np.array(leaf.exterior.coords)[:-1]
    tips = np.array([(60, 80), (60, -80)], dtype=float)
    for place in start_places(ring):
        at = np.array(leaf.exterior.interpolate(place).coords[0])
        assert np.hypot(*(tips - at).T).min() > 50


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.0, 20.0), st.integers(3, 30))
def test_a_line_begun_anywhere_is_the_ring_and_the_overcut(seed, overcut, count):
    rng = np.random.default_rng(seed)
    turns = np.sort(rng.uniform(0, 2 * math.pi, count))
    if np.diff(np.append(turns, turns[0] + 2 * math.pi)).max() > math.pi - 0.1:
        return
    ring = np.column_stack([np.cos(turns), np.sin(turns)]) * rng.uniform(20, 60, (count, 1))
    whole = Polygon(ring)
    start = rng.uniform(0, whole.exterior.length)
    line = ring_from(ring, start, overcut)
    assert line[0] == pytest.approx(whole.exterior.interpolate(start).coords[0], abs=1e-6)
    if overcut < 1e-6:
        assert alike(Polygon(line), whole)
    else:
        found, tail = ring_and_overcut(shapely.LineString(line), overcut)
        assert alike(found, whole)
        assert tail.length == pytest.approx(overcut, abs=1e-6)


def test_a_start_is_never_in_a_corner_where_there_is_a_side():
    for sides in (3, 4, 6, 12):
        turns = np.linspace(0, 2 * math.pi, sides, endpoint=False)
        ring = 80 * np.column_stack([np.cos(turns), np.sin(turns)])
        assert 360 / sides > CORNER_DEG
        line = shapely.LinearRing(ring)
        for place in start_places(ring):
            at = np.array(line.interpolate(place).coords[0])
            assert np.hypot(*(ring - at).T).min() == pytest.approx(line.length / sides / 2)


# What is not closed, and what is not cut


def test_open_lines_come_after_rings_those_of_openings_first():
    pieces = drawing_of({"a": box(0, 0, 100, 50)})
    outline = Shape("CUT", (open_run([(300, 0), (500, 0)]),), "long")
    run = open_run([(300, 20), (400, 20)])
    opening = Shape("CUT", (type(run)(run.points, False, is_opening=True),), "long")
    mixed = Drawing("t", pieces.extent, pieces.layers, (outline, opening, *pieces.shapes))
    kinds = [(s, r.is_opening) for s, r in cuts_of(ordered_cuts(mixed, 0.5))]
    assert kinds == [("a", False), ("long", True), ("long", False)]


def test_lines_within_a_piece_are_cut_before_its_outline():
    pieces = drawing_of({"a": box(0, 0, 100, 50), "b": box(200, 0, 300, 50)})
    lines = [
        Shape("CUT", (open_run([(x, 25), (x + 30, 25)], is_opening=True),), source)
        for x, source in ((0, "a"), (200, "b"))
    ]
    mixed = Drawing("t", pieces.extent, pieces.layers, (*pieces.shapes, *lines))
    kinds = [(s, r.is_closed) for s, r in cuts_of(ordered_cuts(mixed, 0.0))]
    assert kinds == [("a", False), ("a", True), ("b", False), ("b", True)]


def test_an_outline_is_not_begun_where_a_line_within_meets_it():
    runs = (*area_runs(box(0, 0, 100, 50)), open_run([(50, 0), (50, 20)], is_opening=True))
    runs += (open_run([(50, 50), (50, 30)], is_opening=True),)
    piece = Drawing("t", (0, 0, 100, 50), (CUT,), (Shape("CUT", runs, "a"),))
    (*_, (_, ring)) = cuts_of(ordered_cuts(piece, 1.0))
    assert abs(ring.points[0][0] - 50) > 9
    assert ring.points[0][1] in (0.0, 50.0)


def test_pens_come_first_in_the_order_of_the_pieces():
    near, far = box(0, 0, 50, 50), box(900, 0, 950, 50)
    base = drawing_of({"far": far, "near": near})
    ticks = [Shape("TICK", (open_run([(x, 0), (x, 5)]),), s) for s, x in (("far", 910),)]
    texts = (
        Text("LABEL", "far", (910, 20), 5, source="far"),
        Text("LABEL", "near", (10, 20), 5, source="near"),
    )
    mixed = Drawing("t", base.extent, (CUT, TICK, LABEL), (*base.shapes, *ticks), texts)
    ordered = ordered_cuts(mixed, 0.5)
    assert [s.layer for s in ordered.shapes] == ["TICK", "CUT", "CUT"]
    assert [s.source for s in ordered.shapes[1:]] == ["near", "far"]
    assert [t.text for t in ordered.texts] == ["near", "far"]


def test_a_drawing_without_cuts_stays_as_it_is():
    empty = drawing_of({})
    assert ordered_cuts(empty, 0.5) == empty
    assert cut_lengths(empty).travel_mm == 0.0

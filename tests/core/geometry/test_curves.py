"""Flattening judged by dense sampling of the curve, and by what is known of circles."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely import LineString, Polygon

from core.document.flatten import flatten
from core.geometry.curves import bezier_points, flatten_path, without_doubles
from core.tolerance import FLATTEN_MM, QUANTUM_MM
from helpers.jobs import circle_path

coordinate = st.floats(-800, 800).map(lambda v: round(v, 3))
point = st.tuples(coordinate, coordinate)


def flat(nodes, before=None, after=None, *, closed=False, tolerance=FLATTEN_MM):
    points = np.array(nodes, dtype=float).reshape(-1, 2)
    none = [None] * len(points)
    line, owner = flatten_path(
        points, before or none, after or none, closed=closed, tolerance=tolerance
    )
    assert len(line) == len(owner)
    return line, owner


@given(point, point, point, point, st.sampled_from([0.01, 0.05, 1.0]))
@settings(max_examples=60, deadline=None)
def test_no_point_of_a_curve_lies_farther_from_its_polyline_than_the_tolerance(
    p0, out, into, p3, tolerance
):
    line, _ = flat([p0, p3], [None, into], [out, None], tolerance=tolerance)
    p1, p2 = np.add(p0, out), np.add(p3, into)
    dense = bezier_points(np.array(p0), p1, p2, np.array(p3), np.linspace(0, 1, 2001))
    if len(line) < 2:
        return
    distances = shapely.distance(LineString(line), shapely.points(dense))
    assert distances.max() <= tolerance * 1.001


def test_a_cubic_has_the_value_of_its_own_definition_half_way():
    # (p0 + 3 p1 + 3 p2 + p3) / 8, by de Casteljau (from memory).
    p = [np.array(v, dtype=float) for v in ((0, 0), (10, 40), (90, -30), (100, 7))]
    half = bezier_points(*p, np.array([0.0, 0.5, 1.0]))
    assert half[0] == pytest.approx(p[0])
    assert half[1] == pytest.approx((p[0] + 3 * p[1] + 3 * p[2] + p[3]) / 8)
    assert half[2] == pytest.approx(p[3])


@pytest.mark.parametrize("radius", [0.5, 20.0, 500.0])
def test_a_circle_of_four_cubics_has_a_circles_length_and_area(radius):
    ring = flatten(circle_path(3, -7, radius), closed=True)
    shape = Polygon(ring)
    # Each cubic lies outside the circle by at most 0.0273 % of the radius (Goldapp 1991, from
    # memory); the polyline lies inside its cubic by at most the tolerance.
    reach = np.hypot(*(ring - (3, -7)).T)
    assert reach.max() <= radius * 1.000273 + QUANTUM_MM
    assert reach.min() >= radius - QUANTUM_MM
    slack = math.tau * radius * (radius * 0.000273 + FLATTEN_MM)
    assert abs(shape.area - math.pi * radius**2) <= slack
    assert abs(shape.length - math.tau * radius) <= 0.0015 * math.tau * radius + 4 * FLATTEN_MM


def test_straight_paths_keep_their_nodes():
    nodes = [(0, 0), (100, 0), (100, 50)]
    line, owner = flat(nodes)
    assert line.tolist() == [[0, 0], [100, 0], [100, 50]]
    assert owner[:2].tolist() == [0, 1]
    ring, owner = flat(nodes, closed=True)
    assert ring.tolist() == [[0, 0], [100, 0], [100, 50]]
    assert owner.tolist() == [0, 1, 2]


def test_each_point_names_the_node_that_its_curve_starts_from():
    line, owner = flat(
        [(0, 0), (100, 0), (200, 0)],
        [None, (-30, 40), None],
        [(30, 40), None, None],
        closed=False,
    )
    assert set(owner.tolist()) == {0, 1}
    assert (np.diff(owner) >= 0).all()
    assert line[owner == 1][0].tolist() == [100, 0]


def test_a_longer_curve_gets_more_points_and_a_straight_one_few():
    def count(bulge):
        return len(flat([(0, 0), (100, 0)], [None, (0, bulge)], [(0, bulge), None])[0])

    assert count(10) < count(100) < count(1000)
    # Handles on the line at its thirds: the curve is the line itself.
    assert len(flat([(0, 0), (90, 0)], [None, (-30, 0)], [(30, 0), None])[0]) == 2


@pytest.mark.parametrize("closed", [False, True])
def test_nodes_on_one_spot_leave_one_point(closed):
    line, _ = flat([(5, 5)] * 4, closed=closed)
    assert line.tolist() == [[5, 5]]


def test_no_nodes_give_no_points():
    line, owner = without_doubles(np.empty((0, 2)), np.empty(0, dtype=np.intp), closed=True)
    assert len(line) == len(owner) == 0


@given(st.lists(st.sampled_from([(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)]), min_size=1, max_size=12))
def test_doubles_are_dropped_and_nothing_else(nodes):
    for closed in (False, True):
        line, _ = flat(nodes, closed=closed)
        pairs = list(zip(line, np.roll(line, -1, axis=0), strict=True))
        if not closed:
            pairs = pairs[:-1]
        if len(line) > 1:
            assert all((a != b).any() for a, b in pairs)
        length = LineString([*nodes, nodes[0]] if closed else [*nodes, nodes[-1]]).length
        kept = np.vstack([line, line[:1]]) if closed else np.vstack([line, line[-1:]])
        assert LineString(kept).length == pytest.approx(length)


def test_flattened_paths_lie_on_the_quantum_and_cannot_be_changed():
    ring = flatten(circle_path(0.123456, 1e6 / 3, 33.3), closed=True)
    assert np.abs(ring / QUANTUM_MM - np.round(ring / QUANTUM_MM)).max() < 1e-3
    with pytest.raises(ValueError, match="read-only"):
        ring[0, 0] = 1.0

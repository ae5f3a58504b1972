import math

import numpy as np
import pytest
import shapely

from core.errors import GeometryError
from core.geometry.curves import flatten_path
from core.geometry.fitting import fit_ring

TOLERANCE_MM = 0.5


def _path(nodes):
    points = np.array([n.at for n in nodes])
    before, after = [n.before for n in nodes], [n.after for n in nodes]
    line, _ = flatten_path(points, before, after, closed=True, tolerance=0.005)
    return line


def _off(nodes, ring):
    return shapely.distance(shapely.LinearRing(_path(nodes)), shapely.points(ring))


def _ring(shape, step=0.5):
    ring = shapely.get_coordinates(shapely.segmentize(shape.exterior, step))[:-1]
    return ring if shapely.is_ccw(shape.exterior) else ring[::-1]


def _rough(ring, mm=0.05, seed=3):
    return ring + np.random.default_rng(seed).normal(0, mm, ring.shape)


def _rounded(width, height, radius):
    inner = shapely.box(radius, radius, width - radius, height - radius)
    return _ring(inner.buffer(radius, quad_segs=128))


def test_a_rough_rectangle_gives_its_four_corners():
    nodes = fit_ring(_rough(_ring(shapely.box(0, 0, 500, 300))), TOLERANCE_MM)
    assert [n.smooth for n in nodes] == [False] * 4
    assert all(n.before is None and n.after is None for n in nodes)
    wanted = shapely.MultiPoint([(0, 0), (500, 0), (500, 300), (0, 300)])
    assert max(shapely.distance(wanted, shapely.points(n.at)) for n in nodes) < 0.1


def test_corners_that_tracing_has_rounded_get_their_tip_back():
    sharp = np.array([(0.0, 0), (400, 0), (400, 250), (150, 320)])
    traced = shapely.Polygon(sharp).buffer(-1.0).buffer(1.0, quad_segs=16)
    nodes = fit_ring(_rough(_ring(traced), 0.03), TOLERANCE_MM)
    assert len(nodes) == 4
    assert max(min(math.dist(n.at, c) for c in sharp) for n in nodes) < 0.3


@pytest.mark.parametrize("radius", [12.0, 40.0, 100.0])
def test_rounded_rectangles_get_few_nodes_without_a_corner(radius):
    ring = _rounded(600, 300, radius)
    nodes = fit_ring(ring, TOLERANCE_MM)
    assert len(nodes) <= 12
    assert all(n.smooth for n in nodes)
    assert _off(nodes, ring).max() <= TOLERANCE_MM
    assert sum(n.after is None for n in nodes) == 4, "the sides are straight"


@pytest.mark.parametrize("radius", [3.0, 10.0, 100.0, 400.0])
def test_circles_get_four_nodes(radius):
    turn = np.linspace(0, 2 * np.pi, 900, endpoint=False)
    ring = radius * np.stack([np.cos(turn), np.sin(turn)], axis=1) + (5.0, -7.0)
    nodes = fit_ring(_rough(ring, 0.03), TOLERANCE_MM)
    assert len(nodes) == 4
    assert shapely.Polygon(_path(nodes)).area == pytest.approx(math.pi * radius**2, rel=2e-3)


def test_an_ellipse_is_smooth_and_within_the_tolerance():
    turn = np.linspace(0, 2 * np.pi, 3000, endpoint=False)
    ring = np.stack([300 * np.cos(turn), 80 * np.sin(turn)], axis=1)
    nodes = fit_ring(ring, TOLERANCE_MM)
    assert len(nodes) <= 10
    assert all(n.smooth for n in nodes)
    assert _off(nodes, ring).max() <= TOLERANCE_MM


@pytest.mark.parametrize("tolerance", [0.2, 0.5, 2.0])
def test_the_tolerance_is_kept_and_a_wider_one_needs_no_more_nodes(tolerance):
    turn = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
    wave = 200 + 30 * np.cos(3 * turn) + 8 * np.sin(7 * turn)
    ring = wave[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    nodes = fit_ring(ring, tolerance)
    assert _off(nodes, ring).max() <= tolerance
    assert len(nodes) <= len(fit_ring(ring, tolerance / 2))


def test_smooth_nodes_have_their_handles_in_line():
    nodes = fit_ring(_rounded(600, 300, 60), TOLERANCE_MM)
    for node in nodes:
        if node.before and node.after:
            cross = node.before[0] * node.after[1] - node.before[1] * node.after[0]
            size = math.hypot(*node.before) * math.hypot(*node.after)
            assert abs(cross) / size < 1e-6
            assert node.before[0] * node.after[0] + node.before[1] * node.after[1] < 0


def test_turning_and_moving_the_ring_turns_and_moves_the_shape():
    ring = _rounded(300, 200, 40)
    turn = np.array([[math.cos(0.7), math.sin(0.7)], [-math.sin(0.7), math.cos(0.7)]])
    here = shapely.Polygon(_path(fit_ring(ring, TOLERANCE_MM)))
    there = shapely.Polygon(_path(fit_ring(ring @ turn + (900.0, -50.0), TOLERANCE_MM)))
    back = (shapely.get_coordinates(there) - (900.0, -50.0)) @ turn.T
    apart = here.symmetric_difference(shapely.Polygon(back)).area / here.length
    assert apart < TOLERANCE_MM / 2


def test_a_clockwise_ring_stays_clockwise():
    ring = _rounded(300, 200, 40)[::-1]
    assert not shapely.is_ccw(shapely.LinearRing(_path(fit_ring(ring, TOLERANCE_MM))))


def test_too_few_points_and_no_tolerance_are_refused():
    with pytest.raises(GeometryError, match="eight points"):
        fit_ring(np.zeros((4, 2)), TOLERANCE_MM)
    with pytest.raises(GeometryError, match="tolerance"):
        fit_ring(_rounded(300, 200, 40), 0.0)

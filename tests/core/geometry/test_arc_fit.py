"""Arcs are judged by ezdxf, which flattens bulges by code of its own, and by plane geometry."""

import math

import numpy as np
import pytest
import shapely
from ezdxf.entities import LWPolyline
from ezdxf.math import bulge_to_arc
from ezdxf.path import make_path
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, box

from core.geometry.arc_fit import fit_arcs
from helpers.rings import smooth_rings


def fitted_line(points, tolerance, *, is_closed):
    """One line on its own."""
    (line,) = fit_arcs([(points, is_closed)], tolerance)
    return line


def flattened(fitted, *, is_closed):
    """The line as ezdxf reads it, flattened closely."""
    line = LWPolyline.new()
    line.set_points(
        [(x, y, b) for (x, y), b in zip(fitted.points, fitted.bulges, strict=True)], "xyb"
    )
    line.closed = is_closed
    return np.array([(v.x, v.y) for v in make_path(line).flattening(0.005)])


def apart(a, b):
    """Largest distance either way, both lines sampled every 4 mm."""
    lines = [LineString(a), LineString(b)]
    away = [
        shapely.distance(shapely.points(shapely.get_coordinates(one.segmentize(4.0))), other)
        for one, other in (lines, lines[::-1])
    ]
    return max(float(d.max()) for d in away)


def circle(radius, steps, turn=2 * math.pi):
    count = steps if turn == 2 * math.pi else steps + 1
    t = np.arange(count) * turn / steps
    return radius * np.column_stack([np.cos(t), np.sin(t)])


@pytest.mark.parametrize("radius", [2.0, 30.0, 500.0])
def test_a_circle_is_a_few_arcs_of_its_own_radius(radius):
    ring = circle(radius, 96)
    fitted = fitted_line(ring, radius * 1e-3, is_closed=True)
    assert len(fitted.points) <= 4
    ends = np.roll(fitted.points, -1, axis=0)
    for start, end, bulge in zip(fitted.points, ends, fitted.bulges, strict=True):
        if bulge:
            centre, _, _, found = bulge_to_arc(start, end, bulge)
            assert found == pytest.approx(radius, rel=1e-6)
            assert abs(centre) < 1e-6 * radius


def test_half_a_circle_to_the_left_has_bulge_1():
    # The DXF reference: the bulge is the tangent of a quarter of the included angle, negative
    # when the arc runs clockwise.
    half = circle(10.0, 32, math.pi)
    assert fitted_line(half, 0.05, is_closed=False).bulges.tolist() == pytest.approx([1.0, 0.0])
    back = fitted_line(half[::-1], 0.05, is_closed=False)
    assert back.bulges.tolist() == pytest.approx([-1.0, 0.0])


def test_corners_and_straight_sides_stay():
    ring = np.array(box(0, 0, 40, 20).exterior.coords)[:-1]
    fitted = fitted_line(ring, 0.05, is_closed=True)
    assert fitted.points.tolist() == ring.tolist()
    assert not fitted.bulges.any()


def test_a_rounded_rectangle_is_four_lines_and_four_arcs():
    shape = box(0, 0, 200, 100).buffer(-8).buffer(8, quad_segs=12)
    ring = np.array(shape.exterior.coords)[:-1]
    fitted = fitted_line(ring, 0.05, is_closed=True)
    assert np.count_nonzero(fitted.bulges) in (4, 5)  # five where the ring starts in a round
    assert len(fitted.points) <= 10
    assert len(ring) > 45


@settings(max_examples=30, deadline=None)
@given(smooth_rings(), st.sampled_from([0.02, 0.05, 0.2]))
def test_any_smooth_outline_keeps_within_the_tolerance(chain, tolerance):
    ring = np.array([(p.real, p.imag) for s in chain for p in _along(s)])
    fitted = fitted_line(ring, tolerance, is_closed=True)
    assert len(fitted.points) <= len(ring)
    closed = np.vstack([ring, ring[:1]])
    assert apart(flattened(fitted, is_closed=True), closed) <= tolerance + 0.006
    kept = {tuple(p) for p in ring.tolist()}
    assert all(tuple(p) in kept for p in fitted.points.tolist())


def _along(segment, steps=24):
    for i in range(steps):
        t = i / steps
        u = 1 - t
        yield (
            u**3 * segment.p0
            + 3 * u * u * t * segment.p1
            + 3 * u * t * t * segment.p2
            + t**3 * segment.p3
        )


def test_arcs_save_points_on_a_curved_outline():
    t = np.linspace(0, 2 * math.pi, 240, endpoint=False)
    ring = np.column_stack([300 * np.cos(t), 180 * np.sin(t)])
    fitted = fitted_line(ring, 0.05, is_closed=True)
    assert len(fitted.points) < len(ring) / 3
    area = Polygon(flattened(fitted, is_closed=True)).area
    assert area == pytest.approx(Polygon(ring).area, abs=0.05 * 1600)


@pytest.mark.parametrize("points", [[(0, 0), (1, 0)], [(0, 0), (1, 0), (2, 1)]])
def test_short_lines_are_returned_as_they_are(points):
    fitted = fitted_line(np.array(points, dtype=float), 0.05, is_closed=False)
    assert [tuple(p) for p in fitted.points.tolist()] == points
    assert not fitted.bulges.any()


def test_lines_fitted_together_are_as_each_is_alone():
    half, ring = circle(10.0, 32, math.pi), circle(25.0, 96)
    corner = np.array([(0.0, 0.0), (50.0, 0.0), (50.0, 30.0)])
    lines = [(corner, False), (half, False), (ring, True), (corner, True), (ring, False)]
    together = fit_arcs(lines, 0.05)
    for (points, is_closed), line in zip(lines, together, strict=True):
        alone = fitted_line(points, 0.05, is_closed=is_closed)
        assert line.points.tolist() == alone.points.tolist()
        assert line.bulges.tolist() == pytest.approx(alone.bulges.tolist())
    assert fit_arcs([], 0.05) == []

"""Arcs for polylines: as few lines and arcs as keep within a tolerance.

An arc runs from point to point of the polyline, so that what is fitted meets where the polyline
did. It is told as a *bulge*, the tangent of a quarter of the angle that it turns through: 0 is
a straight line, 1 half a circle to the left.

Source: the bulge is that of the DXF reference (group code 42 of LWPOLYLINE and VERTEX); the fit
is linear least squares for the one circle of a pencil through two points (own derivation).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

LEAST_SEGMENTS = 3
"""An arc that stands for fewer segments than this saves nothing worth the change."""
_MOST_TURN = math.radians(180.5)
_STRAIGHT = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class ArcLine:
    """Points joined by lines and arcs.

    Attributes:
        points: shape (n, 2).
        bulges: shape (n,); the i-th is that of the way from point i to the next. The last one
            of an open line is 0.
    """

    points: Points
    bulges: Points


def fit_arcs(points: Points, tolerance_mm: float, *, is_closed: bool) -> ArcLine:
    """Return lines and arcs that keep within the tolerance of a polyline.

    Args:
        points: shape (n, 2); a closed one does not repeat its first point.
        tolerance_mm: largest distance either way between the polyline and what is returned.
        is_closed: whether the last point is joined to the first, which stays a point.

    Degenerate input: fewer than four points, and straight lines, are returned as they are.
    """
    path = np.vstack([points, points[:1]]) if is_closed else points
    kept, bulges = [0], []
    last = len(path) - 1
    at = 0
    while at < last:
        end, bulge = _farthest(path, at, tolerance_mm)
        kept.append(end)
        bulges.append(bulge)
        at = end
    if is_closed:
        kept.pop()
    else:
        bulges.append(0.0)
    return ArcLine(path[kept], np.array(bulges))


def _farthest(path: Points, start: int, tolerance: float) -> tuple[int, float]:
    """Return the farthest point that one arc from ``start`` reaches, and its bulge."""
    last = len(path) - 1

    def bulge_to(end: int) -> float | None:
        return _bulge(path[start : end + 1], tolerance)

    first = start + LEAST_SEGMENTS
    if first > last or bulge_to(first) is None:
        return start + 1, 0.0
    end = _search(first, last, lambda i: bulge_to(i) is not None)
    bulge = bulge_to(end)
    assert bulge is not None
    return end, bulge


def _search(first: int, last: int, holds: Callable[[int], bool]) -> int:
    """Return the end of a stretch from ``first`` that holds: by doubling, then by halves."""
    step, good = 1, first
    while good + step <= last and holds(good + step):
        good += step
        step *= 2
    bad = min(good + step, last + 1)
    while bad - good > 1:
        middle = (good + bad) // 2
        if holds(middle):
            good = middle
        else:
            bad = middle
    return good


def _bulge(points: Points, tolerance: float) -> float | None:
    """Return the bulge of the arc for a stretch of polyline, or None when none is near enough.

    In a frame with the chord from (0, 0) to (c, 0), the circles through both ends have their
    centres at (c/2, k), and x² + y² − c x = 2 k y holds on them: linear in k.
    """
    chord = points[-1] - points[0]
    c = float(np.hypot(*chord))
    if c < tolerance:
        return None
    along = chord / c
    x, y = np.array([along, [-along[1], along[0]]]) @ (points - points[0]).T
    weight = float(y[1:-1] @ y[1:-1])
    if float(np.abs(y).max()) < _STRAIGHT * c or weight == 0.0:
        return None
    k = float((x * x + y * y - c * x)[1:-1] @ y[1:-1]) / (2 * weight)
    off_x, off_y = x - c / 2, y - k
    radius = math.hypot(c / 2, k)
    if _is_off(off_x, off_y, radius, tolerance):
        return None
    turns = np.diff(np.unwrap(np.arctan2(off_y, off_x)))
    turn = float(turns.sum())
    if abs(turn) > _MOST_TURN or not ((turns > 0).all() or (turns < 0).all()):
        return None
    return math.tan(turn / 4)


def _is_off(x: Points, y: Points, radius: float, tolerance: float) -> bool:
    """Say whether a polyline about (0, 0) leaves the circle: at its points or between them."""
    if float(np.abs(np.hypot(x, y) - radius).max()) > tolerance:
        return True
    dx, dy = np.diff(x), np.diff(y)
    length2 = dx * dx + dy * dy
    t = np.clip(-(x[:-1] * dx + y[:-1] * dy) / np.where(length2 > 0, length2, 1.0), 0.0, 1.0)
    nearest = np.hypot(x[:-1] + t * dx, y[:-1] + t * dy)
    return float(np.abs(nearest - radius).max()) > tolerance

"""Curves to polylines: straight lines and cubic Béziers, flattened within a tolerance."""

import math

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Handles = list[tuple[float, float] | None]


def flatten_path(
    points: Points, before: Handles, after: Handles, *, closed: bool, tolerance: float
) -> tuple[Points, NDArray[np.intp]]:
    """Turn a path of nodes into a polyline.

    Args:
        points: nodes, shape (n, 2).
        before: handle of each node towards its predecessor, relative, or None.
        after: handle of each node towards its successor, relative, or None.
        closed: whether the last node runs on to the first.
        tolerance: largest distance between curve and polyline.

    Returns:
        The polyline, shape (m, 2), a closed one not repeating its first point, without doubled
        points; and for each of its points the node at which its curve segment starts.

    Degenerate input: a single node gives itself; nodes on one spot are dropped but for one.
    """
    count = len(points)
    pieces: list[Points] = []
    owners: list[NDArray[np.intp]] = []
    for i in range(count if closed else count - 1):
        j = (i + 1) % count
        run = _flatten_segment(points[i], after[i], before[j], points[j], tolerance)
        pieces.append(run)
        owners.append(np.full(len(run), i, dtype=np.intp))
    if not closed or not pieces:
        pieces.append(points[-1:])
        owners.append(np.array([max(count - 2, 0)], dtype=np.intp))
    return without_doubles(np.concatenate(pieces), np.concatenate(owners), closed=closed)


def _flatten_segment(
    p0: Points,
    out: tuple[float, float] | None,
    into: tuple[float, float] | None,
    p3: Points,
    tolerance: float,
) -> Points:
    """Return the points of one segment, its end left out."""
    if out is None and into is None:
        return p0[None, :]
    p1 = p0 + np.asarray(out or (0.0, 0.0))
    p2 = p3 + np.asarray(into or (0.0, 0.0))
    steps = steps_within(p0, p1, p2, p3, tolerance)
    return bezier_points(p0, p1, p2, p3, np.arange(steps) / steps)


def steps_within(p0: Points, p1: Points, p2: Points, p3: Points, tolerance: float) -> int:
    """Return how many equal steps of t keep the polyline within the tolerance.

    Source: Wang's bound for a cubic, n = sqrt(6/8 · max|second difference| / tolerance); from
    memory of the literature on Bézier flattening, checked against dense sampling in the tests.
    """
    bend = max(np.hypot(*(p0 - 2 * p1 + p2)), np.hypot(*(p1 - 2 * p2 + p3)))
    return max(1, min(1000, math.ceil(math.sqrt(0.75 * float(bend) / tolerance))))


def bezier_points(p0: Points, p1: Points, p2: Points, p3: Points, t: Points) -> Points:
    """Return the points of a cubic Bézier curve at parameters ``t``, shape (len(t), 2)."""
    u = 1 - t
    basis = np.stack([u**3, 3 * u * u * t, 3 * u * t * t, t**3], axis=1)
    result: Points = basis @ np.stack([p0, p1, p2, p3])
    return result


def without_doubles(
    line: Points, owner: NDArray[np.intp], *, closed: bool
) -> tuple[Points, NDArray[np.intp]]:
    """Drop points that equal their successor, and what goes with them in ``owner``.

    The last of equal points stays: it is the one from which a segment of some length starts.
    Degenerate input: of points that are all equal one stays.
    """
    keep = np.ones(len(line), dtype=bool)
    keep[:-1] = np.any(line[1:] != line[:-1], axis=1)
    if closed and keep.sum() > 1 and np.array_equal(line[0], line[-1]):
        keep[-1] = False
    return line[keep], owner[keep]

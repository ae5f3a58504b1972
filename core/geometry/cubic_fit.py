"""Least-squares cubics along a run of points, with the directions at its ends given.

Source: Schneider, "An algorithm for automatically fitting digitized curves" (Graphics Gems,
1990; from memory).
"""

import numpy as np
from numpy.typing import NDArray

from core.geometry.curves import bezier_points

Points = NDArray[np.float64]
Curve = tuple[Points, Points, Points, Points]

_PASSES = 5
_MOST_POINTS = 72
"""So many points of a run settle its cubic."""


def cubics_along(
    run: Points, out: Points, into: Points, tolerance: float, arm: int, most: int = 500
) -> list[Curve]:
    """Return cubics along a run, each as long as the tolerance lets it be.

    Args:
        run: shape (n, 2), closely spaced.
        out: unit direction at its start; ``into`` at its end.
        into: see above.
        tolerance: largest distance between the run's points and the cubics.
        arm: so many points to either side tell the direction at a joint.
        most: stop after one more than so many.
    """
    curves: list[Curve] = []
    start, last = 0, len(run) - 1
    while start < last and len(curves) <= most:
        curve, _, error = _fit_cubic(run[start:], out, into)
        if error <= tolerance or last - start < 8:
            return [*curves, curve]
        good, curve, through = _longest_piece(run, start, out, tolerance, arm)
        curves.append(curve)
        start, out = good, through
    return curves


def _longest_piece(
    run: Points, start: int, out: Points, tolerance: float, arm: int
) -> tuple[int, Curve, Points]:
    """Return how far one cubic can go from a point, the cubic, and its direction there."""
    bad = len(run) - 1
    good = start + 4
    while bad - start > 6:  # from long to short, since a short one may fail where a long holds
        tried = start + max(4, int((bad - start) * 0.75))
        if _piece(run, start, tried, out, arm)[2] <= tolerance:
            good = tried
            break
        bad = tried
    while bad - good > max(1, (good - start) // 40):
        middle = (good + bad) // 2
        if _piece(run, start, middle, out, arm)[2] <= tolerance:
            good = middle
        else:
            bad = middle
    curve, through, _ = _piece(run, start, good, out, arm)
    return good, curve, through


def _piece(
    run: Points, start: int, end: int, out: Points, arm: int
) -> tuple[Curve, Points, float]:
    """Return the cubic to a point within a run, its direction there, and its error."""
    reach = max(2, min(arm, end, len(run) - 1 - end))
    through = _through(run[end - reach : end + reach + 1])
    curve, _, error = _fit_cubic(run[start : end + 1], out, through)
    return curve, through, error


def _through(piece: Points) -> Points:
    """Return the direction at the middle of a short piece, by a parabola through it."""
    t = np.linspace(-1, 1, len(piece))
    slope = np.array([np.polyfit(t, piece[:, k], 2)[1] for k in (0, 1)])
    unit: Points = slope / max(float(np.hypot(*slope)), 1e-12)
    return unit


def _fit_cubic(run: Points, out: Points, into: Points) -> tuple[Curve, int, float]:
    """Return the cubic nearest to a run with given end directions, its worst point, error."""
    if len(run) > _MOST_POINTS:
        which = np.linspace(0, len(run) - 1, _MOST_POINTS).round().astype(np.intp)
        curve, worst, error = _fit_cubic(run[which], out, into)
        return curve, int(which[worst]), error
    gaps = np.hypot(*np.diff(run, axis=0).T)
    t = np.concatenate([[0], np.cumsum(gaps)]) / max(float(gaps.sum()), 1e-12)
    best = _cubic_at(run, out, into, t)
    worst, error = _worst(run, best, t)
    for _ in range(_PASSES):
        t = _nearer(run, best, t)
        tried = _cubic_at(run, out, into, t)
        i, off = _worst(run, tried, t)
        if off >= error:
            break
        best, worst, error = tried, i, off
    return best, worst, error


def _cubic_at(run: Points, out: Points, into: Points, t: Points) -> Curve:
    """Return the least-squares cubic for given parameters."""
    p0, p3 = run[0], run[-1]
    u = 1 - t
    b0, b1, b2, b3 = u**3, 3 * u * u * t, 3 * u * t * t, t**3
    a1, a2 = b1[:, None] * out, -b2[:, None] * into
    rest = run - (b0 + b1)[:, None] * p0 - (b2 + b3)[:, None] * p3
    c11, c12, c22 = (a1 * a1).sum(), (a1 * a2).sum(), (a2 * a2).sum()
    x1, x2 = (a1 * rest).sum(), (a2 * rest).sum()
    det = c11 * c22 - c12 * c12
    chord = float(np.hypot(*(p3 - p0)))
    length = float(np.hypot(*np.diff(run, axis=0).T).sum())
    left = right = length / 3
    if abs(det) > 1e-9 * c11 * c22:
        left, right = (c22 * x1 - c12 * x2) / det, (c11 * x2 - c12 * x1) / det
    low, high = 1e-3 * max(chord, 1e-6), 1.5 * length
    if not (low < left < high and low < right < high):
        left = right = length / 3
    return p0, p0 + left * out, p3 - right * into, p3


def _worst(run: Points, cubic: Curve, t: Points) -> tuple[int, float]:
    off = np.hypot(*(bezier_points(*cubic, t) - run).T)
    i = int(off.argmax())
    return i, float(off[i])


def _nearer(run: Points, cubic: Curve, t: Points) -> Points:
    """Return parameters moved towards the feet of the points: one Newton step each."""
    p0, p1, p2, p3 = cubic
    off = bezier_points(*cubic, t) - run
    u = (1 - t)[:, None]
    s = t[:, None]
    first = 3 * (u * u * (p1 - p0) + 2 * u * s * (p2 - p1) + s * s * (p3 - p2))
    second = 6 * (u * (p2 - 2 * p1 + p0) + s * (p3 - 2 * p2 + p1))
    top = (off * first).sum(axis=1)
    bottom = (first * first + off * second).sum(axis=1)
    step = np.divide(top, bottom, out=np.zeros_like(top), where=np.abs(bottom) > 1e-12)
    moved = np.clip(t - step, 0, 1)
    moved[0], moved[-1] = 0, 1
    return np.maximum.accumulate(moved)

"""Few cubics along a rough run of points, within a tolerance.

The run is a trace of something: its points are closely spaced and a little off, so that the
direction at a joint is told from a stretch of it. For exact points with known tangents see
``fit_cubics``.

Source: Schneider, "An algorithm for automatically fitting digitized curves" (Graphics Gems,
1990; from memory).
"""

import numpy as np
from numpy.typing import NDArray

from core.geometry.nearest_cubic import nearest_cubic

Points = NDArray[np.float64]
Curve = tuple[Points, Points, Points, Points]

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
        curve, error = _fit_cubic(run[start:], out, into)
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
    curve, error = _fit_cubic(run[start : end + 1], out, through)
    return curve, through, error


def _through(piece: Points) -> Points:
    """Return the direction at the middle of a short piece, by a parabola through it."""
    t = np.linspace(-1, 1, len(piece))
    slope = np.array([np.polyfit(t, piece[:, k], 2)[1] for k in (0, 1)])
    unit: Points = slope / max(float(np.hypot(*slope)), 1e-12)
    return unit


def _fit_cubic(run: Points, out: Points, into: Points) -> tuple[Curve, float]:
    """Return the cubic nearest to a run with given end directions, and its error."""
    if len(run) > _MOST_POINTS:
        run = run[np.linspace(0, len(run) - 1, _MOST_POINTS).round().astype(np.intp)]
    cubic, error = nearest_cubic(run[:, 0] + 1j * run[:, 1], complex(*out), complex(*into))
    p0, p1, p2, p3 = (
        np.array([p.real, p.imag]) for p in (cubic.p0, cubic.p1, cubic.p2, cubic.p3)
    )
    return (p0, p1, p2, p3), error

"""One cubic for a run of points, by least squares, the tangents at its ends given."""

import numpy as np
from numpy.typing import NDArray

from core.geometry.bezier import Segment, derivatives_at, points_at, straight

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]
_ROUNDS = 6
_LEAST_REACH, _MOST_REACH = 1e-3, 1.5
"""Bounds of a handle's length, against the chord and against the run."""


def nearest_cubic(
    points: Complex, start: complex, end: complex, enough: float = 0.0
) -> tuple[Segment, float]:
    """Return the cubic with the given end tangents nearest to points, and its deviation.

    Args:
        points: at least two, in order; the first and last are kept exactly.
        start: unit tangent at the first.
        end: unit tangent at the last.
        enough: it is bettered until it is within this, or clearly never will be.

    Degenerate input: points on one spot give a straight segment of no length.

    Source: least squares in the two handle lengths, the parameters then corrected by Newton
    steps, over and over; known from the literature on fitting digitised curves, from memory.
    """
    a, b = complex(points[0]), complex(points[-1])
    along = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])
    if along[-1] <= 0:
        return straight(a, b), 0.0
    t = along / along[-1]
    best: tuple[Segment, float] | None = None
    for done in range(_ROUNDS):
        cubic = _solve(points, t, start, end)
        gap = points_at(cubic, t) - points
        off = float(np.abs(gap).max())
        if best is None or off < best[1]:
            best = cubic, off
        if best[1] <= enough or (done > 1 and best[1] > 8 * enough > 0):
            break
        first, second = derivatives_at(cubic, t)
        below = np.abs(first) ** 2 + (np.conj(gap) * second).real
        safe = np.where(np.abs(below) < 1e-12, np.inf, below)
        t = np.clip(t - (np.conj(gap) * first).real / safe, 0, 1)
    assert best is not None
    return best


def _solve(points: Complex, t: Floats, start: complex, end: complex) -> Segment:
    a, b = complex(points[0]), complex(points[-1])
    u = 1 - t
    rest = points - (a * (u**3 + 3 * u * u * t) + b * (3 * u * t * t + t**3))
    left, right = start * 3 * u * u * t, -end * 3 * u * t * t
    c00, c11 = float(np.vdot(left, left).real), float(np.vdot(right, right).real)
    c01 = float(np.vdot(left, right).real)
    x0, x1 = float(np.vdot(left, rest).real), float(np.vdot(right, rest).real)
    below = c00 * c11 - c01 * c01
    length = float(np.abs(np.diff(points)).sum())
    reach = (length / 3, length / 3)
    if below > 1e-12 * max(c00 * c11, 1e-300):
        found = (x0 * c11 - x1 * c01) / below, (c00 * x1 - c01 * x0) / below
        # Handles that are all but none, or longer than the run, make a kink or a loop.
        if min(found) > _LEAST_REACH * abs(b - a) and max(found) < _MOST_REACH * length:
            reach = found
    return Segment(a, a + start * reach[0], b - end * reach[1], b)

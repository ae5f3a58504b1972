"""Few cubics through many points: least squares with given tangents, within a tolerance."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.geometry.bezier import Chain, Segment, derivatives_at, points_at, straight

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]
_ROUNDS = 6


def fit_cubics(points: Complex, directions: Complex, tolerance: float) -> Chain:
    """Return cubics through the points, each point within the tolerance of them.

    Joints lie on given points and run through smoothly in the direction given there. As few
    segments are used as a greedy search needs, then evened out where that holds as well.

    Args:
        points: at least two, in order; the first and last are kept exactly.
        directions: unit tangents at the points; only those at joints are used.
        tolerance: largest distance of a point from the result.

    Degenerate input: two points give a straight segment's cubic with the given tangents, or a
    straight segment when those run along it.
    """
    joints = [0]
    last = len(points) - 1
    while joints[-1] < last:
        joints.append(_farthest(points, directions, joints[-1], tolerance))
    count = len(joints) - 1
    if count > 1:
        along = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])
        even = np.searchsorted(along, np.linspace(0, along[-1], count + 1)[1:-1])
        evened = [0, *(int(i) for i in even), last]
        if all(a < b for a, b in pairwise(evened)) and _all_fit(
            points, directions, evened, tolerance
        ):
            joints = evened
    return [
        _fit(points[a : b + 1], directions[a], directions[b])[0] for a, b in pairwise(joints)
    ]


def _all_fit(points: Complex, directions: Complex, joints: list[int], tolerance: float) -> bool:
    return all(
        _fit(points[a : b + 1], directions[a], directions[b], tolerance)[1] <= tolerance
        for a, b in pairwise(joints)
    )


def _farthest(points: Complex, directions: Complex, start: int, tolerance: float) -> int:
    """Return the last point that one cubic from ``start`` reaches within the tolerance."""

    def fits(end: int) -> bool:
        run = points[start : end + 1]
        return _fit(run, directions[start], directions[end], tolerance)[1] <= tolerance

    last = len(points) - 1
    if fits(last):
        return last
    good, bad = start + 1, last
    while bad - good > 1:
        middle = (good + bad) // 2
        if fits(middle):
            good = middle
        else:
            bad = middle
    return good


def _fit(
    points: Complex, start: complex, end: complex, enough: float = 0.0
) -> tuple[Segment, float]:
    """Return the cubic with the given end tangents nearest to the points, and its deviation.

    It is bettered until it is within ``enough``, or clearly never will be.

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
    chord = abs(b - a)
    reach = (chord / 3, chord / 3)
    if below > 1e-12 * max(c00 * c11, 1e-300):
        found = (x0 * c11 - x1 * c01) / below, (c00 * x1 - c01 * x0) / below
        if min(found) > 1e-6 * chord:
            reach = found
    return Segment(a, a + start * reach[0], b - end * reach[1], b)

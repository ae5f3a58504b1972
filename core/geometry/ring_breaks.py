"""Where a traced ring is to be divided: at corners, and at the ends of straight runs.

The ring's points are evenly spaced. An *arm* is so many of them as tell a direction.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

CORNER_DEG = 24.0
"""A turn of more than this within an arm's length is a corner."""
_ARM_MM = 5.0
_SHARE = 0.25
"""Straight runs keep within this share of the tolerance, so that little curves stay curves."""
_LEAST_RUN_MM = 18.0
_BACK_MM = 2.0
"""Straight runs end this much before they leave their line, which a round does slowly."""


@dataclass(frozen=True, slots=True)
class Break:
    """A place where pieces meet.

    Attributes:
        index: of the ring's point.
        at: where the node stands.
        into, out: unit directions of travel before and after it; equal where it is smooth.
    """

    index: int
    at: Points
    into: Points
    out: Points
    smooth: bool


def find_breaks(points: Points, tolerance_mm: float, arm: int) -> list[Break]:
    """Return where the pieces of a ring meet, at least one place, in the ring's order.

    Args:
        points: shape (n, 2), evenly spaced, not repeating the first.
        tolerance_mm: how far the pieces may be off the points.
        arm: see ``arm_of``.
    """
    corners = _corners(points, arm)
    step = ring_length(points) / len(points)
    runs = _straight_runs(points, corners, arm, tolerance_mm, step)
    return _breaks(points, corners, runs, arm)


def arm_of(points: Points) -> int:
    """Return how many points to either side tell a direction."""
    length = ring_length(points)
    return max(3, round(min(_ARM_MM, length / 16) / (length / len(points))))


def ring_length(points: Points) -> float:
    """Return the length of a ring."""
    return float(np.hypot(*(np.roll(points, -1, axis=0) - points).T).sum())


def _corners(points: Points, arm: int) -> list[int]:
    """Return the points at which the ring turns sharply, at most one an arm's length."""
    n = len(points)
    turn = np.abs(_turn(points, arm))
    order = np.argsort(-turn)
    taken = np.zeros(n, dtype=bool)
    found = []
    for i in order:
        if turn[i] < np.radians(CORNER_DEG):
            break
        if taken[i]:
            continue
        taken[np.arange(i - 2 * arm, i + 2 * arm + 1) % n] = True
        if _is_sharp(points, int(i), arm):
            found.append(int(i))
    return sorted(found)


def _turn(points: Points, arm: int) -> Points:
    """Return the turn at each point between the chords to an arm's length on either side."""
    back, ahead = points - np.roll(points, arm, axis=0), np.roll(points, -arm, axis=0) - points
    cross = back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0]
    result: Points = np.arctan2(cross, (back * ahead).sum(axis=1))
    return result


def _is_sharp(points: Points, i: int, arm: int) -> bool:
    """Whether the ring turns in one place there, not evenly as a small round does.

    On a round the turn within half an arm is half as large; at a corner it is the same.
    """
    whole = abs(_turn_at(points, i, arm))
    most_near = max(abs(_turn_at(points, i + k, max(2, arm // 2))) for k in range(-2, 3))
    return most_near > 0.72 * whole


def _turn_at(points: Points, i: int, arm: int) -> float:
    n = len(points)
    a, b, c = points[(i - arm) % n], points[i % n], points[(i + arm) % n]
    u, v = b - a, c - b
    return float(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v))


def _straight_runs(
    points: Points, corners: list[int], arm: int, tolerance_mm: float, step: float
) -> list[tuple[int, int]]:
    """Return straight runs as first and last point; the last may count past the ring's end."""
    n = len(points)
    least = max(arm, round(_LEAST_RUN_MM / step))
    within = _SHARE * tolerance_mm + 3 * _roughness(points)
    keep = max(1, arm // 3)
    bounds = corners or [0]
    runs = []
    for i, start in enumerate(bounds):
        end = bounds[(i + 1) % len(bounds)]
        end += n if end <= start else 0
        inset = keep if corners else 0
        runs += _runs_between(points, start + inset, end - inset, least, within)
    return _without_bits([r for r in runs if r[1] - r[0] < n], n, least)


def _roughness(points: Points) -> float:
    """Return about one standard deviation of the points from a smooth ring.

    Source: a point less the mean of its neighbours has a variance of 1.5 times its own; the
    median of absolute values is 0.6745 standard deviations (normal distribution).
    """
    between = (np.roll(points, 1, axis=0) + np.roll(points, -1, axis=0)) / 2
    off = np.abs(points - between).ravel()
    return min(0.15, float(np.median(off)) / 0.6745 / math.sqrt(1.5))


def _without_bits(runs: list[tuple[int, int]], n: int, least: int) -> list[tuple[int, int]]:
    """Drop short runs right beside longer ones: they are the flat beginning of a curve."""
    kept: list[tuple[int, int]] = []
    for a, b in sorted(runs, key=lambda r: r[0] - r[1]):
        gaps = [min((a - d) % n, (c - b) % n) for c, d in kept]
        if b - a > 2.5 * least or min(gaps, default=n) > (b - a) / 2:
            kept.append((a, b))
    return kept


def _runs_between(
    points: Points, start: int, end: int, least: int, within: float
) -> list[tuple[int, int]]:
    runs = []
    at = start
    while at + least <= end:
        if not _is_straight(points, at, at + least, within):
            at += max(1, least // 8)
            continue
        good, bad = at + least, end + 1
        stride = least
        while good + stride <= end and _is_straight(points, at, good + stride, within):
            good, stride = good + stride, stride * 2
        bad = min(bad, good + stride)
        while bad - good > 1:
            middle = (good + bad) // 2
            if middle <= end and _is_straight(points, at, middle, within):
                good = middle
            else:
                bad = middle
        if _is_truly_straight(points, at, good):
            runs.append((at, good))
        at = good
    return runs


def _is_straight(points: Points, a: int, b: int, within: float) -> bool:
    _, _, off = _line_of(points, a, b)
    return bool(np.abs(off).max() <= within)


def _is_truly_straight(points: Points, a: int, b: int) -> bool:
    """Whether a run has no bow: a shallow curve keeps within a tolerance too.

    The bow of a parabola through the offsets must be small against their roughness, or against
    the run's length.
    """
    _, _, off = _line_of(points, a, b)
    t = np.linspace(-1, 1, len(off))
    bow = float(np.polyfit(t, off, 2)[0])
    length = float(np.hypot(*(points[b % len(points)] - points[a % len(points)])))
    return abs(bow) <= max(0.0006 * length, 0.04)


def _line_of(points: Points, a: int, b: int) -> tuple[Points, Points, Points]:
    """Return middle, direction and each point's offset of the line nearest to a run."""
    run = points[np.arange(a, b + 1) % len(points)]
    middle = run.mean(axis=0)
    x, y = (run - middle).T
    angle = 0.5 * np.arctan2(2 * (x @ y), x @ x - y @ y)
    along = np.array([np.cos(angle), np.sin(angle)])
    if along @ (run[-1] - run[0]) < 0:
        along = -along
    return middle, along, along[0] * y - along[1] * x


def _breaks(
    points: Points, corners: list[int], runs: list[tuple[int, int]], arm: int
) -> list[Break]:
    """Return where pieces meet: corners, and both ends of straight runs."""
    n = len(points)
    found = [_corner_break(points, c, runs, arm) for c in corners]
    taken = np.zeros(n, dtype=bool)
    for c in corners:
        taken[np.arange(c - arm, c + arm + 1) % n] = True
    back = round(_BACK_MM / (ring_length(points) / n))
    for a, b in runs:
        middle, along, _ = _line_of(points, a, b)
        for i in (a + back, b - back):
            if taken[i % n] or taken[(i - back if i < b - back else i + back) % n]:
                continue
            at = middle + along * (along @ (points[i % n] - middle))
            found.append(Break(i % n, at, along, along, smooth=True))
            taken[np.arange(i - 4 * back, i + 4 * back + 1) % n] = True
    found.sort(key=lambda b: b.index)
    return found or _loose_breaks(points, arm)


def _loose_breaks(points: Points, arm: int) -> list[Break]:
    """Return one break for a ring without corners and straight runs: its rightmost point."""
    i = int(points[:, 0].argmax())
    along = _direction(points, i - arm, i + arm)
    return [Break(i, points[i], along, along, smooth=True)]


def _corner_break(points: Points, i: int, runs: list[tuple[int, int]], arm: int) -> Break:
    """Return a corner where the ring's two arms meet, since tracing rounds its tip."""
    n = len(points)
    near = max(2, arm // 3)
    before = next((r for r in runs if (i - r[1]) % n <= arm), (i - arm - near, i - near))
    after = next((r for r in runs if (r[0] - i) % n <= arm), (i + near, i + near + arm))
    p, u, _ = _line_of(points, *before)
    q, v, _ = _line_of(points, *after)
    cross = u[0] * v[1] - u[1] * v[0]
    at = points[i]
    if abs(cross) > 0.2:
        gap = q - p
        met = p + u * (gap[0] * v[1] - gap[1] * v[0]) / cross
        if np.hypot(*(met - at)) < 2.0:
            at = met
    return Break(i, at, u, v, smooth=False)


def _direction(points: Points, a: int, b: int) -> Points:
    chord = points[b % len(points)] - points[a % len(points)]
    unit: Points = chord / max(float(np.hypot(*chord)), 1e-12)
    return unit

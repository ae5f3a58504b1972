"""Few nodes for many points: corners, straight runs and cubic curves through a traced ring.

A traced *ring* is closely spaced and a little rough. It is first divided at *corners*, where
its direction jumps, and at the ends of *straight runs*; what is left between them are curves,
each fitted by as few cubics as keep within the tolerance. Where no corner is, the curves run
through a node smoothly.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.errors import GeometryError
from core.geometry.cubic_fit import cubics_along

Points = NDArray[np.float64]
Vector = tuple[float, float]

CORNER_DEG = 24.0
"""A turn of more than this within an arm's length is a corner."""
_ARM_MM = 5.0
_SHARE = 0.25
"""Straight runs keep within this share of the tolerance, so that little curves stay curves."""
_LEAST_RUN_MM = 18.0
_ROUND_SHARE = 0.7
_BACK_MM = 2.0
"""Straight runs end this much before they leave their line, which a round does slowly."""


@dataclass(frozen=True, slots=True)
class FittedNode:
    """A node of a fitted ring; handles are relative to it, None for straight lines."""

    at: Vector
    smooth: bool
    before: Vector | None
    after: Vector | None


@dataclass(frozen=True, slots=True)
class _Break:
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


def fit_ring(ring: Points, tolerance_mm: float) -> tuple[FittedNode, ...]:
    """Return few nodes whose path stays within the tolerance of a ring's points.

    Args:
        ring: shape (n, 2), closely spaced, not repeating its first point; either direction.
        tolerance_mm: largest distance between the points and the path.

    Raises:
        GeometryError: fewer than 8 points, or a tolerance that is not one.

    Degenerate input: a ring smaller than the tolerance gives a few nodes about its middle.

    Source: own derivation; the curves are those of core/geometry/cubic_fit.py.
    """
    if tolerance_mm <= 0 or len(ring) < 8:
        raise GeometryError("An outline needs eight points and a tolerance above zero.")
    disc = _as_circle(ring, tolerance_mm)
    if disc is not None:
        return disc
    points = _even(ring)
    step = _length(points) / len(points)
    arm = max(3, round(min(_ARM_MM, _length(points) / 16) / step))
    corners = _corners(points, arm)
    runs = _straight_runs(points, corners, arm, tolerance_mm, step)
    breaks = _breaks(points, corners, runs, arm)
    spans = _spans(breaks, len(points))
    pieces = [_fit_span(points, a, b, b_index, tolerance_mm, arm) for a, b, b_index in spans]
    return _joined(pieces)


def _as_circle(ring: Points, tolerance_mm: float) -> tuple[FittedNode, ...] | None:
    """Return four nodes of a circle when the ring is one, else None.

    Source: Kåsa's linear least squares for x² + y² + a x + b y + c = 0 (from memory).
    """
    centre = ring.mean(axis=0)
    x, y = (ring - centre).T
    system = np.stack([x, y, np.ones_like(x)], axis=1)
    (a, b, c), *_ = np.linalg.lstsq(system, -(x * x + y * y), rcond=None)
    radius = math.sqrt(max(0.0, a * a / 4 + b * b / 4 - c))
    middle = centre - np.array([a, b]) / 2
    off = np.abs(np.hypot(*(ring - middle).T) - radius)
    if radius < tolerance_mm or off.max() > _ROUND_SHARE * tolerance_mm:
        return None
    k = 4 / 3 * (math.sqrt(2) - 1) * radius
    right, top = ((radius, 0.0), (0.0, k)), ((0.0, radius), (-k, 0.0))
    left, bottom = (((-p[0], -p[1]), (-h[0], -h[1])) for p, h in (right, top))
    around = (right, top, left, bottom)
    return tuple(
        FittedNode(_vector(middle + np.array(p)), True, (-h[0], -h[1]), h)  # noqa: FBT003
        for p, h in around
    )


@dataclass(frozen=True, slots=True)
class _Cubic:
    """One piece of a path; ``is_line`` pieces have no handles."""

    start: Points
    first: Points
    second: Points
    end: Points
    is_line: bool
    starts_smooth: bool


def _joined(pieces: list[list[_Cubic]]) -> tuple[FittedNode, ...]:
    cubics = [cubic for piece in pieces for cubic in piece]
    nodes = []
    for previous, cubic in zip([cubics[-1], *cubics[:-1]], cubics, strict=True):
        before = None if previous.is_line else _vector(previous.second - previous.end)
        after = None if cubic.is_line else _vector(cubic.first - cubic.start)
        is_smooth = cubic.starts_smooth and not (previous.is_line and cubic.is_line)
        nodes.append(FittedNode(_vector(cubic.start), is_smooth, before, after))
    return tuple(nodes)


def _vector(at: Points) -> Vector:
    return float(at[0]), float(at[1])


def _even(ring: Points) -> Points:
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = int(np.clip(round(along[-1] / 0.5), 64, 20_000))
    at = np.arange(count) * along[-1] / count
    return np.stack([np.interp(at, along, closed[:, k]) for k in (0, 1)], axis=1)


def _length(points: Points) -> float:
    return float(np.hypot(*(np.roll(points, -1, axis=0) - points).T).sum())


# Corners


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


# Straight runs


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


# Breaks


def _breaks(
    points: Points, corners: list[int], runs: list[tuple[int, int]], arm: int
) -> list[_Break]:
    """Return where pieces meet: corners, and both ends of straight runs."""
    n = len(points)
    found = [_corner_break(points, c, runs, arm) for c in corners]
    taken = np.zeros(n, dtype=bool)
    for c in corners:
        taken[np.arange(c - arm, c + arm + 1) % n] = True
    back = round(_BACK_MM / (_length(points) / n))
    for a, b in runs:
        middle, along, _ = _line_of(points, a, b)
        for i in (a + back, b - back):
            if taken[i % n] or taken[(i - back if i < b - back else i + back) % n]:
                continue
            at = middle + along * (along @ (points[i % n] - middle))
            found.append(_Break(i % n, at, along, along, smooth=True))
            taken[np.arange(i - 4 * back, i + 4 * back + 1) % n] = True
    found.sort(key=lambda b: b.index)
    return found or _loose_breaks(points, arm)


def _loose_breaks(points: Points, arm: int) -> list[_Break]:
    """Return one break for a ring without corners and straight runs: its rightmost point."""
    i = int(points[:, 0].argmax())
    along = _direction(points, i - arm, i + arm)
    return [_Break(i, points[i], along, along, smooth=True)]


def _corner_break(points: Points, i: int, runs: list[tuple[int, int]], arm: int) -> _Break:
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
    return _Break(i, at, u, v, smooth=False)


def _direction(points: Points, a: int, b: int) -> Points:
    chord = points[b % len(points)] - points[a % len(points)]
    unit: Points = chord / max(float(np.hypot(*chord)), 1e-12)
    return unit


def _spans(breaks: list[_Break], n: int) -> list[tuple[_Break, _Break, int]]:
    """Return neighbouring breaks, with the second's index counted on past the ring's end."""
    spans = []
    for i, a in enumerate(breaks):
        b = breaks[(i + 1) % len(breaks)]
        spans.append((a, b, b.index if b.index > a.index else b.index + n))
    return spans


# Curves


def _fit_span(
    points: Points, a: _Break, b: _Break, end: int, tolerance: float, arm: int
) -> list[_Cubic]:
    """Return the pieces from one break to the next."""
    run = points[np.arange(a.index, end + 1) % len(points)].copy()
    run[0], run[-1] = a.at, b.at
    chord = run[-1] - run[0]
    size = float(np.hypot(*chord))
    if size > 1e-9:
        off = np.abs((run - run[0]) @ np.array([-chord[1], chord[0]]) / size)
        if off[_trimmed(run, a, b)].max(initial=0) <= tolerance * 0.6 and _fits_line(
            a, b, chord / size
        ):
            return [
                _Cubic(run[0], run[0], run[-1], run[-1], is_line=True, starts_smooth=a.smooth)
            ]
    return _fit_curves(run, a.out, b.into, tolerance * 0.8, arm, starts_smooth=a.smooth)


def _trimmed(run: Points, a: _Break, b: _Break) -> slice:
    """Leave out the tips at corners, which tracing has rounded."""
    first = 0 if a.smooth else 4
    last = len(run) if b.smooth else max(first + 1, len(run) - 4)
    return slice(first, last)


def _fits_line(a: _Break, b: _Break, along: Points) -> bool:
    """Whether a straight line runs through its smooth ends without a kink (2°)."""
    ends = [b_.out if b_ is a else b_.into for b_ in (a, b) if b_.smooth]
    return all(float(end @ along) > np.cos(np.radians(2.0)) for end in ends)


def _fit_curves(
    run: Points, out: Points, into: Points, tolerance: float, arm: int, *, starts_smooth: bool
) -> list[_Cubic]:
    """Return as few cubics as keep within the tolerance, their errors evened out.

    Each cubic goes as far as it can; then the tolerance is lowered as long as that takes no
    cubic more.
    """
    best = cubics_along(run, out, into, tolerance, arm)
    low, high = 0.0, tolerance
    for _ in range(4 if len(best) > 1 else 0):
        middle = (low + high) / 2
        tried = cubics_along(run, out, into, middle, arm, most=len(best))
        if len(tried) == len(best):
            best, high = tried, middle
        else:
            low = middle
    return [
        _Cubic(*c, is_line=False, starts_smooth=starts_smooth or i > 0)
        for i, c in enumerate(best)
    ]

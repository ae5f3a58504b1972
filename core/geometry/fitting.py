"""Few nodes for many points: corners, straight runs and cubic curves through a traced ring.

A traced *ring* is closely spaced and a little rough. It is first divided at *corners*, where
its direction jumps, and at the ends of *straight runs*; what is left between them are curves,
each fitted by as few cubics as keep within the tolerance. Where no corner is, the curves run
through a node smoothly.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.errors import GeometryError
from core.geometry.curves import bezier_points

Points = NDArray[np.float64]
Vector = tuple[float, float]
_Curve = tuple[Points, Points, Points, Points]

CORNER_DEG = 24.0
"""A turn of more than this within an arm's length is a corner."""
_ARM_MM = 5.0
_SHARE = 0.25
"""Straight runs keep within this share of the tolerance, so that little curves stay curves."""
_LEAST_RUN_MM = 18.0
_PASSES = 6
_MOST_POINTS = 100
"""So many points of a run settle its cubic."""
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

    Source: Schneider's least-squares cubics (Graphics Gems, 1990; from memory), between breaks
    that are found as described above.
    """
    if tolerance_mm <= 0 or len(ring) < 8:
        raise GeometryError("An outline needs eight points and a tolerance above zero.")
    points = _even(ring)
    step = _length(points) / len(points)
    arm = max(3, round(min(_ARM_MM, _length(points) / 16) / step))
    corners = _corners(points, arm)
    runs = _straight_runs(points, corners, arm, tolerance_mm, step)
    breaks = _breaks(points, corners, runs, arm)
    spans = _spans(breaks, len(points))
    pieces = [_fit_span(points, a, b, b_index, tolerance_mm, arm) for a, b, b_index in spans]
    return _joined(pieces)


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
    return min(0.15, float(np.median(off)) / 0.6745 / 1.5**0.5)


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
            return [_Cubic(run[0], run[0], run[-1], run[-1], True, a.smooth)]
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
    best = _as_far_as_they_go(run, out, into, tolerance, arm)
    low, high = 0.0, tolerance
    for _ in range(5 if len(best) > 1 else 0):
        middle = (low + high) / 2
        tried = _as_far_as_they_go(run, out, into, middle, arm, most=len(best))
        if len(tried) == len(best):
            best, high = tried, middle
        else:
            low = middle
    return [_Cubic(*c, False, starts_smooth or i > 0) for i, c in enumerate(best)]


def _as_far_as_they_go(
    run: Points, out: Points, into: Points, tolerance: float, arm: int, most: int = 500
) -> list[_Curve]:
    """Return cubics along a run, each as long as the tolerance lets it be.

    Stops after one more than ``most``.
    """
    curves: list[_Curve] = []
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
) -> tuple[int, _Curve, Points]:
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
) -> tuple[_Curve, Points, float]:
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


def _fit_cubic(
    run: Points, out: Points, into: Points
) -> tuple[_Curve, int, float]:
    """Return the cubic nearest to a run with given end directions; its worst point and error."""
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


def _cubic_at(
    run: Points, out: Points, into: Points, t: Points
) -> _Curve:
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


def _worst(
    run: Points, cubic: _Curve, t: Points
) -> tuple[int, float]:
    off = np.hypot(*(bezier_points(*cubic, t) - run).T)
    i = int(off.argmax())
    return i, float(off[i])


def _nearer(run: Points, cubic: _Curve, t: Points) -> Points:
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

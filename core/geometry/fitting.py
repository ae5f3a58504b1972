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
from core.geometry.ring_breaks import Break, arm_of, find_breaks
from core.geometry.trace_cubics import cubics_along

Points = NDArray[np.float64]
Vector = tuple[float, float]

_ROUND_SHARE = 0.7


@dataclass(frozen=True, slots=True)
class FittedNode:
    """A node of a fitted ring; handles are relative to it, None for straight lines."""

    at: Vector
    smooth: bool
    before: Vector | None
    after: Vector | None


def fit_ring(ring: Points, tolerance_mm: float) -> tuple[FittedNode, ...]:
    """Return few nodes whose path stays within the tolerance of a ring's points.

    Args:
        ring: shape (n, 2), closely spaced, not repeating its first point; either direction.
        tolerance_mm: largest distance between the points and the path.

    Raises:
        GeometryError: fewer than 8 points, or a tolerance that is not one.

    Degenerate input: a ring smaller than the tolerance gives a few nodes about its middle.

    Source: own derivation; the curves are those of core/geometry/trace_cubics.py.
    """
    if tolerance_mm <= 0 or len(ring) < 8:
        raise GeometryError("An outline needs eight points and a tolerance above zero.")
    disc = _as_circle(ring, tolerance_mm)
    if disc is not None:
        return disc
    points = _even(ring)
    arm = arm_of(points)
    breaks = find_breaks(points, tolerance_mm, arm)
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


def _spans(breaks: list[Break], n: int) -> list[tuple[Break, Break, int]]:
    """Return neighbouring breaks, with the second's index counted on past the ring's end."""
    spans = []
    for i, a in enumerate(breaks):
        b = breaks[(i + 1) % len(breaks)]
        spans.append((a, b, b.index if b.index > a.index else b.index + n))
    return spans


# Curves


def _fit_span(
    points: Points, a: Break, b: Break, end: int, tolerance: float, arm: int
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


def _trimmed(run: Points, a: Break, b: Break) -> slice:
    """Leave out the tips at corners, which tracing has rounded."""
    first = 0 if a.smooth else 4
    last = len(run) if b.smooth else max(first + 1, len(run) - 4)
    return slice(first, last)


def _fits_line(a: Break, b: Break, along: Points) -> bool:
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

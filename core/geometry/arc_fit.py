"""Arcs for polylines: as few lines and arcs as keep within a tolerance.

An arc runs from point to point of the polyline, so that what is fitted meets where the polyline
did. It is told as a *bulge*, the tangent of a quarter of the angle that it turns through: 0 is
a straight line, 1 half a circle to the left.

Thousands of polylines are fitted side by side: each takes its next arc in the same round, and
stretches of equal length are judged as one array.

Source: the bulge is that of the DXF reference (group code 42 of LWPOLYLINE and VERTEX); the fit
is linear least squares for the one circle of a pencil through two points (own derivation).
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Numbers = NDArray[np.float64]
Indices = NDArray[np.intp]
Judge = Callable[[Indices, Indices], Numbers]
"""Gives for the first and last points of stretches their bulges, NaN where no arc is near."""

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
    bulges: Numbers


def fit_arcs(lines: Iterable[tuple[Points, bool]], tolerance_mm: float) -> list[ArcLine]:
    """Return for each polyline lines and arcs that keep within the tolerance of it.

    Args:
        lines: the points of each, shape (n, 2), and whether the last is joined to the first;
            a closed one does not repeat its first point, which stays a point.
        tolerance_mm: largest distance either way between a polyline and what is returned.

    Degenerate input: fewer than four points, and straight lines, are returned as they are.
    """
    given = list(lines)
    if not given:
        return []
    paths = [np.vstack([points, points[:1]]) if closed else points for points, closed in given]
    lasts = np.cumsum([len(path) for path in paths]) - 1
    points = np.vstack(paths)
    bulges, is_kept = _fitted(points, lasts, tolerance_mm)
    fitted, first = [], 0
    for (_, closed), last in zip(given, lasts.tolist(), strict=True):
        end = last if closed else last + 1
        kept = is_kept[first:end]
        fitted.append(ArcLine(points[first:end][kept], bulges[first:end][kept]))
        first = last + 1
    return fitted


def _fitted(
    points: Points, lasts: Indices, tolerance: float
) -> tuple[Numbers, NDArray[np.bool_]]:
    """Return the bulge after each point of some paths in a row, and which points are kept.

    Args:
        points: of all paths, one after the other.
        lasts: the index of the last point of each.
        tolerance: see ``fit_arcs``.
    """

    def judge(starts: Indices, ends: Indices) -> Numbers:
        return _stretch_bulges(points, starts, ends, tolerance)

    shortest = _shortest_arcs(len(points), lasts, judge)
    bulges, is_kept = np.zeros(len(points)), np.ones(len(points), dtype=bool)
    at = np.concatenate([[0], lasts[:-1] + 1])
    following = _next_true(~np.isnan(shortest))
    while True:
        starts = following[at]
        has_arc = starts < lasts
        if not has_arc.any():
            return bulges, is_kept
        starts, lasts = starts[has_arc], lasts[has_arc]
        at, bulges[starts] = _farthest(starts, lasts, shortest[starts], judge)
        for start, end in zip(starts.tolist(), at.tolist(), strict=True):
            is_kept[start + 1 : end] = False


def _shortest_arcs(count: int, lasts: Indices, judge: Judge) -> Numbers:
    """Return the bulge of the shortest arc from each point, NaN where there is none."""
    bulges = np.full(count, np.nan)
    ends_at = np.repeat(lasts, np.diff(lasts, prepend=-1))
    starts = np.flatnonzero(np.arange(count) + LEAST_SEGMENTS <= ends_at)
    bulges[starts] = judge(starts, starts + LEAST_SEGMENTS)
    return bulges


def _next_true(flags: NDArray[np.bool_]) -> Indices:
    """Return for each place the first from it on that is true; past the last one the length."""
    places = np.where(flags, np.arange(len(flags)), len(flags))
    following: Indices = np.minimum.accumulate(places[::-1])[::-1]
    return following


def _farthest(
    starts: Indices, lasts: Indices, bulges: Numbers, judge: Judge
) -> tuple[Indices, Numbers]:
    """Return the farthest points that one arc from each start reaches, and its bulge.

    They are looked for by doubling, then by halves.

    Args:
        starts: from each of which an arc of the fewest segments holds.
        lasts: the points beyond which each may not reach.
        bulges: of those shortest arcs.
        judge: tells the bulges of longer ones.
    """
    bulges = bulges.copy()
    good = starts + LEAST_SEGMENTS
    step = np.ones_like(good)

    def tried(which: Indices, ends: Indices) -> NDArray[np.bool_]:
        """Take the ends that an arc reaches; say which."""
        found = judge(starts[which], ends)
        holds = ~np.isnan(found)
        good[which[holds]], bulges[which[holds]] = ends[holds], found[holds]
        return holds

    growing = np.flatnonzero(good + step <= lasts)
    while len(growing):
        growing = growing[tried(growing, good[growing] + step[growing])]
        step[growing] *= 2
        growing = growing[good[growing] + step[growing] <= lasts[growing]]
    bad = np.minimum(good + step, lasts + 1)
    while len(open_ := np.flatnonzero(bad - good > 1)):
        middle = (good[open_] + bad[open_]) // 2
        holds = tried(open_, middle)
        bad[open_[~holds]] = middle[~holds]
    return good, bulges


def _stretch_bulges(
    points: Points, starts: Indices, ends: Indices, tolerance: float
) -> Numbers:
    """Return the bulges of stretches of points, those of equal length at a time."""
    found = np.full(len(starts), np.nan)
    lengths = ends - starts
    for length in np.unique(lengths).tolist():
        rows = np.flatnonzero(lengths == length)
        stretches = points[starts[rows, None] + np.arange(length + 1)]
        found[rows] = _bulges(stretches, tolerance)
    return found


def _bulges(stretches: Points, tolerance: float) -> Numbers:
    """Return the bulge of the arc for each stretch, NaN where none is near enough.

    In a frame with the chord from (0, 0) to (c, 0), the circles through both ends have their
    centres at (c/2, k), and x² + y² − c x = 2 k y holds on them: linear in k.

    Args:
        stretches: shape (m, n, 2).
        tolerance: see ``fit_arcs``.
    """
    found = np.full(len(stretches), np.nan)
    chords = stretches[:, -1] - stretches[:, 0]
    c = np.hypot(chords[:, 0], chords[:, 1])
    rows = np.flatnonzero(c >= tolerance)
    c = c[rows, None]
    along_x, along_y = (chords[rows] / c).T[..., None]
    dx, dy = (stretches[rows] - stretches[rows, :1]).transpose(2, 0, 1)
    x, y = along_x * dx + along_y * dy, along_x * dy - along_y * dx
    inner = y[:, 1:-1]
    weight = (inner * inner).sum(axis=1)
    bent = (np.abs(y).max(axis=1) >= _STRAIGHT * c[:, 0]) & (weight > 0.0)
    rows, c, x, y, inner = rows[bent], c[bent], x[bent], y[bent], inner[bent]
    lifted = ((x * x + y * y - c * x)[:, 1:-1] * inner).sum(axis=1)
    k = lifted / (2 * weight[bent])
    off_x, off_y = x - c / 2, y - k[:, None]
    near = _are_near(off_x, off_y, np.hypot(c[:, 0] / 2, k), tolerance)
    found[rows[near]] = _turn_bulges(off_x[near], off_y[near])
    return found


def _turn_bulges(x: Points, y: Points) -> Numbers:
    """Return the bulge of the way about (0, 0) of each row of points, NaN where it turns back.

    An arc of more than half a circle is none, either.
    """
    cross = x[:, :-1] * y[:, 1:] - y[:, :-1] * x[:, 1:]
    turns = np.arctan2(cross, x[:, :-1] * x[:, 1:] + y[:, :-1] * y[:, 1:])
    turn = turns.sum(axis=1)
    one_way = (turns > 0).all(axis=1) | (turns < 0).all(axis=1)
    return np.where(one_way & (np.abs(turn) <= _MOST_TURN), np.tan(turn / 4), np.nan)


def _are_near(x: Points, y: Points, radii: Numbers, tolerance: float) -> NDArray[np.bool_]:
    """Say which polylines about (0, 0) keep to their circles: at points and between them."""
    off = np.abs(np.hypot(x, y) - radii[:, None]).max(axis=1)
    dx, dy = np.diff(x, axis=1), np.diff(y, axis=1)
    length2 = dx * dx + dy * dy
    t = -(x[:, :-1] * dx + y[:, :-1] * dy) / np.where(length2 > 0, length2, 1.0)
    t = np.clip(t, 0.0, 1.0)
    nearest = np.hypot(x[:, :-1] + t * dx, y[:, :-1] + t * dy)
    between = np.abs(nearest - radii[:, None]).max(axis=1)
    near: NDArray[np.bool_] = (off <= tolerance) & (between <= tolerance)
    return near

"""Triangles into pixels: which triangle is seen where, and what is looked up there.

A window of a few hundred thousand pixels is filled from tens of thousands of triangles
without a graphics card: each triangle is cut into rows, each row into pixels, all at once.
Projection is parallel, so that everything runs straight over a triangle.

Pixels: x to the right, y down, the middle of the first at (0.5, 0.5); nearer is the greater
depth.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.shape.model import Points, Triangles

CHUNK = 2_000_000
"""So many pixels are looked at in one go; it bounds memory when a few triangles fill all."""
NONE = -1
_DEPTH_STEPS = 1 << 30

Ints = NDArray[np.int64]
Picture = NDArray[np.uint8]
Floats = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Raster:
    """What is seen in each pixel.

    Attributes:
        triangle: shape (height, width): the foremost triangle, or NONE.
        steps: shape (m, 3, 2): how each corner's share grows per pixel to the right and down.
        start: shape (m, 3): each corner's share at the origin of the picture.
    """

    triangle: NDArray[np.int32]
    steps: Floats
    start: Floats

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.triangle.shape[1], self.triangle.shape[0]

    def spots(self) -> tuple[Ints, Ints]:
        """Return the filled pixels' numbers, row by row, and the triangle seen in each."""
        flat = self.triangle.ravel()
        pixels = np.flatnonzero(flat != NONE)
        return pixels, flat[pixels].astype(np.int64)

    def lookup(self, values: Points, triangles: Triangles) -> tuple[Ints, Floats]:
        """Return the filled pixels, and there what the vertices carry, blended.

        Args:
            values: shape (n, k): what each vertex carries.
            triangles: those that were drawn.

        Returns:
            The pixels' numbers, and an array of shape (pixels, k).
        """
        pixels, seen = self.spots()
        x = (pixels % self.size[0] + 0.5).astype(np.float32)[:, None]
        y = (pixels // self.size[0] + 0.5).astype(np.float32)[:, None]
        corners = values[triangles].astype(np.float32)
        right = np.einsum("mc,mck->mk", self.steps[:, :, 0], corners)
        down = np.einsum("mc,mck->mk", self.steps[:, :, 1], corners)
        start = np.einsum("mc,mck->mk", self.start, corners)
        return pixels, right[seen] * x + down[seen] * y + start[seen]

    def at(self, x_px: float, y_px: float) -> tuple[int, Points] | None:
        """Return the triangle seen at a place and the shares of its corners; None off it."""
        column, row = int(np.floor(x_px)), int(np.floor(y_px))
        width, height = self.size
        if not (0 <= column < width and 0 <= row < height):
            return None
        triangle = int(self.triangle[row, column])
        if triangle == NONE:
            return None
        place = np.array([column + 0.5, row + 0.5])
        shares = self.steps[triangle] @ place + self.start[triangle]
        return triangle, np.asarray(shares, dtype=np.float64)


def rasterise(
    at_px: Points, depth: Points, triangles: Triangles, size: tuple[int, int]
) -> Raster:
    """Find the foremost triangle of each pixel.

    Args:
        at_px: shape (n, 2): where each vertex is seen.
        depth: shape (n,): how near it is.
        triangles: shape (m, 3); either side may face the eye.
        size: width and height of the picture.

    Degenerate input: triangles seen edge on fill nothing; no triangles give an empty picture.
    """
    width, height = size
    foremost = np.full(width * height, NONE, dtype=np.int64)
    steps, start = _shares(at_px, triangles)
    if len(triangles):
        corners = at_px[triangles]
        span = np.ptp(depth) or 1.0
        nearness = (depth - depth.min()) / span * _DEPTH_STEPS
        ramps = _ramps(steps, start, nearness[triangles])
        spans = _spans(corners, size)
        for first, last in _chunks(np.cumsum(spans.counts)):
            _fill(foremost, spans.part(first, last), ramps, width)
    seen = np.where(foremost == NONE, NONE, foremost & 0xFFFFFFFF).astype(np.int32)
    return Raster(seen.reshape(height, width), steps, start)


def _shares(at_px: Points, triangles: Triangles) -> tuple[Floats, Floats]:
    """Return how the corners' shares run over the picture, as straight functions of x and y."""
    a, b, c = (at_px[triangles[:, i]] for i in range(3))
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (
        c[:, 0] - a[:, 0]
    )
    safe = np.where(np.abs(twice) < 1e-12, np.inf, twice)[:, None]
    steps, start = [], []
    for p, q in ((b, c), (c, a), (a, b)):
        step = np.stack([p[:, 1] - q[:, 1], q[:, 0] - p[:, 0]], axis=1) / safe
        steps.append(step)
        start.append((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]) / safe[:, 0])
    return (
        np.stack(steps, axis=1).astype(np.float32),
        np.stack(start, axis=1).astype(np.float32),
    )


def _ramps(steps: Floats, start: Floats, nearness: Points) -> Points:
    """Return the depth of each triangle as (per pixel right, per pixel down, at the origin)."""
    right = np.einsum("mc,mc->m", steps[:, :, 0].astype(np.float64), nearness)
    down = np.einsum("mc,mc->m", steps[:, :, 1].astype(np.float64), nearness)
    origin = np.einsum("mc,mc->m", start.astype(np.float64), nearness)
    return np.stack([right, down, origin], axis=1)


@dataclass(frozen=True, eq=False)
class _Spans:
    """Rows of pixels that triangles cover: whose, in which row, from where, how many."""

    shown: Ints
    rows: Ints
    low: Ints
    counts: Ints

    def part(self, first: int, last: int) -> "_Spans":
        here = slice(first, last)
        return _Spans(self.shown[here], self.rows[here], self.low[here], self.counts[here])


def _spans(corners: Points, size: tuple[int, int]) -> _Spans:
    shown, rows = _rows(corners, size[1])
    low, high = _row_ends(corners, shown, rows, size[0])
    return _Spans(shown, rows, low, high - low)


def _rows(corners: Points, height: int) -> tuple[Ints, Ints]:
    """Return each pair of a triangle and a row of pixels whose middle it may cover."""
    top, bottom = corners[:, :, 1].min(axis=1), corners[:, :, 1].max(axis=1)
    first = np.clip(np.ceil(top - 0.5), 0, height).astype(np.int64)
    last = np.clip(np.ceil(bottom - 0.5), 0, height).astype(np.int64)
    counts = np.maximum(last - first, 0)
    shown = np.repeat(np.arange(len(corners)), counts)
    return shown, _within(counts) + np.repeat(first, counts)


def _within(counts: Ints) -> Ints:
    """Return 0, 1, … for each count in turn."""
    ends = np.cumsum(counts)
    total = int(ends[-1]) if len(ends) else 0
    return np.arange(total) - np.repeat(ends - counts, counts)


def _row_ends(corners: Points, shown: Ints, rows: Ints, width: int) -> tuple[Ints, Ints]:
    """Return the first pixel of each row that is covered, and the one past the last."""
    middle = rows + 0.5
    low, high = np.full(len(rows), np.inf), np.full(len(rows), -np.inf)
    # Column by column: whole rows of corners take twice as long to fetch.
    x, y = (
        [np.take(np.ascontiguousarray(corners[:, i, k]), shown) for i in range(3)]
        for k in range(2)
    )
    is_past = [end <= middle for end in y]
    for i, j in ((0, 1), (1, 2), (2, 0)):
        crosses = is_past[i] != is_past[j]
        rise = np.where(crosses, y[j] - y[i], 1.0)
        at = x[i] + (middle - y[i]) * (x[j] - x[i]) / rise
        np.minimum(low, at, out=low, where=crosses)
        np.maximum(high, at, out=high, where=crosses)
    is_hit = high >= low
    first = np.clip(np.ceil(np.where(is_hit, low, 0) - 0.5), 0, width).astype(np.int64)
    last = np.clip(np.ceil(np.where(is_hit, high, 0) - 0.5), 0, width).astype(np.int64)
    return first, np.maximum(last, first)


def _chunks(ends: Ints) -> list[tuple[int, int]]:
    """Part the rows so that each part has about CHUNK pixels."""
    if not len(ends):
        return []
    cuts = np.searchsorted(ends, np.arange(CHUNK, ends[-1], CHUNK)) + 1
    bounds = [0, *dict.fromkeys(int(c) for c in cuts), len(ends)]
    return [(a, b) for a, b in pairwise(bounds) if b > a]


def _fill(foremost: Ints, spans: _Spans, ramps: Points, width: int) -> None:
    """Write rows of pixels where they are nearer than what is there."""
    counts = spans.counts
    x = _within(counts) + np.repeat(spans.low, counts)
    right, down, origin = ramps[spans.shown].T
    base = right * 0.5 + down * (spans.rows + 0.5) + origin
    near = np.repeat(base, counts) + np.repeat(right, counts) * x
    keys = np.clip(near, 0, _DEPTH_STEPS).astype(np.int64) << 32
    keys |= np.repeat(spans.shown, counts)
    np.maximum.at(foremost, np.repeat(spans.rows * width, counts) + x, keys)

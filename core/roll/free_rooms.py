"""Rooms for blanks on film of any shape: free rectangles that straight cuts part from it.

An offcut of any outline, film beside damage, film around pinned pieces: first the largest
rectangles that are free are found, then the film is parted by *trim cuts*, from edge to edge of
the part in hand and never through a pinned piece, until rooms are by themselves. There are many
ways to do so; each call gives one of them, by chance.
"""

import itertools
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from core.roll.model import Placement, Sheet

Floats = NDArray[np.float64]
Rectangle = tuple[float, float, float, float]
"""Lower left corner, then upper right one, on the sheet."""

_HAIR_MM = 1e-6
_INSIDE_MM = 1e-7
"""A rectangle is looked at without so much of its rim, where it may touch what is taken."""
_BACK_MM = 1e-3
"""Pushed against a rim, a rectangle keeps so much from it: over rounding."""
_LINES = 28
"""So many lines along and across make the grid of a slanted or round outline."""
_STRAIGHT_LINES = 40
"""Straight edges beyond so many, the shortest, make no line of the grid."""
_MOST = 150
"""So many of the largest rectangles are kept."""

_LATE_START_SHARE = 0.5
"""How often slabs begin a little behind the start of the film."""
_LONG_SLAB_SHARE = 0.2
"""How often a slab is as long as two blanks."""
_TO_LINE_SHARE = 0.2
"""How often a slab ends where the film changes."""


class FreeRooms:
    """What of a sheet is free for blanks, and the ways to part it.

    Attributes:
        whole: the rectangle around all film there is.
        is_roll: whether what is not used of its length stays on a roll.
        rectangles: shape (n, 4), the largest that are free.
    """

    def __init__(
        self, area: BaseGeometry, barred: Floats, whole: Rectangle, *, is_roll: bool
    ) -> None:
        """Take in the free film.

        Args:
            area: where blanks may lie.
            barred: shape (n, 4), rectangles that no cut may run through.
            whole: the rectangle around all film there is.
            is_roll: whether layouts are to be short.
        """
        self.whole, self.is_roll = whole, is_roll
        self.rectangles = largest_rectangles(area)
        self._barred = barred
        self._is_level = _is_level(area)
        around = box(*whole).buffer(1.0, join_style="mitre")
        self._taken = shapely.difference(around, area)
        shapely.prepare(self._taken)

    def slabs(
        self,
        chance: np.random.Generator,
        sides_mm: Floats,
        window: tuple[float, float] | None = None,
    ) -> list[Rectangle]:
        """Return rooms that one turn of the cuts frees: slabs, and in each what is free.

        Args:
            chance: which of the ways.
            sides_mm: slabs are as long as one of these, or as two; shorter rooms are of no use.
            window: from where to where, when the film around it is parted already.
        """
        low, high = float(self.rectangles[:, 0].min()), float(self.rectangles[:, 2].max())
        if window is not None:
            low, high = max(low, window[0]), min(high, window[1])
        lines = np.unique(self.rectangles[:, (0, 2)])
        at, least = low, float(sides_mm.min())
        if chance.random() < _LATE_START_SHARE:
            at += float(chance.random() * least)
        rooms: list[Rectangle] = []
        while at < high - least:
            length = float(chance.choice(sides_mm))
            if chance.random() < _LONG_SLAB_SHARE:
                length += float(chance.choice(sides_mm))
            if chance.random() < _TO_LINE_SHARE:
                ahead = lines[lines > at + least]
                length = float(ahead[0]) - at if len(ahead) else length
            end = self.cut_behind(min(at + length, high))
            rooms += self._free_across(at, end, least)
            at = end
        return sorted(rooms)

    def cut_behind(self, x: float) -> float:
        """Return the next place from one on where a cut across all film is not barred."""
        while self._is_barred(self.whole, 0, x):
            is_hit = (self._barred[:, 0] < x) & (self._barred[:, 2] > x + _HAIR_MM)
            x = float(self._barred[is_hit, 2].max())
        return x

    def _free_across(self, x0: float, x1: float, least_mm: float) -> list[Rectangle]:
        """Return the stretches of a slab that are free over all its length."""
        slab = (x0, self.whole[1], x1, self.whole[3])
        inner = box(x0 + _INSIDE_MM, slab[1], x1 - _INSIDE_MM, slab[3])
        taken = shapely.bounds(shapely.get_parts(self._taken.intersection(inner)))[:, (1, 3)]
        taken = taken[np.argsort(taken[:, 0], kind="stable")]
        starts = np.maximum.accumulate(np.concatenate(([slab[1]], taken[:, 1])))
        ends = np.concatenate((taken[:, 0], [slab[3]]))
        return [
            (x0, start, x1, end)
            for start, end in zip(starts.tolist(), ends.tolist(), strict=True)
            if end - start >= least_mm - _HAIR_MM
            and not any(self._is_barred(slab, 1, at) for at in (start, end))
        ]

    def trims(self, part: Rectangle, room: Rectangle) -> list[list[Rectangle]]:
        """Return, for each order of cuts that trims a room out of a part, what is cut off."""
        sides = [k for k in range(4) if abs(room[k] - part[k]) > _HAIR_MM]
        ways = []
        for order in itertools.permutations(sides):
            rest, off = list(part), []
            for side in order:
                axis, at = side % 2, room[side]
                if self._is_barred((rest[0], rest[1], rest[2], rest[3]), axis, at):
                    break
                gone = list(rest)
                gone[(side + 2) % 4], rest[side] = at, at
                off.append((gone[0], gone[1], gone[2], gone[3]))
            else:
                ways.append(off)
        return ways

    def free_in(self, part: Rectangle, least_mm: float) -> Floats:
        """Return the free rectangles in a part of the film, the largest first: shape (n, 4)."""
        free = _clipped(self.rectangles, part, least_mm)
        return free[np.argsort(-_areas(free), kind="stable")]

    def largest(self, part: Rectangle, least_mm: float) -> float:
        """Return the area of the largest free rectangle in a part, 0 where none is of use."""
        return float(_areas(_clipped(self.rectangles, part, least_mm)).max(initial=0.0))

    def pushed(self, at: Rectangle, part: Rectangle, corner: int) -> tuple[float, float]:
        """Return where a rectangle comes to lie, pushed into a corner of a part.

        Args:
            at: where it is free.
            part: it stays within this.
            corner: 1 for the far end, 2 for the upper side, 3 for both, else 0.
        """
        x0, y0, x1, y1 = at
        if self._is_level:
            return x0, y0
        size = x1 - x0, y1 - y0
        found = x0, y0
        for axis, is_far in ((0, bool(corner & 1)), (1, bool(corner & 2))):
            limit = self._limit(
                (*found, found[0] + size[0], found[1] + size[1]), part, axis, is_far=is_far
            )
            back = 0.0 if limit == part[axis + 2 * is_far] else _BACK_MM
            to = limit - back - size[axis] if is_far else limit + back
            moved = (to, found[1]) if axis == 0 else (found[0], to)
            inner = (moved[0] + _INSIDE_MM, moved[1] + _INSIDE_MM)
            far = (moved[0] + size[0] - _INSIDE_MM, moved[1] + size[1] - _INSIDE_MM)
            is_onward = to > found[axis] if is_far else to < found[axis]
            # Along a steep rim the limit is not exact: then it stays where it is.
            if is_onward and not self._taken.intersects(box(*inner, *far)):
                found = moved
        return found

    def _limit(self, at: Rectangle, part: Rectangle, axis: int, *, is_far: bool) -> float:
        """Return where a rectangle that moves along an axis meets what is taken."""
        limit = part[axis + 2] if is_far else part[axis]
        low, high = sorted(((at[axis] + at[axis + 2]) / 2, limit))
        one, other = at[1 - axis] + _INSIDE_MM, at[3 - axis] - _INSIDE_MM
        strip = box(low, one, high, other) if axis == 0 else box(one, low, other, high)
        met = self._taken.intersection(strip)
        if met.is_empty:
            return limit
        return float(met.bounds[axis] if is_far else met.bounds[axis + 2])

    def halved(self, part: Rectangle, chance: np.random.Generator) -> list[Rectangle]:
        """Return two parts of a part, cut beside something that is barred; none where not."""
        ways = []
        for barred in self._barred:
            for side in range(4):
                axis, at = side % 2, float(barred[side])
                is_within = part[axis] + _HAIR_MM < at < part[axis + 2] - _HAIR_MM
                if is_within and not self._is_barred(part, axis, at):
                    ways.append((axis, at))
        if not ways:
            return []
        axis, at = ways[int(chance.integers(len(ways)))]
        return list(halves(part, axis, at))

    def _is_barred(self, part: Rectangle, axis: int, at: float) -> bool:
        """Whether a cut through a part runs through something barred."""
        b, other = self._barred, 1 - axis
        if not len(b):
            return False
        is_hit = (b[:, axis] < at - _HAIR_MM) & (b[:, axis + 2] > at + _HAIR_MM)
        is_hit &= b[:, other] < part[other + 2] - _HAIR_MM
        is_hit &= b[:, other + 2] > part[other] + _HAIR_MM
        return bool(is_hit.any())


def free_rooms(
    sheet: Sheet, pinned: Sequence[Placement], gap_mm: float, length_mm: float
) -> FreeRooms:
    """Return the rooms of a sheet; ``length_mm`` stands in for the length of an open roll.

    From pinned blanks others need no gap; from other pinned pieces they do.
    """
    boxes = tuple((*p.polygon.bounds, 0.0 if p.item.is_blank else gap_mm) for p in pinned)
    return _rooms_of(sheet, boxes, length_mm)


@lru_cache(maxsize=32)
def _rooms_of(
    sheet: Sheet, pinned: tuple[tuple[float, ...], ...], length_mm: float
) -> FreeRooms:
    area: BaseGeometry = sheet.free(length_mm)
    if sheet.outline is not None and sheet.margin_mm > 0:
        # Round corners are made of chords, which come a hair too near to the rim.
        within = sheet.outline.buffer(-sheet.margin_mm, join_style="mitre")
        area = shapely.intersection(area, within)
    if pinned:
        grown = [box(x0 - g, y0 - g, x1 + g, y1 + g) for x0, y0, x1, y1, g in pinned]
        area = shapely.difference(area, shapely.union_all(grown))
    length = sheet.length_mm or length_mm
    barred = np.array([p[:4] for p in pinned], dtype=float).reshape(-1, 4)
    whole = (0.0, 0.0, length, sheet.width_mm)
    return FreeRooms(area, barred, whole, is_roll=sheet.kind == "roll")


def halves(part: Rectangle, axis: int, at: float) -> tuple[Rectangle, Rectangle]:
    """Return what a straight cut makes of a part: along axis 0 it runs across the roll."""
    x0, y0, x1, y1 = part
    if axis == 0:
        return (x0, y0, at, y1), (at, y0, x1, y1)
    return (x0, y0, x1, at), (x0, at, x1, y1)


def largest_rectangles(area: BaseGeometry) -> Floats:
    """Return rectangles within an area that cannot be widened, the largest first.

    Along straight edges they are exact. Where an outline is slanted or round there are ever so
    many; those that reach to a grid of lines are returned.

    Returns:
        Shape (n, 4): x0, y0, x1, y1.

    Degenerate input: an empty area has none.
    """
    if area.is_empty:
        return np.empty((0, 4))
    xs, ys = _grid_lines(area, 0), _grid_lines(area, 1)
    shapely.prepare(area)
    is_free = shapely.covers(area, _cells(xs, ys))
    found = np.array(
        [(xs[c0], ys[r0], xs[c1], ys[r1]) for r0, r1, c0, c1 in _blocks_of(is_free)]
    ).reshape(-1, 4)
    found = found[np.argsort(-_areas(found), kind="stable")][:_MOST]
    if not _is_level(area):
        taken = shapely.difference(box(*area.bounds).buffer(1.0, join_style="mitre"), area)
        shapely.prepare(taken)
        found = np.concatenate(
            [_widened(found, taken, order) for order in ((0, 2, 1, 3), (1, 3, 0, 2))]
        )
    found = np.unique(np.round(found, 9), axis=0)
    return found[np.argsort(-_areas(found), kind="stable")]


def _cells(xs: Floats, ys: Floats) -> NDArray[np.object_]:
    """Return all cells of a grid, rows along y, each a little smaller than it is."""
    x0, y0 = np.meshgrid(xs[:-1] + _INSIDE_MM, ys[:-1] + _INSIDE_MM)
    x1, y1 = np.meshgrid(xs[1:] - _INSIDE_MM, ys[1:] - _INSIDE_MM)
    return shapely.box(x0, y0, x1, y1)


def _is_level(area: BaseGeometry) -> bool:
    """Whether all edges of an area run along or across the roll."""
    return all(
        bool((np.abs(np.diff(shapely.get_coordinates(ring), axis=0)).min(axis=1) < 1e-9).all())
        for ring in _rings(area)
    )


def _rings(area: BaseGeometry) -> list[shapely.LinearRing]:
    polygons = [p for p in shapely.get_parts(area) if isinstance(p, Polygon)]
    return [ring for p in polygons for ring in (p.exterior, *p.interiors)]


def _grid_lines(area: BaseGeometry, axis: int) -> Floats:
    """Return the lines of a grid along one axis: straight edges, and steps between others."""
    low, high = area.bounds[axis], area.bounds[axis + 2]
    rings = [shapely.get_coordinates(ring) for ring in _rings(area)]
    start = np.concatenate([r[:-1] for r in rings])
    step = np.concatenate([np.diff(r, axis=0) for r in rings])
    is_edge = np.abs(step[:, axis]) < _INSIDE_MM
    long = np.abs(step[is_edge, 1 - axis])
    straight = start[is_edge, axis][np.argsort(-long, kind="stable")][:_STRAIGHT_LINES]
    lines = [low, high, *straight.tolist()]
    slanted = ~is_edge & (np.abs(step[:, 1 - axis]) >= _INSIDE_MM)
    if slanted.any():
        ends = np.concatenate((start[slanted, axis], (start + step)[slanted, axis]))
        lines += np.linspace(ends.min(), ends.max(), _LINES).tolist()
    sorted_lines = np.unique(lines)
    is_apart = np.diff(sorted_lines, prepend=-np.inf) > 10 * _INSIDE_MM
    found: Floats = sorted_lines[is_apart]
    return found


def _blocks_of(is_free: NDArray[np.bool_]) -> list[tuple[int, int, int, int]]:
    """Return blocks of free cells that cannot be widened: first and last line each way."""
    rows, columns = is_free.shape
    found = []
    for r0 in range(rows):
        above = is_free[r0 - 1] if r0 else np.zeros(columns, dtype=bool)
        open_ = np.ones(columns, dtype=bool)
        for r1 in range(r0, rows):
            open_ &= is_free[r1]
            if not open_.any():
                break
            below = is_free[r1 + 1] if r1 + 1 < rows else np.zeros(columns, dtype=bool)
            edges = np.flatnonzero(np.diff(np.concatenate(([False], open_, [False]))))
            for c0, c1 in edges.reshape(-1, 2).tolist():
                if not (above[c0:c1].all() or below[c0:c1].all()):
                    found.append((r0, r1 + 1, c0, c1))
    return found


def _widened(rectangles: Floats, taken: BaseGeometry, order: Sequence[int]) -> Floats:
    """Move the sides of rectangles outwards, in an order, until each meets what is taken."""
    found = rectangles.copy()
    x0, y0, x1, y1 = shapely.bounds(taken).tolist()
    far = np.array((x0, y0, x1, y1))
    for side in order:
        axis = side % 2
        strips = found.copy()
        strips[:, side] = far[side]
        strips[:, (side + 2) % 4] = found[:, side]
        strips[:, 1 - axis] += _INSIDE_MM
        strips[:, 3 - axis] -= _INSIDE_MM
        boxes = shapely.box(*np.sort(strips.reshape(-1, 2, 2), axis=1).reshape(-1, 4).T)
        met = shapely.bounds(shapely.intersection(boxes, taken))[:, (side + 2) % 4]
        found[:, side] = np.where(np.isnan(met), found[:, side], met)
    # Along a steep rim a side is not exact: such are left as they were.
    low, high = found[:, :2] + _INSIDE_MM, found[:, 2:] - _INSIDE_MM
    inner = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    is_hit = shapely.intersects(taken, inner)
    found[is_hit] = rectangles[is_hit]
    return found


def _clipped(rectangles: Floats, part: Rectangle, least_mm: float) -> Floats:
    """Return what of rectangles lies in a part and has sides of at least so much."""
    found = np.concatenate(
        (np.maximum(rectangles[:, :2], part[:2]), np.minimum(rectangles[:, 2:], part[2:])),
        axis=1,
    )
    kept: Floats = found[((found[:, 2:] - found[:, :2]) >= least_mm - _HAIR_MM).all(axis=1)]
    return kept


def _areas(rectangles: Floats) -> Floats:
    sides = rectangles[:, 2:] - rectangles[:, :2]
    areas: Floats = sides[:, 0] * sides[:, 1]
    return areas

"""Lanes kept free so that straight cuts go on freeing blanks when other pieces join them.

A lane is where a cut will run: from edge to edge of the part of film in hand. Other pieces may
lie anywhere beside it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, box

from core.roll.free_rooms import Rectangle, halves
from core.roll.model import Placement, Sheet

_HAIR_MM = 1e-6
_LANE_MM = 0.01
"""A lane is drawn so wide; pieces keep half their gap from it."""
_WORTH_MM = 20.0
"""Less film than this beside blanks is of no use to other pieces."""


@dataclass(frozen=True, slots=True)
class _Table:
    """What lies on the film: shape (n, 4) and (n,)."""

    bounds: NDArray[np.float64]
    is_blank: NDArray[np.bool_]
    gap_mm: float
    is_staged: bool


def lanes_around(
    taken: Sequence[Placement], sheet: Sheet, gap_mm: float, *, is_staged: bool
) -> tuple[Polygon, ...]:
    """Return film to be kept free beside blanks, as thin rectangles or whole parts.

    Args:
        taken: all that lies on the sheet; what is no blank need not be cut free.
        sheet: the film.
        gap_mm: kept between pieces; a lane lies in the middle of it.
        is_staged: whether the cuts may turn so many times only: then no other piece may lie in
            a part with a blank.

    Degenerate input: without blanks there are none.
    """
    if not taken:
        return ()
    bounds = shapely.bounds([p.polygon for p in taken])
    is_blank = np.array([p.item.is_blank for p in taken])
    table = _Table(bounds, is_blank, gap_mm, is_staged)
    length = max(sheet.length_mm or 0.0, float(bounds[:, 2].max()) + gap_mm + _WORTH_MM)
    whole = (0.0, 0.0, length, sheet.width_mm)
    return tuple(box(*lane) for lane in _lanes(table, np.arange(len(taken)), whole, 0))


def _lanes(
    table: _Table, which: NDArray[np.int64], part: Rectangle, first_axis: int
) -> Iterator[Rectangle]:
    """Yield the lanes that part some of the pieces, then those within each part."""
    if not table.is_blank[which].any():
        return
    for axis in (first_axis, 1 - first_axis):
        cuts, groups = _cuts(table, which, part, axis)
        if not cuts:
            continue
        rest = part
        for at, group in zip([*cuts, None], groups, strict=True):
            near = rest
            if at is not None:
                near, rest = halves(rest, axis, at)
                x0, y0, x1, y1 = near
                yield (at, y0, at + _LANE_MM, y1) if axis == 0 else (x0, at, x1, at + _LANE_MM)
            yield from _lanes(table, group, near, 1 - axis)
        return
    yield part  # nothing is to be parted any more


def _cuts(
    table: _Table, which: NDArray[np.int64], part: Rectangle, axis: int
) -> tuple[list[float], list[NDArray[np.int64]]]:
    """Return where a part is cut along an axis, and what lies before, between and behind."""
    starts, ends = table.bounds[which, axis], table.bounds[which, axis + 2]
    order = np.argsort(starts, kind="stable")
    reach = np.maximum.accumulate(ends[order])
    is_line = starts[order][1:] >= reach[:-1] - _HAIR_MM
    groups = np.split(which[order], np.flatnonzero(is_line) + 1)
    cuts = []
    for k in np.flatnonzero(is_line):
        free = max(float(starts[order][k + 1] - reach[k]), 0.0)
        cuts.append(float(reach[k]) + min(free, table.gap_mm) / 2)
    if table.is_staged and len(which) == 1:
        return [], groups
    none = np.empty(0, dtype=np.int64)
    if float(starts.min()) - part[axis] > _WORTH_MM:
        cuts.insert(0, float(starts.min()) - table.gap_mm / 2)
        groups.insert(0, none)
    if part[axis + 2] - float(ends.max()) > _WORTH_MM:
        cuts.append(float(ends.max()) + table.gap_mm / 2)
        groups.append(none)
    return cuts, groups

"""Numbers of cuts on a picture: on the cut where there is room, else beside it with a line."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from shapely import LineString

from core.roll.cut_sequence import Blank, Knife, KnifeCut
from core.write.free_spots import Box, Boxes, Point, Taken
from core.write.inks import LIGHT
from core.write.page import Page

CUT_INK = "#b3121d"
_RADIUS = 1.75
"""Of the disc under a number, in units."""


def number_cut(page: Page, taken: Taken, cut: KnifeCut, blanks: Sequence[Blank]) -> None:
    """Put a cut's number on it, or beside it with a line to it."""
    unit = page.unit
    at, foot = _number_spot(unit, taken, cut, blanks)
    r = _RADIUS * unit
    if math.dist(at, foot) > 0.5 * unit:
        page.line(LineString([foot, at]), CUT_INK, 0.2)
    page.disc(at, r, page.look(LIGHT, CUT_INK, 0.25))
    height = 1.6 if cut.number < 100 else 1.15
    below = (at[0], at[1] - height * unit / 2)
    page.text(str(cut.number), below, height, anchor="middle", colour=CUT_INK, is_bold=True)
    room = r + 0.2 * unit
    taken.boxes.append((at[0] - room, at[1] - room, at[0] + room, at[1] + room))


def _number_spot(
    unit: float, taken: Taken, cut: KnifeCut, blanks: Sequence[Blank]
) -> tuple[Point, Point]:
    """Return the best free spot for a number, and the point of the cut that it belongs to."""
    own = (cut.start, cut.end)
    rectangles = np.array([b.rectangle for b in blanks]).reshape(-1, 4)
    best: tuple[float, Point, Point] | None = None
    for start_cost, at, foot in _number_spots(unit, cut):
        r = _RADIUS * unit
        room = (at[0] - r, at[1] - r, at[0] + r, at[1] + r)
        if not taken.is_free(room):
            continue
        cost = start_cost + 4.0 * taken.lines_near(at, r + 0.3 * unit, own)
        cost += _crowding(rectangles, room)
        if best is None or cost < best[0] - 1e-9:
            best = (cost, at, foot)
    if best is None:
        return cut.end, cut.end
    return best[1], best[2]


def _crowding(blanks: Boxes, room: Box) -> float:
    """Return how much a number takes of the small blanks under it."""
    x0, y0, x1, y1 = blanks.T
    wide = np.minimum(room[2], x1) - np.maximum(room[0], x0)
    high = np.minimum(room[3], y1) - np.maximum(room[1], y0)
    under = np.maximum(wide, 0.0) * np.maximum(high, 0.0)
    return float((30.0 * under / ((x1 - x0) * (y1 - y0))).sum())


def _number_spots(unit: float, cut: KnifeCut) -> Iterator[tuple[float, Point, Point]]:
    """Yield spots with what they cost: along the cut from its far end, then beside it."""
    end, length = cut.end, math.dist(cut.start, cut.end)
    is_cross = cut.knife is Knife.CROSS_CUT
    along = (0.0, 1.0) if is_cross else (1.0, 0.0)
    if not cut.part:  # beyond the end of the cut, outside the film
        for row in range(3):
            for aside in (0.0, 2.0, -2.0, 4.0, -4.0):
                out = (_RADIUS + 0.8 + row * 3.8) * unit
                x, y = end[0] + along[0] * out, end[1] + along[1] * out
                x, y = x + along[1] * aside * unit, y + along[0] * aside * unit
                yield row + abs(aside), (x, y), end
    back = min(2.6 * unit, length / 2)
    while back <= length - min(2.2 * unit, length / 2) + 1e-6:
        at = (end[0] - along[0] * back, end[1] - along[1] * back)
        yield (0.05 * back / unit + (10.0 if not cut.part else 0.0), at, at)
        back += unit
    middle = ((cut.start[0] + cut.end[0]) / 2, (cut.start[1] + cut.end[1]) / 2)
    for k in range(3, 12):
        for turn in range(8):
            angle = math.pi * turn / 4
            dx, dy = k * unit * math.cos(angle), k * unit * math.sin(angle)
            yield 5.0 + 0.6 * k, (middle[0] + dx, middle[1] + dy), middle

"""Blanks of a film laid so that straight cuts free them: items as rectangles, and back.

On plain film they are one stretch from the start of the usable film; odd film is trimmed to
rectangles first.
"""

import math
from collections.abc import Iterator, Sequence

import shapely

from core.roll.blank_rooms import room_layouts
from core.roll.free_rooms import free_rooms
from core.roll.guillotine import Blank, Laid, guillotine_layouts, least_length, length_of
from core.roll.model import Item, Placement, Sheet
from core.roll.room import Layout, usable_size

_EPS_MM = 1e-6
_SQUARE_MM = 1e-6
"""A side this far off the level is level."""


def blank_layouts(
    items: Sequence[Item], sheet: Sheet, stages: int | None = None, seed: int = 1
) -> Iterator[Layout | None]:
    """Yield better and better layouts of blanks; None where a step found none.

    It ends when the shortest is found, else never. The first step gives a layout.

    Degenerate input: no items, or none that fits, give one layout without placements.
    """
    length, width = usable_size(sheet)
    few = _Fitting(items, length, width)
    if not few.blanks:
        yield Layout((), tuple(items), 0.0)
        return
    best: tuple[float, float] | None = None
    corner = sheet.start_mm, sheet.margin_mm
    for laid in guillotine_layouts(few.blanks, width, stages, seed, length):
        if not laid:
            yield None
            continue
        layout = few.layout(laid, corner, length_of(laid, few.blanks))
        yield layout if best is None or layout.rank < best else None
        best = layout.rank if best is None else min(best, layout.rank)


def odd_blank_layouts(
    items: Sequence[Item],
    sheet: Sheet,
    pinned: Sequence[Placement],
    gap_mm: float,
    stages: int | None = None,
    seed: int = 1,
) -> Iterator[Layout | None]:
    """Yield better and better layouts of blanks on odd film, as ``blank_layouts`` does.

    Odd is an offcut of any outline, damaged film, film with pinned pieces: it is trimmed to
    rectangles first, by cuts that run through no pinned piece. Layouts hold nothing pinned.

    Args:
        items: what is to be laid.
        sheet: film of any shape.
        pinned: pieces that lie on it already.
        gap_mm: kept from pinned pieces that are no blanks.
        stages: of the cuts that free blanks from a rectangle: None for any, else three.
        seed: of all chance.
    """
    length, width = usable_size(sheet)
    few = _Fitting(items, length, width)
    if not few.blanks:
        yield Layout((), tuple(items), 0.0)
        return
    open_mm = sum(max(b.length_mm, b.width_mm) for b in few.blanks)
    open_mm += max((p.polygon.bounds[2] for p in pinned), default=sheet.start_mm)
    rooms = free_rooms(sheet, pinned, gap_mm, open_mm + gap_mm + sheet.end_mm)
    for laid in room_layouts(few.blanks, rooms, stages, seed):
        if laid is None:
            yield None
            continue
        reach = max(length_of(laid, few.blanks) - sheet.start_mm, 0.0)
        yield few.layout(laid, (0.0, 0.0), reach)


class _Fitting:
    """Items as blanks: those that fit the film at all."""

    def __init__(self, items: Sequence[Item], length: float, width: float) -> None:
        self._items = items
        self._size = length, width
        self._turns = [_level_turns(item) for item in items]
        self._which = [
            i
            for i, turns in enumerate(self._turns)
            if any(_fits(along, across, self._size) for _, along, across in turns)
        ]
        self.blanks = [_blank(self._turns[i], length, width) for i in self._which]

    def layout(
        self, laid: Sequence[Laid], corner: tuple[float, float], length_mm: float
    ) -> Layout:
        """Return blanks laid from a corner on as a layout of their items."""
        placements = tuple(self._placed(s, corner) for s in laid)
        on_it = {p.item.key for p in placements}
        left = tuple(i for i in self._items if i.key not in on_it)
        return Layout(placements, left, length_mm)

    def _placed(self, laid: Laid, corner: tuple[float, float]) -> Placement:
        which = self._which[laid.blank]
        item, turns = self._items[which], self._turns[which]
        ways = [a for a, along, across in turns if _fits(along, across, self._size)]
        angle = ways[1 if laid.is_turned else 0]
        x0, y0, _, _ = shapely.bounds(Placement(item, angle, 0.0, 0.0).polygon).tolist()
        dx, dy = corner[0] + laid.x_mm - x0, corner[1] + laid.y_mm - y0
        return Placement(item, angle, dx, dy)


def least_blank_length(items: Sequence[Item], width_mm: float) -> float:
    """Return a length of film that no layout of these blanks can beat."""
    blanks = [_blank(_level_turns(item), math.inf, width_mm) for item in items]
    return least_length(blanks, width_mm)


def _level_turns(item: Item) -> list[tuple[float, float, float]]:
    """Return the turns at which a blank lies level, with its sides along and across then."""
    if item.angles_deg is None:
        (x0, y0), (x1, y1) = shapely.get_coordinates(item.polygon.oriented_envelope)[:2]
        slant = -math.degrees(math.atan2(y1 - y0, x1 - x0))
        angles: tuple[float, ...] = (slant % 360.0, (slant + 90.0) % 360.0)
    else:
        angles = item.angles_deg
    found: list[tuple[float, float, float]] = []
    for angle in angles:
        x0, y0, x1, y1 = Placement(item, angle, 0.0, 0.0).polygon.bounds
        sides = x1 - x0, y1 - y0
        if all(math.dist(sides, (a, b)) > _SQUARE_MM for _, a, b in found):
            found.append((angle, *sides))
    return found


def _blank(turns: list[tuple[float, float, float]], length: float, width: float) -> Blank:
    """Return a blank as the search sees it, without ways that do not fit the film at all."""
    fitting = [(x, y) for _, x, y in turns if _fits(x, y, (length, width))]
    ways = fitting or [turns[0][1:]]
    along, across = ways[0]
    may_turn = len(ways) > 1 and math.dist(ways[1], (across, along)) <= 1e-3
    return Blank(along, across, may_turn)


def _fits(along: float, across: float, size: tuple[float, float]) -> bool:
    return along <= size[0] + _EPS_MM and across <= size[1] + _EPS_MM

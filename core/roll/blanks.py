"""Blanks of a film laid as one stretch of straight cuts, from the start of the usable film."""

import math
from collections.abc import Iterator, Sequence

import shapely

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
    turns = {i: _level_turns(item) for i, item in enumerate(items)}
    fitting = [
        i
        for i in turns
        if any(
            along <= length + _EPS_MM and across <= width + _EPS_MM
            for _, along, across in turns[i]
        )
    ]
    if not fitting:
        yield Layout((), tuple(items), 0.0)
        return
    blanks = [_blank(turns[i], length, width) for i in fitting]
    best: tuple[float, float] | None = None
    for laid in guillotine_layouts(blanks, width, stages, seed, length):
        if not laid:
            yield None
            continue
        placements = tuple(
            _placed(items[fitting[s.blank]], turns[fitting[s.blank]], s, sheet) for s in laid
        )
        on_it = {p.item.key for p in placements}
        left = tuple(i for i in items if i.key not in on_it)
        layout = Layout(placements, left, length_of(laid, blanks))
        yield layout if best is None or layout.rank < best else None
        best = layout.rank if best is None else min(best, layout.rank)


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
    ways = [
        (along, across)
        for _, along, across in turns
        if along <= length + _EPS_MM and across <= width + _EPS_MM
    ] or [turns[0][1:]]
    along, across = ways[0]
    may_turn = len(ways) > 1 and math.dist(ways[1], (across, along)) <= 1e-3
    return Blank(along, across, may_turn)


def _placed(
    item: Item, turns: list[tuple[float, float, float]], laid: Laid, sheet: Sheet
) -> Placement:
    length, width = usable_size(sheet)
    ways = [
        angle
        for angle, along, across in turns
        if along <= length + _EPS_MM and across <= width + _EPS_MM
    ]
    angle = ways[1 if laid.is_turned else 0]
    x0, y0, _, _ = shapely.bounds(Placement(item, angle, 0.0, 0.0).polygon).tolist()
    dx, dy = sheet.start_mm + laid.x_mm - x0, sheet.margin_mm + laid.y_mm - y0
    return Placement(item, angle, dx, dy)

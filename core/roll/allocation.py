"""Which piece goes on which sheet: offcuts first, then opened rolls, new ones, film to buy."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from core.document.film import Roll
from core.ids import StockId
from core.roll.model import Item, ItemKey, Placement, Sheet, SheetPlan
from core.roll.nest import NestOptions, nest
from core.roll.problem import FilmProblem, outline_fault
from core.roll.quick import shelf_layout
from core.roll.room import Layout, sheet_plan, usable_size
from core.roll.turns import fits_across, may_lie_within

_ROOM_MM = 1e-9
_LARGE_SHARE, _SMALL_SHARE = 3.0, 1.0
"""So many times an offcut's area is tried on it, of large pieces and of small ones."""
_CHOSEN_OFFCUTS = 4
"""Of so many offcuts each is tried before the best is taken; more go smallest first."""

Engine = Callable[[Sequence[Item], Sheet, FilmProblem, tuple[Placement, ...]], Layout]
"""Lays items on one sheet around what is pinned to it; the layout holds that too."""


def lay_out(
    problem: FilmProblem, items: Sequence[Item], engine: "Engine | None" = None
) -> list[SheetPlan]:
    """Lay items on a film's stock and, where that is short, on film to buy.

    Items that fit nowhere, or may lie only where they do not fit, are left out.
    """
    pinned = {pin.placement.item.key for pin in problem.pinned}
    sound = [i for i in items if outline_fault(i) is None and i.key not in pinned]
    engine = engine or quick_engine
    plans, left = _on_offcuts(problem, sound, engine)
    return plans + lay_on_rolls(problem, left, engine)


def lay_on(
    problem: FilmProblem, sheet: Sheet, items: Sequence[Item], engine: "Engine | None" = None
) -> Layout:
    """Lay items on one sheet, around what is pinned to it.

    What may lie nowhere else goes first. The layout holds what is pinned, too.
    """
    engine = engine or quick_engine
    pinned = tuple(p.placement for p in problem.pinned if p.sheet == sheet.id)
    bound = [i for i in items if _is_bound(problem, i)]
    found = engine(items, sheet, problem, pinned)
    left = {i.key for i in found.left}
    if any(i.key in left for i in bound) and len(bound) < len(items):
        first = engine(bound, sheet, problem, pinned)
        free = [i for i in items if not _is_bound(problem, i)]
        behind = replace(sheet, lead_mm=sheet.start_mm + first.length_mm + problem.gap_mm)
        rest = engine(free, behind, problem, ())
        length = (
            behind.start_mm - sheet.start_mm + rest.length_mm
            if rest.placements
            else first.length_mm
        )
        placed = (*first.placements, *rest.placements)
        return Layout(placed, (*first.left, *rest.left), length)
    return found


def quick_engine(
    items: Sequence[Item], sheet: Sheet, problem: FilmProblem, pinned: tuple[Placement, ...]
) -> Layout:
    """Lay items at once, on film of any shape, blanks so that straight cuts free them."""
    options = NestOptions(gap_mm=problem.gap_mm, pinned=pinned, stages=problem.stages)
    found = nest(items, sheet, options)
    homeless = frozenset(i.key for i in found.left if i.is_blank and not _has_roll(problem, i))
    if homeless:  # no other film takes them: here they may lie as other pieces do
        loose = nest(items, sheet, replace(options, loose=homeless))
        found = min(found, loose, key=lambda f: f.rank)
    plan = found.plan
    length = plan.used_length_mm - sheet.start_mm - sheet.end_mm if plan.placements else 0.0
    return Layout(plan.placements, found.left, length, plan.engine, plan.least_mm)


def shelf_engine(
    items: Sequence[Item], sheet: Sheet, problem: FilmProblem, pinned: tuple[Placement, ...]
) -> Layout:
    """Lay bounding boxes on shelves where the film is free all over, else as at once."""
    if pinned or not sheet.is_plain:
        return quick_engine(items, sheet, problem, pinned)
    return shelf_layout(items, sheet, problem.gap_mm)


def _has_roll(problem: FilmProblem, item: Item) -> bool:
    """Whether an item may lie on some roll, or film to buy, that is wide enough for it."""
    barred = problem.barred.get(item.key, frozenset())
    rolls = (*rolls_of(problem), problem.buy)
    return any(s.id not in barred and _fits(s, item) for s in rolls)


def _is_bound(problem: FilmProblem, item: Item) -> bool:
    """Whether the user left an item one sheet alone."""
    barred = problem.barred.get(item.key, frozenset())
    return len(barred) >= len(problem.stock)


def fits_roll(problem: FilmProblem, item: Item) -> bool:
    """Return whether a roll of the film is wide enough for the item, however long it is."""
    widest = max(usable_size(s)[1] for s in (*rolls_of(problem), problem.buy))
    return fits_across(item, widest)


def rolls_of(problem: FilmProblem) -> list[Sheet]:
    """Return the rolls in stock, opened ones first, then shortest: ends are used up."""
    is_new = {s.id: not s.is_opened for s in problem.film.stock if isinstance(s, Roll)}
    rolls = [s for s in problem.stock if s.kind == "roll"]
    return sorted(rolls, key=lambda s: (is_new[s.id], s.length_mm or 0.0, s.id))


def roll_for(problem: FilmProblem, length_mm: float) -> Sheet | None:
    """Return the one sheet for a layout of that usable length: a roll that holds it, or to buy.

    None when there are rolls and none holds it whole, or when an opened one is to be used up
    before a new one: the layout must be split.
    """
    rolls = rolls_of(problem)
    opened = {s.id for s in problem.film.stock if isinstance(s, Roll) and s.is_opened}
    for roll in rolls:
        if roll.id not in opened and opened:
            return None
        is_alike = roll.is_plain and roll.width_mm == problem.buy.width_mm
        if is_alike and length_mm <= usable_size(roll)[0] + _ROOM_MM:
            return roll
    return None if rolls else problem.buy


def _on_offcuts(
    problem: FilmProblem, items: Sequence[Item], engine: Engine
) -> tuple[list[SheetPlan], tuple[Item, ...]]:
    """Fill offcuts: in turn the one that is filled best, of many the smallest first."""
    offcuts = [s for s in problem.stock if s.kind == "offcut"]
    offcuts.sort(key=lambda s: (s.width_mm * (s.length_mm or 0.0), s.id))
    may = {s.id: {i.key for i in items if may_lie_within(i, *usable_size(s))} for s in offcuts}
    plans: list[SheetPlan] = []
    left = tuple(items)
    filled: dict[StockId, SheetPlan] = {}
    while offcuts:
        tried = offcuts if len(offcuts) <= _CHOSEN_OFFCUTS else offcuts[:1]
        for sheet in tried:
            if sheet.id not in filled:
                fitting = [i for i in left if i.key in may[sheet.id]]
                if not problem.barred:  # else a piece may have to lie here
                    fitting = _worth_trying(sheet, fitting)
                filled[sheet.id] = _filled(problem, sheet, fitting, engine)
        # Of equals the first, which is the smallest.
        best = max((filled[s.id] for s in tried), key=lambda p: round(_share_filled(p), 6))
        plans.append(best)
        left = _without(left, best)
        offcuts = [s for s in offcuts if s.id != best.sheet.id]
        taken = {p.item.key for p in best.placements}
        # A layout that shares nothing with what was taken stands.
        filled = {i: p for i, p in filled.items() if not taken & _keys(p)}
    return plans, left


def _worth_trying(sheet: Sheet, items: list[Item]) -> list[Item]:
    """Return, of many items, some of the largest and of the smallest, in their order.

    They are several times what the sheet can hold; to try all of a large job takes too long.
    """
    room = sheet.width_mm * (sheet.length_mm or 0.0)
    by_size = sorted(items, key=lambda i: (-i.polygon.area, i.key))
    kept: set[ItemKey] = set()
    for order, share in ((by_size, _LARGE_SHARE), (by_size[::-1], _SMALL_SHARE)):
        area = 0.0
        for item in order:
            if area > room * share:
                break
            kept.add(item.key)
            area += item.polygon.area
    return [i for i in items if i.key in kept]


def _keys(plan: SheetPlan) -> set[ItemKey]:
    return {p.item.key for p in plan.placements}


def _share_filled(plan: SheetPlan) -> float:
    sheet = plan.sheet
    whole = sheet.outline.area if sheet.outline else sheet.width_mm * (sheet.length_mm or 1.0)
    return plan.pieces_area_mm2 / whole if whole else 0.0


def lay_on_rolls(
    problem: FilmProblem, items: Sequence[Item], engine: "Engine | None" = None
) -> list[SheetPlan]:
    """Lay items on the one roll that takes all; else fill rolls in turn, and buy the rest."""
    engine = engine or quick_engine
    if not (problem.barred or any(not _fits(problem.buy, i) for i in items)):
        whole = lay_on(problem, problem.buy, items, engine)
        sheet = roll_for(problem, whole.length_mm)
        if sheet is not None:
            return [_plan(problem, sheet, whole)]
    plans = []
    left = tuple(items)
    for roll in (*rolls_of(problem), problem.buy):
        plans.append(_filled(problem, roll, left, engine))
        left = _without(left, plans[-1])
    return plans


def _filled(
    problem: FilmProblem, sheet: Sheet, items: Sequence[Item], engine: Engine
) -> SheetPlan:
    """Return a sheet with those of the items that may lie on it and find room."""
    allowed = [i for i in items if sheet.id not in problem.barred.get(i.key, ())]
    return _plan(problem, sheet, lay_on(problem, sheet, allowed, engine))


def _fits(sheet: Sheet, item: Item) -> bool:
    return fits_across(item, usable_size(sheet)[1])


def _without(items: Sequence[Item], plan: SheetPlan) -> tuple[Item, ...]:
    """Return the items that a sheet does not hold, in their order."""
    laid = {p.item.key for p in plan.placements}
    return tuple(i for i in items if i.key not in laid)


def _plan(problem: FilmProblem, sheet: Sheet, layout: Layout) -> SheetPlan:
    plan = sheet_plan(sheet, problem.gap_mm, layout.placements, layout.engine)
    return replace(plan, least_mm=layout.least_mm)

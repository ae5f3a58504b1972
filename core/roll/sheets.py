"""Which piece goes on which sheet: offcuts first, then rolls, then film to buy."""

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache

from core.errors import GeometryError
from core.roll.model import FilmRolls, Item, Missing, Placement, Sheet, SheetPlan
from core.roll.problem import BUY, FilmProblem, outline_fault
from core.roll.profiles import narrowest_turn
from core.roll.quick import quick_layout, shelf_layout
from core.roll.room import Layout, sheet_plan, usable_size
from core.roll.verify import verify
from core.roll.wording import length_to_buy, width_text

QUICK = "quick"
_ROOM_MM = 1e-9

Engine = Callable[[Sequence[Item], Sheet, float], Layout]
"""Lays items on one sheet with a gap."""


@lru_cache(maxsize=64)
def quick_rolls(problem: FilmProblem) -> FilmRolls:
    """Return the quick layout of a film on its stock and, where that is short, on film to buy.

    Every item lies on a sheet, or is listed as missing because it fits on none. The layout is
    verified; should it break law 5, plain shelves stand in.

    Raises:
        GeometryError: when even shelves do not verify: an outline is beyond reason.
    """
    breaches: tuple[str, ...] = ()
    for engine in (quick_layout, shelf_layout):
        rolls = _lay_out(problem, engine)
        breaches = verify(problem, rolls)
        if not breaches:
            return rolls
    raise GeometryError(
        f"The pieces cannot be laid: {breaches[0]}.",
        where=problem.film.name,
        mend="Look for a broken outline among its pieces.",
    )


def _lay_out(problem: FilmProblem, engine: Engine) -> FilmRolls:
    sound = [i for i in problem.items if outline_fault(i) is None]
    sheets, left = _on_offcuts(problem, sound, engine)
    sheets += _on_rolls(problem, [i for i in left if fits_roll(problem, i)], engine)
    return assemble(problem, sheets)


def fits_roll(problem: FilmProblem, item: Item) -> bool:
    """Return whether a roll of the film is wide enough for the item, however long it is."""
    return narrowest_turn(item)[0] <= usable_size(problem.buy)[1] + _ROOM_MM


def assemble(problem: FilmProblem, sheets: Iterable[SheetPlan]) -> FilmRolls:
    """Return sheets as a film's rolls in stock order, with what is missing worked out."""
    order = [s.id for s in (*problem.stock, problem.buy)]
    laid = sorted((s for s in sheets if s.placements), key=lambda s: order.index(s.sheet.id))
    return FilmRolls(problem.film_id, tuple(laid), _missing(problem, laid))


def rolls_of(problem: FilmProblem) -> list[Sheet]:
    """Return the rolls in stock, shortest first, so that ends of rolls are used up."""
    rolls = [s for s in problem.stock if s.kind == "roll"]
    return sorted(rolls, key=lambda s: (s.length_mm or 0.0, s.id))


def roll_for(problem: FilmProblem, length_mm: float) -> Sheet | None:
    """Return the one sheet for a layout of that usable length: a roll that holds it, or to buy.

    None when there are rolls and none holds it whole: the layout must be split.
    """
    rolls = rolls_of(problem)
    holding = (s for s in rolls if length_mm <= usable_size(s)[0] + _ROOM_MM)
    return next(holding, None if rolls else problem.buy)


def _on_offcuts(
    problem: FilmProblem, items: Sequence[Item], engine: Engine
) -> tuple[list[SheetPlan], tuple[Item, ...]]:
    """Fill offcuts, the smallest first: it takes only pieces that the larger need not."""
    offcuts = [s for s in problem.stock if s.kind == "offcut"]
    offcuts.sort(key=lambda s: (s.width_mm * (s.length_mm or 0.0), s.id))
    plans = []
    left = tuple(items)
    for sheet in offcuts:
        layout = engine(left, sheet, problem.gap_mm)
        plans.append(_plan(problem, sheet, layout.placements))
        left = _in_order(problem, layout.left)
    return plans, left


def _on_rolls(problem: FilmProblem, items: Sequence[Item], engine: Engine) -> list[SheetPlan]:
    """Lay items on the shortest roll that takes all; else fill the rolls and buy the rest."""
    whole = engine(items, problem.buy, problem.gap_mm)
    sheet = roll_for(problem, whole.length_mm)
    if sheet is not None:
        return [_plan(problem, sheet, whole.placements)]
    plans = []
    left = tuple(items)
    for roll in rolls_of(problem):
        layout = engine(left, roll, problem.gap_mm)
        plans.append(_plan(problem, roll, layout.placements))
        left = _in_order(problem, layout.left)
    rest = engine(left, problem.buy, problem.gap_mm)
    return [*plans, _plan(problem, problem.buy, rest.placements)]


def _plan(problem: FilmProblem, sheet: Sheet, placed: tuple[Placement, ...]) -> SheetPlan:
    return sheet_plan(sheet, problem.gap_mm, placed, QUICK)


def _in_order(problem: FilmProblem, items: Iterable[Item]) -> tuple[Item, ...]:
    """Return items in the problem's own order, whatever order a layout left them in."""
    wanted = {(i.piece, i.attempt) for i in items}
    return tuple(i for i in problem.items if (i.piece, i.attempt) in wanted)


def _missing(problem: FilmProblem, sheets: Sequence[SheetPlan]) -> tuple[Missing, ...]:
    """Say what no stock holds: items on film to buy, and items that lie nowhere."""
    found = []
    for plan in sheets:
        if plan.sheet.id == BUY:
            text = (
                f"{length_to_buy(plan.used_length_mm, problem.units)} of {problem.film.name}, "
                f"{width_text(plan.sheet.width_mm, problem.units)} wide, must be bought"
            )
            items = tuple(p.item for p in plan.placements)
            found.append(Missing(text, plan.used_length_mm, items))
    laid = {(p.item.piece, p.item.attempt) for s in sheets for p in s.placements}
    out = [i for i in problem.items if (i.piece, i.attempt) not in laid]
    for piece in dict.fromkeys(i.piece for i in out):
        tries = tuple(i for i in out if i.piece == piece)
        found.append(Missing(_why_nowhere(problem, tries[0]), None, tries))
    return tuple(found)


def _why_nowhere(problem: FilmProblem, item: Item) -> str:
    fault = outline_fault(item)
    if fault:
        return f"{item.label} cannot be laid: {fault}"
    usable = usable_size(problem.buy)[1]
    held = (
        ""
        if item.angles_deg is None or narrowest_turn(_freed(item))[0] > usable
        else " and grain forbids turning"
    )
    wide = width_text(narrowest_turn(item)[0], problem.units)
    return (
        f"{item.label} fits on no roll: {wide} wide, "
        f"usable width is {width_text(usable, problem.units)}{held}"
    )


def _freed(item: Item) -> Item:
    """Return the item as if its film had no grain."""
    return Item(item.piece, item.attempt, item.panel, item.label, item.polygon, None)

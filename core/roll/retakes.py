"""Retakes: laid behind the job, so that they are cut only when a piece has failed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from core.ids import StockId
from core.roll.allocation import quick_engine, rolls_of
from core.roll.model import Item, Sheet, SheetPlan
from core.roll.nest import QUICK
from core.roll.problem import FilmProblem, outline_fault
from core.roll.room import Layout, sheet_plan


def first_tries(problem: FilmProblem) -> FilmProblem:
    """Return a film's problem without the retakes that are free to lie anywhere."""
    pinned = {pin.placement.item.key for pin in problem.pinned}
    items = tuple(i for i in problem.items if i.attempt == 1 or i.key in pinned)
    return problem if len(items) == len(problem.items) else replace(problem, items=items)


def retakes_of(problem: FilmProblem) -> tuple[Item, ...]:
    """Return the tries that are laid behind the job, the second of each piece first."""
    first = {i.key for i in first_tries(problem).items}
    rest = [i for i in problem.items if i.key not in first]
    return tuple(sorted(rest, key=lambda i: i.attempt))


def lay_behind(
    problem: FilmProblem, plans: Iterable[SheetPlan], retakes: Sequence[Item] | None = None
) -> list[SheetPlan]:
    """Return the sheets of the first tries with retakes laid behind these.

    They go to the ends of the rolls that the job uses, then to other rolls and offcuts, then on
    film to buy. A straight cut across the roll parts job and retakes.

    Args:
        problem: the film with all its tries.
        plans: where the first tries lie.
        retakes: which ones; None for all that are planned.
    """
    wanted = retakes_of(problem) if retakes is None else retakes
    left = [i for i in wanted if outline_fault(i) is None]
    laid_on = {plan.sheet.id: plan for plan in plans}
    for sheet in _in_turn(problem, laid_on):
        allowed = [i for i in left if sheet.id not in problem.barred.get(i.key, ())]
        if not allowed:
            continue
        plan = laid_on.get(sheet.id) or sheet_plan(sheet, problem.gap_mm, (), QUICK)
        layout = _layout_behind(problem, plan, allowed)
        if layout.placements:
            laid_on[sheet.id] = _joined(plan, layout)
            done = {p.item.key for p in layout.placements}
            left = [i for i in left if i.key not in done]
    return list(laid_on.values())


def _layout_behind(problem: FilmProblem, plan: SheetPlan, items: Sequence[Item]) -> Layout:
    return quick_engine(items, _behind(plan), problem, ())


def _in_turn(problem: FilmProblem, plans: Mapping[StockId, SheetPlan]) -> list[Sheet]:
    """Return the sheets in the order in which they take retakes."""
    used = {i for i, plan in plans.items() if plan.placements}
    shelf = rolls_of(problem)
    offcuts = [s for s in problem.stock if s.kind == "offcut" and s.id not in used]
    return [
        *(s for s in shelf if s.id in used),
        *(s for s in shelf if s.id not in used),
        *offcuts,
        problem.buy,
    ]


def _behind(plan: SheetPlan) -> Sheet:
    """Return the sheet as if it began behind what lies on it."""
    if not plan.placements:
        return plan.sheet
    reach = plan.used_length_mm - plan.sheet.end_mm
    return replace(plan.sheet, lead_mm=max(plan.sheet.start_mm, reach + plan.gap_mm))


def _joined(plan: SheetPlan, layout: Layout) -> SheetPlan:
    whole = sheet_plan(
        plan.sheet, plan.gap_mm, (*plan.placements, *layout.placements), plan.engine
    )
    return replace(whole, seconds=plan.seconds)

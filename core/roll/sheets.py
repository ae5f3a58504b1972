"""A film's quick layout on all its sheets, and what no sheet holds."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

from core.document.film import Grain
from core.errors import GeometryError
from core.plan.model import Finding, JobPlan, Severity
from core.roll.allocation import (
    Engine,
    fits_roll,
    lay_out,
    quick_engine,
    rolls_of,
    shelf_engine,
)
from core.roll.model import FilmRolls, Item, Missing, SheetPlan
from core.roll.problem import BUY, FilmProblem, film_problems, outline_fault
from core.roll.retakes import first_tries, lay_behind
from core.roll.room import sheet_plan, usable_size
from core.roll.turns import narrowest_turn
from core.roll.verify import verify
from core.roll.wording import length_to_buy, sheet_name, width_text


@lru_cache(maxsize=64)
def quick_rolls(problem: FilmProblem) -> FilmRolls:
    """Return the quick layout of a film on its stock and, where that is short, on film to buy.

    Retakes lie behind the first tries. Every item lies on a sheet, or is listed as missing
    because it fits on none. The layout is verified; should it break law 5, plain shelves stand
    in.

    Raises:
        GeometryError: when even shelves do not verify: an outline is beyond reason.
    """
    breaches: tuple[str, ...] = ()
    for engine in (quick_engine, shelf_engine):
        rolls = _quick(problem, engine)
        breaches = verify(problem, rolls)
        if not breaches:
            return rolls
    raise GeometryError(
        f"The pieces cannot be laid: {breaches[0]}.",
        where=problem.film.name,
        mend="Look for a broken outline among its pieces.",
    )


@lru_cache(maxsize=64)
def _quick(problem: FilmProblem, engine: Engine) -> FilmRolls:
    plans = lay_out(problem, first_tries(problem).items, engine)
    return assemble(problem, lay_behind(problem, plans))


def with_retakes(problem: FilmProblem, rolls: FilmRolls) -> FilmRolls:
    """Return a layout of the first tries with all retakes laid behind it."""
    return assemble(problem, lay_behind(problem, rolls.sheets))


def without_retakes(job: FilmProblem, rolls: FilmRolls) -> FilmRolls:
    """Return a layout of all tries as one of the first tries, which are the problem's items."""
    wanted = {i.key for i in job.items}
    plans = []
    for plan in rolls.sheets:
        kept = tuple(p for p in plan.placements if p.item.key in wanted)
        bare = sheet_plan(plan.sheet, plan.gap_mm, kept, plan.engine)
        plans.append(replace(bare, seconds=plan.seconds))
    return assemble(job, plans)


def settled_problems(plan: JobPlan) -> tuple[FilmProblem, ...]:
    """Return one problem per film of the job, without wishes that leave a piece nowhere."""
    return tuple(settled(problem) for problem in film_problems(plan))


@lru_cache(maxsize=64)
def settled(problem: FilmProblem) -> FilmProblem:
    """Return a problem without the wishes that leave a piece nowhere; those are told."""
    if not problem.forbidden:
        return problem
    laid = {p.item.key for s in _quick(problem, quick_engine).sheets for p in s.placements}
    held = dict(problem.forbidden)
    lost = [i for i in problem.items if i.key in held and i.key not in laid]
    lost = [i for i in lost if outline_fault(i) is None and fits_roll(problem, i)]
    if not lost:
        return problem
    gone = {i.key for i in lost}
    return replace(
        problem,
        forbidden=tuple(f for f in problem.forbidden if f[0] not in gone),
        told=(*problem.told, *(_no_room(problem, i, held[i.key]) for i in lost)),
    )


def _no_room(problem: FilmProblem, item: Item, barred: Iterable[str]) -> Finding:
    open_to = [sheet_name(s) for s in (*problem.stock, problem.buy) if s.id not in barred]
    text = (
        f"{item.label} (try {item.attempt}) has no room on {' or '.join(open_to)}, where alone "
        "it may lie, so it is laid elsewhere. Allow it on another roll or offcut."
    )
    return Finding("N512", Severity.WARNING, text, item.panel)


def assemble(problem: FilmProblem, sheets: Iterable[SheetPlan]) -> FilmRolls:
    """Return sheets as a film's rolls in stock order, with what is missing worked out."""
    order = [s.id for s in (*problem.stock, problem.buy)]
    laid = sorted((s for s in sheets if s.placements), key=lambda s: order.index(s.sheet.id))
    return FilmRolls(problem.film_id, tuple(laid), _missing(problem, laid))


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
    usable = max(usable_size(s)[1] for s in (*rolls_of(problem), problem.buy))
    if not usable:
        return f"{item.label} fits on no roll: the unused edges leave nothing of it"
    feed = problem.buy.section_mm
    if feed is not None and narrowest_turn(item)[0] <= usable:
        return (
            f"{item.label} is too long for the machine: it takes no more than "
            f"{width_text(feed, problem.units)} in one go"
        )
    held = (
        ""
        if item.angles_deg is None or narrowest_turn(_freed(item))[0] > usable
        else f" and {_what_holds(problem)}"
    )
    wide = width_text(narrowest_turn(item)[0], problem.units)
    return (
        f"{item.label} fits on no roll: {wide} wide, "
        f"usable width is {width_text(usable, problem.units)}{held}"
    )


def _what_holds(problem: FilmProblem) -> str:
    """Say what keeps the pieces of a film from being turned as they fit."""
    if problem.film.grain is Grain.NONE:
        return "its film lets it lie along or across the roll alone"
    return "grain forbids turning"


def _freed(item: Item) -> Item:
    """Return the item as if its film had no grain."""
    return Item(item.piece, item.attempt, item.panel, item.label, item.polygon, None)

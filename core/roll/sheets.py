"""A film's quick layout on all its sheets, and what no sheet holds."""

import logging
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

from core.errors import Cancelled, GeometryError, LaplineError
from core.plan.model import Finding, JobPlan, Severity
from core.roll.allocation import (
    Engine,
    fits_roll,
    lay_out,
    quick_engine,
    shelf_engine,
)
from core.roll.left_out import failed_film, missing_item
from core.roll.model import FilmRolls, Item, Missing, SheetPlan
from core.roll.problem import BUY, FilmProblem, film_problems, outline_fault
from core.roll.retakes import first_tries, lay_behind
from core.roll.room import sheet_plan
from core.roll.verify import verify
from core.roll.wording import length_to_buy, sheet_name, try_name, width_text

log = logging.getLogger("lapline")


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
        f"no layout of them held when it was checked ({breaches[0]}).",
        where=problem.film.name,
        mend="Look for a broken outline among its pieces.",
    )


def laid_at_once(problem: FilmProblem) -> FilmRolls:
    """Return the quick layout of a film, or the film as one that could not be laid out.

    Whatever goes wrong with one film, the others' layouts are not to go with it.
    """
    return _or_failed(problem, lambda: quick_rolls(problem))


def _or_failed(problem: FilmProblem, lay: Callable[[], FilmRolls]) -> FilmRolls:
    try:
        return lay()
    except Cancelled:
        raise
    except LaplineError as error:
        return failed_film(problem.film, error.what.rstrip("."), problem.items)
    except Exception as error:  # one film's fault: told as its own, and logged whole
        log.exception("The pieces of %s could not be laid out", problem.film.name)
        why = f"Lapline made a mistake ({type(error).__name__})"
        return failed_film(problem.film, why, problem.items)


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
    rolls = _or_failed(problem, lambda: _quick(problem, quick_engine))
    if rolls.has_failed:
        return problem  # it is told when the film is laid
    laid = {p.item.key for s in rolls.sheets for p in s.placements}
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
        f"{try_name(item)}, has no room on {' or '.join(open_to)}, where alone "
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
    pieces = dict.fromkeys(i.piece for i in out)
    found += [missing_item(problem, tuple(i for i in out if i.piece == p)) for p in pieces]
    return tuple(found)

"""The rolls of a whole plan: laid at once, and tightened for as long as one cares to wait."""

from collections.abc import Callable, Collection
from dataclasses import dataclass

from core.ids import FilmId
from core.plan.model import Finding, JobPlan
from core.roll.findings import cut_before, dropped_nest, roll_findings
from core.roll.kept import find_nest, kept_nests, restore_nest
from core.roll.left_out import failed_film, left_out_findings
from core.roll.model import FilmRolls, RollPlan
from core.roll.problem import FilmProblem
from core.roll.retakes import first_tries
from core.roll.sheets import (
    laid_at_once,
    settled_problems,
    with_retakes,
    without_retakes,
)
from core.roll.tightening import Clock, tighten_film

__all__ = ["RollReport", "kept_nests", "no_rolls", "roll_plan", "tighten"]


@dataclass(frozen=True, slots=True)
class RollReport:
    """Rolls of all films, and what is to be told about them."""

    rolls: RollPlan
    findings: tuple[Finding, ...]


def roll_plan(plan: JobPlan) -> RollReport:
    """Lay all films: kept nests where they still hold, else the quick layout.

    Every layout is verified. A film without pieces has no sheets; so has one whose pieces could
    not be laid out, which is a finding that stops the job.
    """
    films: list[FilmRolls] = []
    findings: list[Finding] = []
    for problem in settled_problems(plan):
        rolls, found = _current(plan, problem)
        films.append(rolls)
        findings += [*found, *cut_before(plan, problem), *roll_findings(problem, rolls)]
    return RollReport(RollPlan(tuple(films)), tuple(findings))


def no_rolls(plan: JobPlan, why: str) -> RollReport:
    """Return a report of films none of which could be laid out; ``why`` is half a sentence."""
    used = {piece.film for piece in plan.pieces}
    films = [film for film in plan.job.films if film.id in used]
    failed = [failed_film(film, why) for film in films]
    pairs = zip(films, failed, strict=True)
    found = (f for film, rolls in pairs for f in left_out_findings(film, rolls))
    return RollReport(RollPlan(tuple(failed)), tuple(found))


def tighten(
    plan: JobPlan,
    film_ids: Collection[FilmId | str],
    seconds: float,
    on_better: Callable[[FilmRolls], None],
    is_cancelled: Callable[[], bool],
) -> RollReport:
    """Seek shorter layouts of some films, starting from those that ``roll_plan`` gives.

    Args:
        plan: what is to be laid.
        film_ids: the films to work on.
        seconds: for all films together, shared by their counts of pieces.
        on_better: called with each better, verified layout of a film, on the calling thread.
        is_cancelled: asked some twenty times a second; the best so far is returned.

    Returns:
        All films of the plan, those not named as ``roll_plan`` gives them.
    """
    films: list[FilmRolls] = []
    findings: list[Finding] = []
    problems = settled_problems(plan)
    clock = Clock(seconds, is_cancelled)
    open_items = sum(len(p.items) for p in problems if p.film.id in film_ids)
    for problem in problems:
        rolls, found = _current(plan, problem)
        findings += [*found, *cut_before(plan, problem)]
        if problem.film.id in film_ids and problem.items and not rolls.has_failed:
            share = clock.left * len(problem.items) / open_items
            open_items -= len(problem.items)
            rolls, told = tightened(problem, rolls, clock.part(share), on_better)
            findings += told
        films.append(rolls)
        findings += roll_findings(problem, rolls)
    return RollReport(RollPlan(tuple(films)), tuple(findings))


def _current(plan: JobPlan, problem: FilmProblem) -> tuple[FilmRolls, tuple[Finding, ...]]:
    """Return a film's kept nest if it holds, else its quick layout and what became of it."""
    nest = find_nest(plan, problem)
    if nest is None:
        return laid_at_once(problem), ()
    kept = restore_nest(problem, nest)
    if isinstance(kept, FilmRolls):
        return kept, ()
    return laid_at_once(problem), (dropped_nest(problem, kept),)


def tightened(
    problem: FilmProblem,
    rolls: FilmRolls,
    clock: Clock,
    on_better: Callable[[FilmRolls], None],
) -> tuple[FilmRolls, tuple[Finding, ...]]:
    """Seek a shorter layout of a film's first tries; retakes are laid behind each better one.

    Args:
        problem: the film with all its tries.
        rolls: to start from.
        clock: how long it may take, and whether it is stopped.
        on_better: called with each better, verified layout.
    """
    job = first_tries(problem)
    if job is problem:
        return tighten_film(problem, rolls, clock, on_better)
    start = without_retakes(job, rolls)
    found, told = tighten_film(
        job, start, clock, lambda better: on_better(with_retakes(problem, better))
    )
    return (rolls if found is start else with_retakes(problem, found)), told

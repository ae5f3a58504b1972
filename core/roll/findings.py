"""What is to be told of a film's rolls, in the bench's words (N501–N508, N511–N517)."""

from collections.abc import Iterable
from dataclasses import replace

from core.plan.model import Finding, JobPlan, Severity
from core.roll.allocation import fits_roll
from core.roll.cut_sequence import cut_sequence
from core.roll.left_out import left_out_findings, named
from core.roll.model import FilmRolls
from core.roll.problem import BUY, FilmProblem
from core.roll.room import usable_size
from core.roll.stock import sheet_of, stock_fault, stock_width_mm
from core.roll.wording import length_on_hand, length_to_buy, sheet_name, width_text
from core.units import format_length

_SLACK_MM = 0.5


def roll_findings(problem: FilmProblem, rolls: FilmRolls) -> tuple[Finding, ...]:
    """Return what stock does not give, pieces that fit no roll, and wishes not to be had."""
    if rolls.has_failed:
        return left_out_findings(problem.film, rolls)
    return (
        *_broken_stock(problem),
        *_lost_damage(problem),
        *(replace(f, text=f"{problem.film.name}: {f.text}") for f in problem.told),
        *_stock_findings(problem, rolls),
        *left_out_findings(problem.film, rolls),
        *_offcut_findings(problem, rolls),
        *_cut_findings(problem, rolls),
    )


def _broken_stock(problem: FilmProblem) -> Iterable[Finding]:
    for stock in problem.film.stock:
        why = stock_fault(stock)
        if why is None and sheet_of(stock, problem.film, problem.settings).free().is_empty:
            why = "unused edges, damage and the machine's waste leave nothing of it"
        if why is not None:
            text = (
                f"{problem.film.name}: {stock.id} is not used, as {why}. "
                "Mend it in the film's stock, or take it out."
            )
            yield Finding("N513", Severity.WARNING, text)


def _lost_damage(problem: FilmProblem) -> Iterable[Finding]:
    """Tell of damage that is not on the film, as where a length was mistyped."""
    for stock in problem.film.stock:
        wide_mm = stock_width_mm(stock, problem.film)
        for damage in stock.damaged:
            is_along = damage.end_mm > stock.length_mm + _SLACK_MM
            across_mm = max(damage.low_mm or 0.0, damage.high_mm or 0.0)
            if is_along or across_mm > wide_mm + _SLACK_MM:
                start, end = (
                    format_length(v, problem.units) for v in (damage.start_mm, damage.end_mm)
                )
                text = (
                    f"{problem.film.name}: on {stock.id} the damage at {start}–{end} "
                    "reaches beyond the film; only what is on the film is kept clear. Mend "
                    "it, or the size, in the film's stock."
                )
                yield Finding("N517", Severity.WARNING, text)


def _stock_findings(problem: FilmProblem, rolls: FilmRolls) -> Iterable[Finding]:
    name = problem.film.name
    to_buy = sum(s.used_length_mm for s in rolls.sheets if s.sheet.id == BUY)
    if not to_buy:
        return
    length = length_to_buy(to_buy, problem.units)
    if not problem.stock:
        text = f"{name}: no stock is entered, so all {length} count as film to buy."
        yield Finding("N502", Severity.NOTE, text)
    elif not any(s.job_length_mm for s in rolls.sheets if s.sheet.id == BUY):
        text = (
            f"{name}: the job fits on the stock; for all its retakes {length} must be bought."
        )
        yield Finding("N514", Severity.NOTE, text)
    else:
        have = sum(s.length_mm or 0.0 for s in problem.stock if s.kind == "roll")
        on_rolls = f"{length_on_hand(have, problem.units)} on rolls" if have else "no roll"
        text = f"{name}: stock is too short ({on_rolls}); {length} more must be bought."
        retakes = to_buy - sum(s.job_length_mm for s in rolls.sheets if s.sheet.id == BUY)
        if retakes > 1:
            text = f"{text[:-1]}, {length_to_buy(retakes, problem.units)} of it for retakes."
        yield Finding("N504", Severity.WARNING, text)


def _offcut_findings(problem: FilmProblem, rolls: FilmRolls) -> Iterable[Finding]:
    """Say which pieces lie on an offcut and fit on no roll."""
    offcuts = [s for s in rolls.sheets if s.sheet.kind == "offcut"]
    on_offcuts = {p.item.piece: p.item for s in offcuts for p in s.placements}
    alone = [i for i in on_offcuts.values() if not fits_roll(problem, i)]
    if not alone:
        return
    name = problem.film.name
    usable = width_text(usable_size(problem.buy)[1], problem.units)
    gives = f"rolls give {usable} of width, so a failed piece cannot be cut again."
    panels = {i.panel for i in alone}
    labels = named([i.label for i in alone])
    who = (
        f"{labels} fits on an offcut of {name} alone"
        if len(alone) == 1
        else f"{len(alone)} pieces fit on offcuts of {name} alone: {labels}"
    )
    panel = alone[0].panel if len(panels) == 1 else None
    yield Finding("N503", Severity.WARNING, f"{who}; {gives}", panel)


def _cut_findings(problem: FilmProblem, rolls: FilmRolls) -> Iterable[Finding]:
    """Say which blanks straight cuts from edge to edge do not free."""
    for plan in rolls.sheets:
        if not any(p.item.is_blank for p in plan.placements):
            continue
        for group in cut_sequence(plan).stuck:
            labels = [b.label for b in group if b.is_blank]
            if labels:
                text = (
                    f"{problem.film.name}: on {sheet_name(plan.sheet)} straight cuts from edge "
                    f"to edge do not free {', '.join(labels)}. Cut round them one by one, "
                    "stopping at their corners; or let go of a pin, or allow another roll."
                )
                yield Finding("N515", Severity.WARNING, text)


def cut_before(plan: JobPlan, problem: FilmProblem) -> tuple[Finding, ...]:
    """Say that a film is planned on stock that was cut from, as another layout than this."""
    cuts = [c for c in plan.job.cuts if c.film == problem.film.id]
    if not cuts or not problem.items:
        return ()
    if any(c.variant == plan.variant.id and c.fingerprint == problem.fingerprint for c in cuts):
        return ()
    text = (
        f"{problem.film.name} was cut on {cuts[-1].day} as it was laid out then; its stock "
        "here is still as it was before. Take what is left from the shelf, or enter it in the "
        "film's stock."
    )
    return (Finding("N516", Severity.WARNING, text),)


def dropped_nest(problem: FilmProblem, why: str) -> Finding:
    """Say that a kept nest is not used any more."""
    text = (
        f"{problem.film.name}: the kept layout is not used, as {why}. "
        "Pack the rolls tighter again, or let go of it."
    )
    return Finding("N501", Severity.NOTE, text)


def solver_failed(problem: FilmProblem, why: str) -> Finding:
    """Say that the solver died, and that the layout before it stands."""
    text = f"{problem.film.name}: {why} The best layout found before that stands."
    return Finding("N505", Severity.WARNING, text)


def answers_rejected(problem: FilmProblem, count: int, breach: str) -> Finding:
    """Say that the solver's answers did not hold."""
    which = (
        "one of the solver's layouts did not hold and was not used"
        if count == 1
        else f"{count} of the solver's layouts did not hold and were not used"
    )
    text = f"{problem.film.name}: {which} ({breach})."
    return Finding("N507", Severity.NOTE, text)

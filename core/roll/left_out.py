"""Pieces that lie on no roll: why, how that is told, and that it stops the job.

Pieces of a film that have one cause are told in one finding. A layout says by itself what it
leaves out, so that every door asks one rule, ``stops``, whether anything may be cut.
"""

from collections.abc import Sequence
from dataclasses import replace

from core.document.film import Film, Grain
from core.ids import FilmId
from core.plan.model import Finding, JobPlan, Severity
from core.roll.allocation import fits_roll, rolls_of
from core.roll.model import FAILED, Cause, FilmRolls, Item, Missing, RollPlan
from core.roll.problem import FilmProblem, outline_fault
from core.roll.room import usable_size
from core.roll.turns import narrowest_turn
from core.roll.wording import width_text

_MOST_NAMES = 12
"""So many pieces are named in one finding; of more the first ones."""
_SPLIT = ("Split the piece with a seam", "Split them with seams")


def stops(plan: JobPlan, rolls: RollPlan | None = None) -> tuple[Finding, ...]:
    """Return the findings that stop a job: of its plan, and of its rolls where these are known.

    While there is one, nothing is handed out.
    """
    found = [f for f in plan.findings if f.severity is Severity.STOP]
    for film in rolls.films if rolls else ():
        found += left_out_findings(plan.job.film(film.film), film)
    return tuple(found)


def left_out_findings(film: Film, rolls: FilmRolls) -> tuple[Finding, ...]:
    """Return what stops a film: one finding for all of its pieces that share a cause."""
    groups: dict[Cause, list[Missing]] = {}
    for missing in rolls.missing:
        if missing.cause is not None:
            groups.setdefault(replace(missing.cause, figure=""), []).append(missing)
    return tuple(_finding(film.name, cause, group) for cause, group in groups.items())


def missing_item(problem: FilmProblem, tries: tuple[Item, ...]) -> Missing:
    """Return a piece, given by all its tries, that lies nowhere."""
    cause, label = _cause(problem, tries[0]), tries[0].label
    fate = cause.fate[0].replace(f" of {problem.film.name}", "")
    return Missing(f"{label} {fate}: {_reason(cause)}", None, tries, cause)


def failed_film(film: Film, why: str, items: tuple[Item, ...] = ()) -> FilmRolls:
    """Return a film as one whose pieces could not be laid out; ``why`` is half a sentence."""
    words = "its pieces could not be laid out"
    mend = "Change what is special about this film: pins, retakes, the longest feed, its stock."
    cause = Cause(FAILED, Severity.STOP, ("", ""), f"{words}, as {why}", (mend, mend))
    missing = Missing(f"{film.name}: {words}", None, items, cause)
    return FilmRolls(FilmId(film.id), (), (missing,))


def named(labels: Sequence[str]) -> str:
    """Return names in a row, the first ones of very many.

    >>> named(["Lid 1", "Lid 2"]), named(["A"] * 14)[-12:]
    ('Lid 1, Lid 2', 'A and 2 more')
    """
    more = len(labels) - _MOST_NAMES
    if more < 2:
        return ", ".join(labels)
    return f"{', '.join(labels[:_MOST_NAMES])} and {more} more"


def _finding(name: str, cause: Cause, group: Sequence[Missing]) -> Finding:
    items = [m.items[0] for m in group if m.items]
    panels = {i.panel for i in items}
    panel = items[0].panel if len(panels) == 1 else None
    if not cause.fate[0]:
        text, panel = f"{name}: {cause.why}. {cause.mend[0]}", None
    elif len(group) == 1:
        own = group[0].cause or cause
        text = f"{items[0].label} {own.fate[0]}: {_reason(own)}. {own.mend[0]}"
    else:
        labels = [_with_figure(m) for m in group]
        text = (
            f"{len(group)} pieces {cause.fate[1]}: {named(labels)}; {cause.why}. "
            f"{cause.mend[1]}"
        )
    return Finding(cause.check, cause.weight, text, panel)


def _reason(cause: Cause) -> str:
    return f"{cause.figure}, {cause.why}" if cause.figure else cause.why


def _with_figure(missing: Missing) -> str:
    label, cause = missing.items[0].label, missing.cause
    figure = cause.figure.removesuffix(" wide") if cause else ""
    return f"{label} ({figure})" if figure else label


def _cause(problem: FilmProblem, item: Item) -> Cause:
    """Return why an item lies nowhere, and what lets it lie."""
    film = problem.film.name
    fault = outline_fault(item)
    if fault:
        mend, fate = "Mend the panel's outline or lines there.", "cannot be laid"
        return Cause("N506", Severity.STOP, (fate, fate), fault, (mend, mend))
    no_roll = (f"fits on no roll of {film}", f"fit on no roll of {film}")
    usable = max(usable_size(s)[1] for s in (*rolls_of(problem), problem.buy))
    if not usable:
        mend = "Make the unused edge of the film narrower."
        return Cause(
            "N503", Severity.STOP, no_roll, "the unused edges leave nothing of it", (mend, mend)
        )
    feed = problem.buy.section_mm
    longer = ", or enter the longest feed that the machine takes."
    if feed is not None and narrowest_turn(item)[0] <= usable:
        takes = f"it takes no more than {width_text(feed, problem.units)} in one go"
        too_long = ("is too long for the machine", "are too long for the machine")
        return Cause(
            "N503", Severity.STOP, too_long, takes, (_SPLIT[0] + longer, _SPLIT[1] + longer)
        )
    is_held = item.angles_deg is not None and narrowest_turn(_freed(item))[0] <= usable
    held = f" and {_what_holds(problem)}" if is_held else ""
    wider = longer if fits_roll(problem, item) else ", or take a wider film."
    return Cause(
        "N503",
        Severity.STOP,
        no_roll,
        f"usable width is {width_text(usable, problem.units)}{held}",
        (_SPLIT[0] + wider, _SPLIT[1] + wider),
        f"{width_text(narrowest_turn(item)[0], problem.units)} wide",
    )


def _what_holds(problem: FilmProblem) -> str:
    """Say what keeps the pieces of a film from being turned as they fit."""
    if problem.film.grain is Grain.NONE:
        return "its film lets it lie along or across the roll alone"
    return "grain forbids turning"


def _freed(item: Item) -> Item:
    """Return the item as if its film had no grain."""
    return Item(item.piece, item.attempt, item.panel, item.label, item.polygon, None)

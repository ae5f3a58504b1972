"""Making one film's layout shorter in the time given, never worse and never unverified."""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from core.plan.model import Finding
from core.roll.allocation import lay_on_rolls, roll_for, rolls_of
from core.roll.findings import answers_rejected, solver_failed
from core.roll.model import FilmRolls, Item, ItemKey, Sheet, SheetPlan
from core.roll.nest import NestOptions, nest, nests
from core.roll.problem import BUY, FilmProblem, outline_fault
from core.roll.quick import fill_up
from core.roll.room import sheet_plan, usable_size
from core.roll.sheets import assemble
from core.roll.strip_workers import SolverFailed
from core.roll.verify import verify

_WORTH_MM = 1e-3
"""A layout must be this much shorter to count as better."""
_OFFCUT_SHARE = 0.25
"""At most this share of the time goes into filling offcuts."""
_DENSEST = 0.97
"""No layout of irregular pieces is denser; a roll with less room cannot take them all."""


class Clock:
    """Time that is left, and whether the user has had enough."""

    def __init__(self, seconds: float, is_cancelled: Callable[[], bool]) -> None:
        self._end = time.monotonic() + seconds
        self.is_cancelled = is_cancelled

    @property
    def left(self) -> float:
        """Seconds that are left, at least 0."""
        return max(0.0, self._end - time.monotonic())

    def part(self, seconds: float) -> "Clock":
        """Return a clock for a part of what is left."""
        return Clock(min(seconds, self.left), self.is_cancelled)


@dataclass(slots=True)
class _Best:
    """The best layout so far, and what was refused on the way."""

    problem: FilmProblem
    rolls: FilmRolls
    on_better: Callable[[FilmRolls], None]
    rejected: int = 0
    breach: str = ""
    findings: list[Finding] = field(default_factory=list)

    def offer(self, sheets: Sequence[SheetPlan]) -> None:
        """Take the sheets for the film's layout if they are better and hold.

        An answer that leaves out what was laid before is half done, as a search that is ended
        leaves it, and no fault: it is passed over.
        """
        rolls = assemble(self.problem, sheets)
        if _left_out(rolls) - _left_out(self.rolls) or not _is_better(rolls, self.rolls):
            return
        breaches = verify(self.problem, rolls)
        if breaches:
            self.rejected += 1
            self.breach = breaches[0]
            return
        self.rolls = rolls
        self.on_better(rolls)


def tighten_film(
    problem: FilmProblem,
    start: FilmRolls,
    clock: Clock,
    on_better: Callable[[FilmRolls], None],
) -> tuple[FilmRolls, tuple[Finding, ...]]:
    """Return the best layout found in the time, and what is to be told of the search.

    First offcuts are filled better, with pieces from the rolls. The rest is sought as one strip
    as long as one roll can take it all; else each sheet's own set is tightened.
    """
    best = _Best(problem, start, on_better)
    try:
        _refill_offcuts(best, clock.part(clock.left * _OFFCUT_SHARE))
    except SolverFailed as failure:
        best.findings.append(solver_failed(problem, str(failure)))
    start = best.rolls
    rest = [s for s in start.sheets if s.sheet.kind == "roll"]
    items = [p.item for s in rest for p in s.placements]
    try:
        if problem.barred:
            _tighten_each(best, clock)
        elif len(rest) == 1 and roll_for(problem, _usable_length(rest[0])) is not None:
            _tighten_whole(best, items, clock)
        else:
            if _may_fit_one(problem, items):
                _tighten_whole(best, items, clock.part(clock.left / 2))
            if best.rolls is start:
                _tighten_each(best, clock)
    except SolverFailed as failure:
        best.findings.append(solver_failed(problem, str(failure)))
    if best.rejected:
        best.findings.append(answers_rejected(problem, best.rejected, best.breach))
    return best.rolls, tuple(best.findings)


def _refill_offcuts(best: _Best, clock: Clock) -> None:
    """Seek to lay more on each offcut; what leaves it and what stays on rolls is laid anew."""
    problem = best.problem
    offcuts = [s for s in problem.stock if s.kind == "offcut"]
    if not any(s.sheet.kind == "roll" for s in best.rolls.sheets):
        return
    for k, sheet in enumerate(offcuts):
        share = clock.part(clock.left / (len(offcuts) - k))
        others = [s for s in best.rolls.sheets if s.sheet.id != sheet.id]
        kept = [s for s in others if s.sheet.kind == "offcut"]
        held = {p.item.key for s in kept for p in s.placements}
        items = [i for i in problem.items if i.key not in held and outline_fault(i) is None]
        pins = {pin.placement.item.key for pin in problem.pinned}
        allowed = [
            i
            for i in items
            if i.key not in pins and sheet.id not in problem.barred.get(i.key, ())
        ]
        found = _fullest(problem, allowed, sheet, share)
        if found is None:
            continue
        laid = {p.item.key for p in found.placements}
        rest = [i for i in items if i.key not in laid and i.key not in pins]
        best.offer([*kept, found, *lay_on_rolls(problem, rest)])


def _fullest(
    problem: FilmProblem, items: Sequence[Item], sheet: Sheet, clock: Clock
) -> SheetPlan | None:
    """Return the layout found in the time that lays most area on an offcut."""
    if not items or not clock.left or clock.is_cancelled():
        return None
    options = _options(problem, sheet, clock)
    if not nest(items, sheet, replace(options, seconds=0.0)).plan.placements:
        return None
    return nest(items, sheet, options).plan


def _is_better(new: FilmRolls, old: FilmRolls) -> bool:
    """Less to buy is better; of equal buys, less length of roll."""
    bought, used = (_bought(r) for r in (new, old))
    if abs(bought - used) > _WORTH_MM:
        return bought < used
    return new.used_length_mm < old.used_length_mm - _WORTH_MM


def _left_out(rolls: FilmRolls) -> set[ItemKey]:
    return {i.key for m in rolls.missing if m.length_mm is None for i in m.items}


def _bought(rolls: FilmRolls) -> float:
    return sum(s.used_length_mm for s in rolls.sheets if s.sheet.id == BUY)


def _usable_length(plan: SheetPlan) -> float:
    return plan.used_length_mm - plan.sheet.start_mm - plan.sheet.end_mm


def _may_fit_one(problem: FilmProblem, items: Sequence[Item]) -> bool:
    """Return whether the longest roll has room for all items, lying as dense as can be."""
    sizes = [usable_size(s) for s in rolls_of(problem)]
    room = max((length * width for length, width in sizes), default=0.0)
    return sum(i.polygon.area for i in items) <= room * _DENSEST


def _tighten_whole(best: _Best, items: Sequence[Item], clock: Clock) -> None:
    """Seek one strip for all items; it counts as soon as one roll (or film to buy) takes it."""
    problem = best.problem
    offcuts = [s for s in best.rolls.sheets if s.sheet.kind == "offcut"]
    for plan in _search(problem, items, problem.buy, clock):
        sheet = roll_for(problem, _usable_length(plan))
        if sheet is not None:
            best.offer([*offcuts, replace(plan, sheet=sheet)])


def _tighten_each(best: _Best, clock: Clock) -> None:
    """Tighten each roll's own set of items, the film to buy last.

    Room that a roll in stock gains is filled with items of the sheets that are still to come.
    """
    to_come = [s.sheet for s in best.rolls.sheets if s.sheet.kind == "roll"]
    while to_come:
        sheet = to_come[0]
        _tighten_sheet(best, sheet, clock.part(clock.left / len(to_come)))
        laid = {s.sheet.id for s in best.rolls.sheets}
        to_come = [s for s in to_come[1:] if s.id in laid]
        _fill_up(best, sheet, to_come)
        laid = {s.sheet.id for s in best.rolls.sheets}
        to_come = [s for s in to_come if s.id in laid]


def _tighten_sheet(best: _Best, sheet: Sheet, clock: Clock) -> None:
    """Seek a shorter layout of what lies on one sheet."""
    own, others = _apart(best.rolls, sheet)
    items = [p.item for p in own.placements]
    for plan in _search(best.problem, items, sheet, clock):
        if _usable_length(plan) <= usable_size(sheet)[0]:
            best.offer([*others, plan])


def _fill_up(best: _Best, sheet: Sheet, to_come: Sequence[Sheet]) -> None:
    """Move items from the sheets to come into the room at the end of a sheet."""
    own, others = _apart(best.rolls, sheet)
    if not sheet.is_plain or best.problem.barred:
        return
    sources = {s.id for s in to_come}
    items = [p.item for s in others if s.sheet.id in sources for p in s.placements]
    # Beside blanks a piece would be in the way of the cuts that free them.
    if any(i.is_blank for i in (*items, *(p.item for p in own.placements))):
        return
    added = fill_up(own, items).placements
    if not added:
        return
    gap = best.problem.gap_mm
    moved = {(p.item.piece, p.item.attempt) for p in added}
    rest = []
    for s in others:
        kept = tuple(p for p in s.placements if (p.item.piece, p.item.attempt) not in moved)
        rest.append(sheet_plan(s.sheet, gap, kept, s.engine))
    best.offer([*rest, sheet_plan(sheet, gap, (*own.placements, *added), own.engine)])


def _apart(rolls: FilmRolls, sheet: Sheet) -> tuple[SheetPlan, list[SheetPlan]]:
    """Return a sheet's plan, and those of the others."""
    own = next(s for s in rolls.sheets if s.sheet.id == sheet.id)
    return own, [s for s in rolls.sheets if s.sheet.id != sheet.id]


def _search(
    problem: FilmProblem, items: Sequence[Item], sheet: Sheet, clock: Clock
) -> Iterator[SheetPlan]:
    """Yield layouts of all items on one sheet, better and better."""
    options = _options(problem, sheet, clock)
    held = {p.item.key for p in options.pinned}
    if not clock.left or clock.is_cancelled():
        return
    for found in nests([i for i in items if i.key not in held], sheet, options):
        if not found.left:
            yield found.plan


def _options(problem: FilmProblem, sheet: Sheet, clock: Clock) -> NestOptions:
    return NestOptions(
        gap_mm=problem.gap_mm,
        pinned=tuple(p.placement for p in problem.pinned if p.sheet == sheet.id),
        stages=problem.stages,
        seconds=clock.left,
        is_cancelled=clock.is_cancelled,
    )

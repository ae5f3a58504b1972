"""Pieces laid on one sheet: the one door behind which all engines stand.

``nest`` lays at once, or searches for as long as it is given; ``nests`` tells every better
layout on the way. Which engine works depends on what is asked:

* small pieces go into openings of large ones first (``openings``);
* blanks come next, as one stretch of straight cuts from the start, on odd film in rectangles
  that it is trimmed to first (``blanks``);
* the rest lies behind them: where the film is free all over by the quick layout at once, then
  by the strip solver; else by filling, or the polygon solver where it is installed.
"""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from core.roll.blanks import blank_layouts, least_blank_length, odd_blank_layouts
from core.roll.cut_lanes import lanes_around
from core.roll.filling import fill_layout, fill_layouts
from core.roll.model import Item, ItemKey, Placement, Sheet, SheetPlan
from core.roll.openings import Hosted, fill_openings
from core.roll.packing import has_packing, packing_layouts
from core.roll.quick import quick_layout, shelf_layout, shuffled_layouts
from core.roll.room import Layout, sheet_plan, usable_size
from core.roll.strip import strip_layouts

QUICK, FILL, STRIP, BLANKS, PACKING = "quick", "fill", "strip", "blanks", "packing"
_WORTH_MM = 1e-3
"""A layout must be this much shorter to count as better."""
_SHUFFLES = 100
"""Quick layouts in shuffled orders tried before the solver has its first answer."""
_SHUFFLE_SHARE = 0.05
"""At most this share of the time goes into them."""
_BLANK_SHARE = 0.3
"""Share of the time for blanks where other pieces are there too."""
_MANY, _PART = 150, 75
"""More pieces than these are sought in parts of so many."""
_DENSEST = 0.97
"""No layout of irregular pieces is denser; a sheet with less room cannot take them all."""


def _never() -> bool:
    return False


@dataclass(frozen=True, slots=True)
class NestOptions:
    """What is asked of a layout.

    Attributes:
        gap_mm: kept between pieces; blanks lie edge to edge.
        pinned: pieces that lie on the sheet already, in their places.
        stages: how often the cuts that free blanks may turn; None for any, else three.
        loose: blanks that are laid as other pieces are, as straight cuts cannot free them.
        seconds: time to search; 0 lays at once.
        seed: of all chance.
        is_cancelled: asked all the time; the best so far is kept.
    """

    gap_mm: float = 5.0
    pinned: tuple[Placement, ...] = ()
    stages: int | None = None
    loose: frozenset[ItemKey] = frozenset()
    seconds: float = 0.0
    seed: int = 1
    is_cancelled: Callable[[], bool] = _never


@dataclass(frozen=True, slots=True)
class Nest:
    """One sheet's layout: what lies on it, and what found no room."""

    plan: SheetPlan
    left: tuple[Item, ...]

    @property
    def rank(self) -> tuple[float, float]:
        """The lower the better: area left over first, then length."""
        return round(sum(i.polygon.area for i in self.left), 3), self.plan.used_length_mm


def nest(items: Sequence[Item], sheet: Sheet, options: NestOptions) -> Nest:
    """Return the best layout of items on a sheet that is found in the time.

    The layout holds what is pinned. It is not verified yet.

    Degenerate input: no items give what is pinned alone.

    Raises:
        SolverFailed: when a solver's process dies.
    """
    found = nests(items, sheet, options)
    best = next(found)
    if options.seconds:
        for better in found:
            best = better
    return best


def nests(items: Sequence[Item], sheet: Sheet, options: NestOptions) -> Iterator[Nest]:
    """Yield layouts, each better than the one before; the first comes at once.

    Raises:
        SolverFailed: when a solver's process dies; what was yielded holds.
    """
    table = _Table(sheet, options)
    best: Nest | None = None
    for found in table.layouts(items):
        if best is None or _is_better(found.rank, best.rank):
            best = found
            yield found


def _is_better(new: tuple[float, float], old: tuple[float, float]) -> bool:
    return new[0] < old[0] or (new[0] == old[0] and new[1] < old[1] - _WORTH_MM)


@dataclass(slots=True)
class _Table:
    """A sheet that is laid, and the time for it."""

    sheet: Sheet
    options: NestOptions
    started: float = field(default_factory=time.monotonic)

    @property
    def spent(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started

    def has_time(self, until: float) -> bool:
        """Whether there is time until so many seconds from the start."""
        return self.spent < until and not self.options.is_cancelled()

    def layouts(self, items: Sequence[Item]) -> Iterator[Nest]:
        """Yield layouts as they come, better or not."""
        loose = self.options.loose
        blanks = [i for i in items if i.is_blank and i.key not in loose]
        others = [i for i in items if not i.is_blank or i.key in loose]
        search = self._blank_layouts(blanks)
        block = next(search)
        assert block is not None
        rest = _Rest(self, others)
        first = rest.at_once(block)
        yield min(first, self._on_shelves(items, first), key=lambda found: found.rank)
        if not self.options.seconds:
            return
        limit = self.options.seconds * (_BLANK_SHARE if others else 1.0)
        for better in search:
            if better is not None:
                block = better
                if not others:
                    yield rest.at_once(block)
            if not self.has_time(limit):
                break
        if others:
            yield rest.at_once(block)
            yield from rest.searched(block)

    @property
    def is_odd(self) -> bool:
        """Whether blanks find no plain film: an odd offcut, damage, or pinned pieces."""
        sheet = self.sheet
        return sheet.outline is not None or bool(sheet.blocked or self.options.pinned)

    def _blank_layouts(self, blanks: Sequence[Item]) -> Iterator[Layout | None]:
        options = self.options
        if not self.is_odd:
            return blank_layouts(blanks, self.sheet, options.stages, options.seed)
        pinned, gap = options.pinned, options.gap_mm
        return odd_blank_layouts(blanks, self.sheet, pinned, gap, options.stages, options.seed)

    def _on_shelves(self, items: Sequence[Item], first: Nest) -> Nest:
        """Return all on shelves where blanks and other pieces mix: none may be longer."""
        options, sheet = self.options, self.sheet
        kinds = {i.is_blank for i in items}
        if len(kinds) < 2 or not sheet.is_plain or options.pinned or options.stages:
            return first
        layout = shelf_layout(items, sheet, options.gap_mm)
        plan = sheet_plan(sheet, options.gap_mm, layout.placements, QUICK)
        return Nest(replace(plan, seconds=self.spent), layout.left)

    def composed(self, block: Layout, inner: Hosted, layout: Layout, engine: str) -> Nest:
        """Return blanks, the rest and what lies inside that as one layout."""
        options = self.options
        placed = (*options.pinned, *block.placements, *inner.unpacked(layout.placements))
        plan = sheet_plan(self.sheet, options.gap_mm, placed, engine)
        least = 0.0
        if len(block.placements) == len(placed):
            width = usable_size(self.sheet)[1]
            least = least_blank_length([p.item for p in placed], width) if placed else 0.0
        plan = replace(plan, seconds=self.spent, least_mm=least)
        return Nest(plan, (*block.left, *inner.left(layout.left)))


class _Rest:
    """What is laid behind the blanks."""

    def __init__(self, table: _Table, items: Sequence[Item]) -> None:
        self._table, self._items = table, items
        self._inner = fill_openings(items, table.options.gap_mm)

    def at_once(self, block: Layout) -> Nest:
        """Return blanks and a quick layout of the rest."""
        table = self._table
        if not self._items:
            engine = BLANKS if block.placements else QUICK
            return table.composed(block, Hosted((), {}), _nothing(), engine)
        layout, engine = self._quick(block)
        homeless = {i.key for i in layout.left} & set(self._inner.inside)
        if homeless:
            # A host that finds no room must not keep what lay inside it from finding one.
            self._inner = fill_openings(
                self._items, table.options.gap_mm, without=frozenset(homeless)
            )
            layout, engine = self._quick(block)
        return table.composed(block, self._inner, layout, engine)

    def _quick(self, block: Layout) -> tuple[Layout, str]:
        gap, (sheet, taken) = self._table.options.gap_mm, self._behind(block)
        if sheet.is_plain and not taken:
            return quick_layout(self._inner.items, sheet, gap), QUICK
        return fill_layout(self._inner.items, sheet, gap, taken), FILL

    def searched(self, block: Layout) -> Iterator[Nest]:
        """Yield layouts of the rest for as long as there is time."""
        sheet, taken = self._behind(block)
        is_free = sheet.is_plain and not taken
        if len(self._inner.items) < 2 and is_free:
            return
        ways = self._on_free_film(sheet) if is_free else self._on_any_film(sheet, taken)
        for layout, engine in ways:
            if engine != STRIP or layout.length_mm <= usable_size(sheet)[0]:
                yield self._table.composed(block, self._inner, layout, engine)

    def _behind(self, block: Layout) -> tuple[Sheet, tuple[Placement, ...]]:
        """Return the film beside or behind the blanks, and what lies on it already."""
        sheet, pinned = self._table.sheet, self._table.options.pinned
        if not block.placements:
            return sheet, pinned
        if not self._table.is_odd:
            lead = sheet.start_mm + block.length_mm + self._table.options.gap_mm
            return replace(sheet, lead_mm=lead), ()
        # Pieces may lie anywhere but in the lanes of the cuts that free the blanks.
        taken = (*pinned, *block.placements)
        options = self._table.options
        is_staged = options.stages is not None
        lanes = lanes_around(taken, sheet, options.gap_mm, is_staged=is_staged)
        return replace(sheet, blocked=(*sheet.blocked, *lanes)), taken

    def _on_free_film(self, sheet: Sheet) -> Iterator[tuple[Layout, str]]:
        """Shuffle quick layouts, then let the strip solver search."""
        table, items = self._table, self._inner.items
        seconds, gap = table.options.seconds, table.options.gap_mm
        until = table.spent + (seconds - table.spent) * _SHUFFLE_SHARE
        has_left = False
        for layout in shuffled_layouts(items, sheet, gap, _SHUFFLES):
            if not table.has_time(until):
                break
            has_left = bool(layout.left)
            yield layout, QUICK
        length, width = usable_size(sheet)
        may_fit = sum(i.polygon.area for i in items) <= length * width * _DENSEST
        # Where not even shuffling laid all on a fixed sheet, half the time goes into filling.
        strip_end = seconds if not has_left else (seconds + table.spent) / 2
        if len(items) > _MANY:
            yield from self._in_parts(sheet, strip_end)
        elif may_fit and table.has_time(strip_end):
            for placed in strip_layouts(
                items,
                sheet,
                gap,
                strip_end - table.spent,
                table.options.is_cancelled,
                table.options.seed,
            ):
                yield _layout_of(placed, sheet, items), STRIP
        if has_left and math.isfinite(length):
            yield from self._on_any_film(sheet, ())

    def _in_parts(self, sheet: Sheet, until: float) -> Iterator[tuple[Layout, str]]:
        """Let the strip solver search a large job part by part, laid one behind the other.

        On 300 pieces at once it finds no more in a minute; parts are there from early on.
        """
        table, gap = self._table, self._table.options.gap_mm
        ranked = sorted(self._inner.items, key=lambda i: -i.polygon.area)
        count = math.ceil(len(ranked) / _PART)
        done: list[Placement] = []
        behind = sheet
        for k in range(count):
            if not table.has_time(until):
                return
            part = ranked[k::count]
            laid = quick_layout(part, behind, gap).placements
            seconds = (until - table.spent) / (count - k)
            for placed in strip_layouts(
                part, behind, gap, seconds, table.options.is_cancelled, table.options.seed
            ):
                laid = placed
            done += laid
            reach = max((p.polygon.bounds[2] for p in done), default=sheet.start_mm)
            behind = replace(sheet, lead_mm=reach + gap)
            to_come = [i for j in range(k + 1, count) for i in ranked[j::count]]
            rest = quick_layout(to_come, behind, gap)
            yield _layout_of((*done, *rest.placements), sheet, ranked), STRIP

    def _on_any_film(
        self, sheet: Sheet, taken: tuple[Placement, ...]
    ) -> Iterator[tuple[Layout, str]]:
        """Fill in shuffled orders; the polygon solver has half the time where there is one."""
        table, items = self._table, self._inner.items
        options = table.options
        until = options.seconds
        if has_packing() and sheet.length_mm is not None:
            half = (options.seconds - table.spent) / 2
            for layout in packing_layouts(
                items, sheet, options.gap_mm, taken, half, options.is_cancelled
            ):
                yield layout, PACKING
        for layout in fill_layouts(items, sheet, options.gap_mm, taken, options.seed):
            yield layout, FILL
            if not table.has_time(until):
                return


def _nothing() -> Layout:
    return Layout((), (), 0.0)


def _layout_of(placed: tuple[Placement, ...], sheet: Sheet, items: Sequence[Item]) -> Layout:
    """Return an answer as a layout; one of a solver that was ended may be half done."""
    reach = max((p.polygon.bounds[2] for p in placed), default=sheet.start_mm)
    laid = {p.item.key for p in placed}
    left = tuple(i for i in items if i.key not in laid)
    return Layout(placed, left, reach - sheet.start_mm)

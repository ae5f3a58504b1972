"""Blanks laid so that straight cuts from edge to edge free each of them.

Own search. Blanks (or blocks of them) whose sides match are joined into blocks; what is left
is laid in sections across the roll: the longest block gives a section its length, the rest of
the section is filled by what fits best, and so on in what that leaves. Then some sections are
broken up and built again, over and over, and what is shorter is kept. Joining by matching sides
finds a layout without waste again where there is one; filling makes the best of the others.

All is in the frame of the usable film: x along the roll, y across.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from core.roll.blank_blocks import (
    HAIR_MM,
    Blank,
    Block,
    Laid,
    along,
    blanks_of,
    unfolded,
)
from core.roll.blank_joining import Joining
from core.roll.blank_stock import Stock

__all__ = ["Blank", "Laid", "guillotine_layouts", "least_length", "length_of"]

_BUILDS = 12
"""How many layouts are built from nothing before sections of the best are built again."""
_LIMITS = (0.0, 0.0, 0.01, 0.03, 0.06, 0.1, 0.2)
"""Share of waste up to which two blocks are joined; one is drawn for each build."""
_NOISES = (0.2, 0.6, 1.2)
_FRESH_SHARE = 0.3
"""How often a layout is built from nothing later on: it may find a joint missed before."""
_COLUMN_SHARE = 0.4
"""How often sections are filled by columns, where any number of stages is allowed."""
_SLIT_FIRST = 0.25
"""How often what a block leaves of its room is parted across before it is parted along."""
_TOLERATED = 0.004
"""A new layout may be this much longer than the one before and still be gone on from."""


@dataclass(slots=True)
class _Section:
    """A stretch of the roll over its whole width, with the blocks that lie in it."""

    length: float
    blocks: list[tuple[Block, bool, float, float]] = field(default_factory=list)

    @property
    def area(self) -> float:
        """Area of its blocks, without the waste in them."""
        return sum(b.length * b.width - b.waste for b, _, _, _ in self.blocks)


def least_length(blanks: Sequence[Blank], width_mm: float) -> float:
    """Return a length that no layout of the blanks can beat.

    It is the greatest of their area over the width, the longest blank, and the blanks that are
    too wide to lie side by side laid one behind the other.
    """
    area = sum(b.length_mm * b.width_mm for b in blanks)
    longest = alone = 0.0
    for b in blanks:
        ways = [
            (length, width) for length, width, _ in _ways_of(b) if width <= width_mm + HAIR_MM
        ]
        if not ways:
            continue
        least = min(length for length, _ in ways)
        longest = max(longest, least)
        if min(width for _, width in ways) > width_mm / 2 + HAIR_MM:
            alone += least
    return max(area / width_mm if width_mm > 0 else 0.0, longest, alone)


def guillotine_layouts(
    blanks: Sequence[Blank],
    width_mm: float,
    stages: int | None = None,
    seed: int = 1,
    length_mm: float = math.inf,
) -> Iterator[tuple[Laid, ...]]:
    """Yield shorter and shorter layouts of the blanks; an empty tuple means: none yet.

    It goes on until the least length is reached, or the caller walks away. The first layout
    comes at once.

    Args:
        blanks: none wider than the film at all its turns.
        width_mm: of the usable film.
        length_mm: of the usable film; where it does not hold all, what wastes most is left out.
        stages: None for any number of turns of the cuts' direction, else three.
        seed: the same blanks and seed give the same layouts in the same number of steps.
    """
    if not blanks:
        return
    search = _Search(blanks, width_mm, stages, seed)
    bound = least_length(blanks, width_mm)
    best = np.inf
    while True:
        length = search.step()
        if length < best - HAIR_MM:
            best = length
            yield search.laid(length_mm)
        else:
            yield ()
        if best <= bound + HAIR_MM:
            return


def length_of(laid: Sequence[Laid], blanks: Sequence[Blank]) -> float:
    """Return how far a layout reaches."""
    sides = ((s, blanks[s.blank]) for s in laid)
    return max(
        (s.x_mm + (b.width_mm if s.is_turned else b.length_mm) for s, b in sides), default=0.0
    )


def _ways_of(blank: Blank) -> list[tuple[float, float, bool]]:
    ways = [(blank.length_mm, blank.width_mm, False)]
    if blank.may_turn and blank.length_mm != blank.width_mm:
        ways.append((blank.width_mm, blank.length_mm, True))
    return ways


class _Search:
    """The layouts found so far, and the way to the next."""

    def __init__(
        self, blanks: Sequence[Blank], width_mm: float, stages: int | None, seed: int
    ) -> None:
        self._width, self._is_staged = width_mm, stages is not None
        self._chance = np.random.default_rng(seed)
        self._blanks = [
            Block(b.length_mm, b.width_mm, b.may_turn, (i,)) for i, b in enumerate(blanks)
        ]
        self._steps = 0
        self._now: list[_Section] = []
        self._best: list[_Section] = []
        self._best_length = np.inf

    def step(self) -> float:
        """Build once, and return the length of what was built."""
        self._steps += 1
        if self._steps <= _BUILDS:
            found = self._build(self._blanks, 0.0 if self._steps == 1 else None)
            if self._steps == 1 or _length(found) < _length(self._now):
                self._now = found
        elif self._chance.random() < _FRESH_SHARE:
            found = self._build(self._blanks, 0.0)
            if _length(found) < _length(self._now):
                self._now = found
        else:
            self._now = self._rebuilt(self._now)
        length = _length(self._now)
        if length < self._best_length - HAIR_MM:
            self._best, self._best_length = self._now, length
        elif length > self._best_length * (1 + 4 * _TOLERATED):
            self._now = self._best
        return length

    def laid(self, length_mm: float) -> tuple[Laid, ...]:
        """Return the best layout, or of it what goes on a film of that length."""
        found: list[Laid] = []
        x = 0.0
        out: list[Block] = []
        for section in sorted(self._best, key=lambda s: -s.area / s.length):
            if x + section.length > length_mm + HAIR_MM:
                out += [b for block, _, _, _ in section.blocks for b in blanks_of(block)]
                continue
            for block, is_turned, dx, dy in section.blocks:
                found += unfolded(block, x + dx, dy, is_turned=is_turned)
            x += section.length
        if out:
            rest = _Section(length_mm - x)
            stock = Stock(out, self._width, self._chance, 0.0)
            if self._is_staged:
                self._put_columns(stock, rest, None)
            else:
                self._put(stock, rest, None, (0.0, 0.0, rest.length, self._width))
            for block, is_turned, dx, dy in rest.blocks:
                found += unfolded(block, x + dx, dy, is_turned=is_turned)
        return tuple(found)

    def _rebuilt(self, sections: list[_Section]) -> list[_Section]:
        """Return the layout with a few sections, wasteful ones for choice, built again."""
        chance = self._chance
        waste = np.array([s.length * self._width - s.area for s in sections]) + HAIR_MM
        count = min(len(sections), int(chance.integers(1, 5)))
        chosen = chance.choice(len(sections), count, replace=False, p=waste / waste.sum())
        out = {int(i) for i in chosen}
        blocks: list[Block] = []
        is_whole = chance.random() < 0.5
        for i in sorted(out):
            for block, _, _, _ in sections[i].blocks:
                if is_whole and block.waste <= HAIR_MM:
                    blocks.append(block)
                else:
                    blocks += self._broken(block)
        new = self._build(blocks, None)
        old_length = sum(sections[i].length for i in out)
        total = _length(sections)
        tolerated = total * _TOLERATED * chance.random() ** 3
        if _length(new) > old_length + tolerated:
            return sections
        return [*(s for i, s in enumerate(sections) if i not in out), *new]

    def _broken(self, block: Block) -> list[Block]:
        """Return a block's parts without waste, or all its blanks."""
        if not block.parts:
            return [block]
        if block.waste <= HAIR_MM and self._chance.random() < 0.5:
            return [block]
        return [b for part, _ in block.parts for b in self._broken(part)]

    def _build(self, blocks: Sequence[Block], limit: float | None) -> list[_Section]:
        chance = self._chance
        share = float(chance.choice(_LIMITS)) if limit is None else limit
        noise = float(chance.choice(_NOISES))
        joined = Joining(blocks, self._width, chance, noise, is_staged=self._is_staged)
        return self._fill(joined.run(share), noise)

    def _fill(self, blocks: list[Block], noise: float) -> list[_Section]:
        """Lay blocks in sections, the longest first, filling up each section by what fits."""
        stock = Stock(blocks, self._width, self._chance, noise)
        in_columns = self._is_staged or self._chance.random() < _COLUMN_SHARE
        sections = []
        while stock.is_left.any():
            k = stock.longest()
            section = _Section(float(stock.length[k]))
            if in_columns:
                section.length = stock.section_length(k)
                self._put_columns(stock, section, k)
            else:
                self._put(stock, section, k, (0.0, 0.0, section.length, self._width))
            section.length = max(x + along(b, is_turned=t) for b, t, x, _ in section.blocks)
            sections.append(section)
        return sections

    def _put_columns(self, stock: "Stock", section: _Section, k: int | None) -> None:
        """Fill a section by columns, stacks along the roll; the first begins with ``k``."""
        y = 0.0
        column = stock.column(section.length, self._width, k)
        while column:
            x = 0.0
            for way in column:
                stock.take(way)
                section.blocks.append((stock.block(way), bool(stock.turned[way]), x, y))
                x += float(stock.length[way])
            y += max(float(stock.width[way]) for way in column)
            column = stock.column(section.length, self._width - y, None)

    def _put(
        self,
        stock: "Stock",
        section: _Section,
        k: int | None,
        room: tuple[float, float, float, float],
    ) -> None:
        """Lay way ``k``, or what fits best, in a room, and fill what that leaves of it."""
        rooms = [room]
        first = k
        while rooms:
            x, y, length, width = rooms.pop()
            way = first if first is not None else stock.best(length, width)
            first = None
            if way is None:
                continue
            stock.take(way)
            used_l, used_w = float(stock.length[way]), float(stock.width[way])
            section.blocks.append((stock.block(way), bool(stock.turned[way]), x, y))
            if self._chance.random() < _SLIT_FIRST and (x, y) != (0.0, 0.0):
                rooms.append((x, y + used_w, used_l, width - used_w))
                rooms.append((x + used_l, y, length - used_l, width))
            else:
                rooms.append((x, y + used_w, length, width - used_w))
                rooms.append((x + used_l, y, length - used_l, used_w))


def _length(sections: Sequence[_Section]) -> float:
    return sum(s.length for s in sections)

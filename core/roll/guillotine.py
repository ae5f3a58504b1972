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

import numpy as np

from core.roll.blank_blocks import (
    HAIR_MM,
    Blank,
    Block,
    Laid,
    blanks_of,
    unfolded,
)
from core.roll.blank_joining import Joining
from core.roll.blank_sections import Section, SectionFiller, length_of_sections
from core.roll.blank_stock import Stock

__all__ = ["Blank", "Laid", "guillotine_layouts", "least_length", "length_of"]

_FIRST_STEPS = 12
"""The first layout is the best of so many at most."""
_FIRST_EFFORT = 120
"""So many blanks are laid for it at most, but twice all, as it must come at once."""
_FIRST_COLUMNS = 3
"""Until this step it is laid in columns, but for the first one, of joined blocks."""
_BUILDS = 12
"""How many layouts are built from nothing before sections of the best are built again."""
_LIMITS = (0.0, 0.0, 0.01, 0.03, 0.06, 0.1, 0.2)
"""Share of waste up to which two blocks are joined; one is drawn for each build."""
_NOISES = (0.2, 0.6, 1.2)
_COLUMN_SHARE = 0.25
"""How often sections are filled by columns, where any number of stages is allowed."""
_COLUMN_NOISES = (0.02, 0.1, 0.2, 0.4)
_FRESH_SHARE = 0.4
"""How often a layout is built from nothing later on: it may find a joint missed before."""
_TOLERATED = 0.004
"""A new layout may be this much longer than the one before and still be gone on from."""


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
        if best == np.inf:
            for _ in range(min(_FIRST_STEPS, max(2, _FIRST_EFFORT // len(blanks))) - 1):
                length = min(length, search.step() if length > bound + HAIR_MM else length)
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
        self._filler = SectionFiller(self._chance)
        self._steps = 0
        self._now: list[Section] = []
        self._best: list[Section] = []
        self._best_length = np.inf

    def step(self) -> float:
        """Build once, and return the length of what was built."""
        self._steps += 1
        if self._steps <= _BUILDS:
            limit = 0.0 if self._steps == 1 else None
            in_columns = 1 < self._steps <= _FIRST_COLUMNS or None
            found = self._build(self._blanks, limit, in_columns=in_columns)
            if self._steps == 1 or length_of_sections(found) < length_of_sections(self._now):
                self._now = found
        elif self._chance.random() < _FRESH_SHARE:
            found = self._build(self._blanks, 0.0)
            if length_of_sections(found) < length_of_sections(self._now):
                self._now = found
        else:
            self._now = self._rebuilt(self._now)
        length = length_of_sections(self._now)
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
            stock = Stock(out, self._width, self._chance, 0.0)
            rest = self._filler.fill_whole(
                stock, length_mm - x, self._width, in_columns=self._is_staged
            )
            for block, is_turned, dx, dy in rest.blocks:
                found += unfolded(block, x + dx, dy, is_turned=is_turned)
        return tuple(found)

    def _rebuilt(self, sections: list[Section]) -> list[Section]:
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
        total = length_of_sections(sections)
        tolerated = total * _TOLERATED * chance.random() ** 3
        if length_of_sections(new) > old_length + tolerated:
            return sections
        return [*(s for i, s in enumerate(sections) if i not in out), *new]

    def _broken(self, block: Block) -> list[Block]:
        """Return a block's parts without waste, or all its blanks."""
        if not block.parts:
            return [block]
        if block.waste <= HAIR_MM and self._chance.random() < 0.5:
            return [block]
        return [b for part, _ in block.parts for b in self._broken(part)]

    def _build(
        self, blocks: Sequence[Block], limit: float | None, *, in_columns: bool | None = None
    ) -> list[Section]:
        """Lay blocks: joined up to a share of waste, or in columns; None is up to chance."""
        chance = self._chance
        if in_columns is None:
            in_columns = limit is None and chance.random() < _COLUMN_SHARE
        if self._is_staged or in_columns:
            # Joined blocks are as long as columns then, and a section as the longest: too long.
            single = [b for block in blocks for b in blanks_of(block)]
            stock = Stock(single, self._width, chance, float(chance.choice(_COLUMN_NOISES)))
            return self._filler.fill(stock, math.inf, self._width, in_columns=True)
        share = float(chance.choice(_LIMITS)) if limit is None else limit
        noise = float(chance.choice(_NOISES))
        joined = Joining(blocks, self._width, chance, noise)
        stock = Stock(joined.run(share), self._width, chance, noise)
        return self._filler.fill(stock, math.inf, self._width, in_columns=False)

"""Blocks waiting to be laid, and which of them fits a room or a column best."""

import numpy as np
from numpy.typing import NDArray

from core.roll.blank_blocks import HAIR_MM, Block, block_ways
from core.roll.blank_columns import Stacks, Ways, unit_of

Floats = NDArray[np.float64]

_STACK_SHARE = 0.3
"""How often a section of columns is as long as a stack of two."""
_PAIR_SHARE = 0.2
"""How often it is as long as a stack of two others, should that be a little longer."""
_PAIR_REACH = 1.3
_ANY_WAY_SHARE = 0.5
"""How often a section begins any way, where it may."""


class Stock:
    """Blocks waiting to be laid, each in the ways it may lie."""

    def __init__(
        self,
        blocks: list[Block],
        width: float,
        chance: np.random.Generator,
        noise: float,
    ) -> None:
        self._blocks = blocks
        ways = [
            (k, length, across, turned)
            for k, b in enumerate(blocks)
            for length, across, turned in block_ways(b)
            if across <= width + HAIR_MM
        ]
        self.owner = np.array([w[0] for w in ways], dtype=np.int64)
        self.length = np.array([w[1] for w in ways])
        self.width = np.array([w[2] for w in ways])
        self.turned = np.array([w[3] for w in ways], dtype=bool)
        self.is_left = np.ones(len(ways), dtype=bool)
        self._area = self.length * self.width
        self._spread = np.exp(chance.normal(0.0, noise * 0.3, len(ways)))
        # Of the ways of one block the one that a section is begun with is drawn by chance.
        is_flat = chance.random() < 0.5
        self._by_length = chance.random() < 0.5
        self._first = np.where(is_flat, -self.length, self.length) * self._spread
        self._chance = chance
        self._ways = Ways(self.owner, self.length, self.width, self._area)
        self._unit_mm = unit_of(self.length)

    def block(self, way: int) -> Block:
        """Return the block that lies so."""
        return self._blocks[int(self.owner[way])]

    def left(self) -> list[Block]:
        """Return the blocks that were not taken, those too wide for the film included."""
        taken = set(self.owner[~self.is_left].tolist())
        return [b for k, b in enumerate(self._blocks) if k not in taken]

    def area_left(self) -> float:
        """Return the area of the blocks that were not taken."""
        return sum(b.length * b.width for b in self.left())

    def lead(self, length: float, width: float, *, is_any_way: bool = False) -> int | None:
        """Return the way to begin a section of a room with: of the block hardest to lay.

        Args:
            length: of the room.
            width: of the room.
            is_any_way: whether it may well begin the other way than the sections before.

        Returns:
            None where nothing fits the room.
        """
        fits = self._fits(length, width)
        if not fits.any():
            return None
        least = np.where(fits, np.minimum(self.length, self.width), -1.0)
        sides = self.length if self._by_length else np.maximum(self.length, self.width)
        most = np.where(fits, sides * self._spread, -1.0)
        owner = self.owner[int(np.argmax(most + 1e-3 * least))]
        ways = np.flatnonzero((self.owner == owner) & fits)
        if is_any_way and self._chance.random() < _ANY_WAY_SHARE:
            return int(self._chance.choice(ways))
        return int(ways[np.argmax(self._first[ways])])

    def _fits(self, length: float, width: float) -> NDArray[np.bool_]:
        fits = self.is_left & (self.length <= length + HAIR_MM)
        fits &= self.width <= width + HAIR_MM
        return fits

    def best(self, length: float, width: float) -> int | None:
        """Return the way that fits a room best: a side that matches counts most, then area."""
        found = np.flatnonzero(self._fits(length, width))
        if not len(found):
            return None
        slack_l, slack_w = length - self.length[found], width - self.width[found]
        waste = np.minimum(slack_l / length, slack_w / width)
        score = (1.0 - waste) * (self._area[found] * self._spread[found]) ** 0.5
        score += (waste <= HAIR_MM / length) * length * 0.5
        return int(found[np.argmax(score)])

    def fit(self, lengths: Floats, widths: Floats) -> Floats:
        """Return how well each way fits each of some rooms: shape (rooms, ways), 0 for not."""
        slack_l = lengths[:, None] - self.length
        slack_w = widths[:, None] - self.width
        fits = self.is_left & (slack_l >= -HAIR_MM) & (slack_w >= -HAIR_MM)
        waste = np.minimum(slack_l / lengths[:, None], slack_w / widths[:, None])
        score = (1.0 - waste) * (self._area * self._spread) ** 0.5
        found: Floats = np.where(fits, score, 0.0)
        return found

    def section_length(self, k: int, most: float) -> float:
        """Return how long a section that begins with ``k`` is: as it, or as a stack of two.

        The stack may hold it, or be a little longer than it.
        """
        own = float(self.length[k])
        others = np.flatnonzero(self.is_left & (self.owner != self.owner[k]))
        drawn = float(self._chance.random())
        if drawn > _STACK_SHARE + _PAIR_SHARE or not len(others):
            return own
        one = float(self.length[int(self._chance.choice(others))])
        if drawn < _STACK_SHARE:
            return own + one if own + one <= most else own
        pairs = self.length[others] + one
        pairs = pairs[(pairs > own) & (pairs <= min(most, _PAIR_REACH * own))]
        return float(self._chance.choice(pairs)) if len(pairs) else own

    def column(self, length: float, width: float, lead: int | None) -> list[int]:
        """Return ways stacked along the roll that fill a column of a section well, or none."""
        fits = self._fits(length, width)
        if lead is not None:
            rest = length - float(self.length[lead])
            fits &= (self.owner != self.owner[lead]) & (self.length <= rest + HAIR_MM)
            fits &= self.width <= self.width[lead] + HAIR_MM
            stacks = Stacks(self._ways, np.flatnonzero(fits), rest, self._unit_mm)
            return [lead, *stacks.stack(len(stacks.width) - 1)]
        stacks = Stacks(self._ways, np.flatnonzero(fits), length, self._unit_mm)
        at = stacks.chosen(width, length, self._spread)
        return [] if at is None else stacks.stack(at)

    def take(self, way: int) -> None:
        """Take a block, in all its ways."""
        self.is_left[self.owner == self.owner[way]] = False

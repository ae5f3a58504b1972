"""Blocks waiting to be laid, and which of them fits a room or a column best."""

import numpy as np
from numpy.typing import NDArray

from core.roll.blank_blocks import HAIR_MM, Block, block_ways

Floats = NDArray[np.float64]

_STACK_SHARE = 0.3
"""How often a section of columns is as long as a stack of two."""
_LEADS = 12
"""So many blocks are tried as the first of a column."""


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
        self._plain = self.length.tolist(), self.width.tolist(), self.owner.tolist()

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

    def lead(self, length: float, width: float) -> int | None:
        """Return the way to begin a section of a room with: of the block hardest to lay.

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
        """Return how long a section that begins with ``k`` is: as it, or as a stack of two."""
        own = float(self.length[k])
        if self._chance.random() > _STACK_SHARE:
            return own
        others = np.flatnonzero(self.is_left & (self.owner != self.owner[k]))
        if not len(others):
            return own
        stacked = own + float(self.length[int(self._chance.choice(others))])
        return stacked if stacked <= most else own

    def column(self, length: float, width: float, lead: int | None) -> list[int]:
        """Return ways stacked along the roll that fill a column of a section best, or none."""
        found = np.flatnonzero(self._fits(length, width))
        if not len(found):
            return []
        ranked = found[np.argsort(-self.width[found] - 1e-3 * self.length[found])].tolist()
        narrowest = float(self.width[ranked[-1]])
        leads = [lead] if lead is not None else self._leads(found)
        best: tuple[float, list[int]] = (-1.0, [])
        for k in leads:
            ways, area = self._stacked(k, ranked, length)
            across = float(self.width[k])
            rest = width - across
            # What is too narrow for anything is lost with this column.
            lost = rest if rest < narrowest else 0.0
            share = area / (length * (across + lost)) * float(self._spread[k])
            if share > best[0]:
                best = share, ways
        return best[1]

    def _leads(self, found: NDArray[np.int64]) -> list[int]:
        """Return some ways to begin a column with, the large ones for choice."""
        weights = self._area[found] / self._area[found].sum()
        count = min(len(found), _LEADS)
        return [int(k) for k in self._chance.choice(found, count, replace=False, p=weights)]

    def _stacked(self, lead: int, ranked: list[int], length: float) -> tuple[list[int], float]:
        """Return a lead with what fits behind it in its width, and their area."""
        ways, owners = [lead], {int(self.owner[lead])}
        rest = length - float(self.length[lead])
        area = float(self._area[lead])
        widest = float(self.width[lead]) + HAIR_MM
        lengths, widths, who = self._plain
        for k in ranked:
            if lengths[k] <= rest + HAIR_MM and widths[k] <= widest and who[k] not in owners:
                ways.append(k)
                owners.add(who[k])
                rest -= lengths[k]
                area += lengths[k] * widths[k]
        return ways, area

    def take(self, way: int) -> None:
        """Take a block, in all its ways."""
        self.is_left[self.owner == self.owner[way]] = False

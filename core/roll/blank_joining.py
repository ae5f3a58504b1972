"""Blocks joined two by two, those that waste least first.

Where blanks were cut from one sheet, sides that match exactly show which lay side by side; the
joints with the fewest other matches come first, as they are least likely a coincidence.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.roll.blank_blocks import HAIR_MM, Block, joined

Floats = NDArray[np.float64]

_EXACT = 1e-9
"""A joint that wastes no more than this share of itself wastes nothing."""


class Joining:
    """Blocks joined two by two, those that waste least first."""

    def __init__(
        self,
        blocks: Sequence[Block],
        width: float,
        chance: np.random.Generator,
        noise: float,
    ) -> None:
        self._width = width
        count = len(blocks)
        self._blocks: list[Block | None] = list(blocks)
        self._length = np.array([v for b in blocks for v in (b.length, b.width)])
        self._across = np.array([v for b in blocks for v in (b.width, b.length)])
        self._turns = np.repeat([b.may_turn for b in blocks], 2)
        self._is_real = np.array([v for b in blocks for v in (True, b.may_turn)])
        self._noise = np.exp(chance.normal(0.0, noise, (2 * count, 2 * count)))
        # A joint along is a turned joint across when all may turn; else both are looked at.
        self._needs_along = not all(b.may_turn for b in blocks)
        rows = np.arange(2 * count)
        self._across_score = self._scores(rows, is_along=False)
        self._along_score = self._scores(rows, is_along=True) if self._needs_along else None

    def run(self, limit: float) -> list[Block]:
        """Join until every joint would waste more than the share given."""
        while True:
            scores = [s for s in (self._across_score, self._along_score) if s is not None]
            at = [int(np.argmin(s)) for s in scores]
            least = [float(s.flat[i]) for s, i in zip(scores, at, strict=True)]
            which = int(np.argmin(least))
            if not least[which] <= limit + _EXACT:
                return [b for b in self._blocks if b is not None]
            if least[which] <= _EXACT:
                sure = [self._surest(s) for s in scores]
                which = int(np.argmin([doubt for doubt, _ in sure]))
                at[which] = sure[which][1]
            a, b = divmod(at[which], len(self._length))
            self._join(a, b, is_along=scores[which] is self._along_score)

    def _surest(self, scores: Floats) -> tuple[float, int]:
        """Return the joint without waste that matches the fewest others, and that doubt."""
        a, b = np.nonzero(scores <= _EXACT)
        if not len(a):
            return np.inf, 0
        counts = np.bincount(np.concatenate((a, b)), minlength=len(scores))
        doubt = (counts[a] + counts[b]) * self._noise[a, b]
        k = int(np.argmin(doubt))
        return float(doubt[k]), int(a[k]) * len(scores) + int(b[k])

    def _scores(self, rows: NDArray[np.int64], *, is_along: bool) -> Floats:
        """Return the share of waste of joining each of some ways with every other."""
        la, lb = self._length[rows][:, None], self._length[None, :]
        wa, wb = self._across[rows][:, None], self._across[None, :]
        own, other = rows[:, None] // 2, np.arange(len(self._length))[None, :] // 2
        if is_along:
            length, across = la + lb, np.maximum(wa, wb)
            waste = np.where(wa < wb, (wb - wa) * la, (wa - wb) * lb)
        else:
            length, across = np.maximum(la, lb), wa + wb
            waste = np.where(la < lb, (lb - la) * wa, (la - lb) * wb)
        fits = across <= self._width + HAIR_MM
        turns = self._turns[rows][:, None] & self._turns[None, :]
        fits |= turns & (length <= self._width + HAIR_MM)
        is_real = self._is_real[rows][:, None] & self._is_real[None, :]
        share = waste / (length * across) * self._noise[rows]
        found: Floats = np.where(fits & is_real & (own != other), share, np.inf)
        return found

    def _join(self, a: int, b: int, *, is_along: bool) -> None:
        one, two = self._blocks[a // 2], self._blocks[b // 2]
        assert one is not None
        assert two is not None
        block = joined(one, two, (bool(a % 2), bool(b % 2)), is_along=is_along)
        keep, gone = a // 2 * 2, b // 2 * 2
        self._blocks[a // 2], self._blocks[b // 2] = block, None
        self._length[keep : keep + 2] = block.length, block.width
        self._across[keep : keep + 2] = block.width, block.length
        self._turns[keep : keep + 2] = block.may_turn
        self._is_real[keep : keep + 2] = True, block.may_turn
        self._is_real[gone : gone + 2] = False
        rows = np.array([keep, keep + 1])
        for scores, along in ((self._across_score, False), (self._along_score, True)):
            if scores is None:
                continue
            new = self._scores(rows, is_along=along)
            scores[rows], scores[:, rows] = new, new.T
            scores[gone : gone + 2] = scores[:, gone : gone + 2] = np.inf

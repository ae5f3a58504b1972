"""Columns of a section: stacks of blanks along the roll, chosen so that they fill it best.

For three stages of cuts a section of film is slit into columns, each column cross-cut into
blanks that are at most as wide. Own method: one run of a knapsack over blanks, the narrowest
first, gives the fullest stack for every width of a column at once; a second knapsack over those
widths tells which of them leave a width that others fill.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_UNITS_MM = (5.0, 1.0)
"""Lengths are counted in the coarsest of these that all blanks are whole numbers of."""
_FINEST = 300
"""Widths of a section are told apart in so many steps."""
_HAIR = 1e-6
_DENSE_WEIGHT = 0.1
"""What a column's own density counts, beside what is hoped for from the width it leaves."""


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways that blanks may lie, each an array.

    Attributes:
        owner: which blank it is; two ways of one cannot both be taken.
        length, width: along the roll and across.
        value: what it is worth to lay it so.
    """

    owner: Ints
    length: Floats
    width: Floats
    value: Floats


def unit_of(lengths: Floats) -> float:
    """Return what lengths are counted in."""
    for unit in _UNITS_MM:
        if bool((np.abs(lengths / unit - np.round(lengths / unit)) < _HAIR).all()):
            return unit
    return _UNITS_MM[-1]


class Stacks:
    """The fullest stack for each width of a column, of blanks that fit a section."""

    def __init__(self, ways: Ways, which: Ints, capacity_mm: float, unit_mm: float) -> None:
        """Fill stacks.

        Args:
            ways: all there are.
            which: those that may be stacked.
            capacity_mm: how long a stack may be.
            unit_mm: what lengths are counted in; parts of it are rounded up.
        """
        self._ways = ways
        self._which = which[np.argsort(ways.width[which], kind="stable")]
        self.width = ways.width[self._which]
        cells = int(np.floor(capacity_mm / unit_mm + _HAIR))
        lengths = ways.length[self._which]
        steps = np.ceil(lengths / unit_mm - _HAIR).astype(int)
        # Alone, one just as long as the section fits, whatever rounding makes of both.
        steps = np.where(lengths <= capacity_mm + _HAIR, np.minimum(steps, cells), steps)
        best = np.zeros(cells + 1)
        self._took = np.zeros((len(self._which), cells + 1), dtype=bool)
        self.value = np.zeros(len(self._which))
        self._steps = steps.tolist()
        values = ways.value[self._which].tolist()
        for i, (step, value) in enumerate(zip(self._steps, values, strict=True)):
            if step <= cells:
                with_it, without = best[: cells + 1 - step] + value, best[step:]
                np.greater(with_it, without, out=self._took[i, step:])
                np.maximum(with_it, without, out=without)
            self.value[i] = best[cells]

    def stack(self, at: int) -> list[int]:
        """Return the ways in the fullest stack that is no wider than one of the ways."""
        cell = self._took.shape[1] - 1
        found: list[int] = []
        owners: set[int] = set()
        for i in range(at, -1, -1):
            way = int(self._which[i])
            if self._took[i, cell]:
                cell -= self._steps[i]
                owner = int(self._ways.owner[way])
                if owner not in owners:  # both ways of one blank may have been taken
                    owners.add(owner)
                    found.append(way)
        return found

    def chosen(self, width: float, length: float, noise: Floats) -> int | None:
        """Return the place of the column that is cut next from a width, or None.

        Args:
            width: what is left across the section.
            length: of the section.
            noise: factors, one for each way.
        """
        is_worth = np.diff(self.value, prepend=0.0) > 0  # a wider one holds more
        at = np.flatnonzero(is_worth)
        if not len(at):  # none at all, or only ones that rounding makes too long
            return None
        hoped = self._hoped(at, width)
        left = np.floor((width - self.width[at]) / width * _FINEST + _HAIR).astype(int)
        whole = (self.value[at] + hoped[np.maximum(left, 0)]) / (length * width)
        dense = self.value[at] / (length * self.width[at])
        score = (whole + _DENSE_WEIGHT * dense) * noise[self._which[at]]
        return int(at[np.argmax(score)])

    def _hoped(self, at: Ints, width: float) -> Floats:
        """Return what other columns could be worth, for parts of a width."""
        steps = np.ceil(self.width[at] / width * _FINEST - _HAIR).astype(int).tolist()
        hoped = np.zeros(_FINEST + 1)
        for step, value in zip(steps, self.value[at].tolist(), strict=True):
            if step <= _FINEST:
                np.maximum(hoped[step:], hoped[: _FINEST + 1 - step] + value, out=hoped[step:])
        return hoped

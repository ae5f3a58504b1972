"""Which lines of a family to cut along: fewest pieces first, then the shortest seams.

Dynamic programming over positions. A wider piece never needs less than a narrower one within
it, so for each position it is enough to know how far a piece that starts there can reach.
"""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.shape.proposals.costs import StripCosts
from core.shape.proposals.families import Family

POSITIONS = 25
MOST_PIECES = 9
_NEAR_ENOUGH = 0.1
_BALANCED = 1.06
"""Once the least worst range is known, pieces may need this much more for shorter seams."""


@dataclass(frozen=True)
class Cuts:
    """Lines to cut along, and what they cost.

    Attributes:
        numbers: of the family's lines, rising.
        stripe: the numbers of a stripe's two edges, if there is one; not among ``numbers``.
        worst_pct: the worst range of any piece.
    """

    numbers: tuple[float, ...]
    worst_pct: float
    stripe: tuple[float, float] | None = None

    @property
    def all_numbers(self) -> tuple[float, ...]:
        """All lines that are cut along, rising."""
        return tuple(sorted((*self.numbers, *(self.stripe or ()))))


class Partition:
    """Cuts a panel by the lines of one family."""

    def __init__(self, costs: StripCosts, family: Family, limit_pct: float) -> None:
        self._costs, self._limit = costs, limit_pct
        self._at = np.linspace(family.low, family.high, POSITIONS + 2)
        for mark in family.marks:
            nearest = int(np.argmin(np.abs(self._at[1:-1] - mark))) + 1
            if self._at[nearest - 1] < mark < self._at[nearest + 1]:
                self._at[nearest] = mark
        self._known: dict[tuple[int, int], float] = {}
        self._at_least: dict[tuple[int, int], float] = {}
        self._last = POSITIONS + 1

    def coarse(self, at_most: int = MOST_PIECES) -> tuple[float, ...] | None:
        """Return the numbers of lines that make the fewest strips, from end to end.

        None where it takes more than so many strips, or no number is enough.
        """
        steps = self._greedy(self._limit, at_most)
        return tuple(float(self._at[i]) for i in steps) if steps else None

    def fewest(self) -> Cuts | None:
        """Return the fewest cuts with which every piece can lay; None where no number does."""
        steps = self._greedy(self._limit)
        if steps is None:
            return None
        count = len(steps) - 1
        best = self._balanced(count, self._worst(steps))
        return self._cuts(self._shortest(count, best * _BALANCED) or steps)

    def least_worst(self, count: int) -> Cuts:
        """Return the cuts into so many pieces whose worst range is least."""
        even = [round(i * self._last / count) for i in range(count + 1)]
        best = self._balanced(count, self._worst(even))
        steps = self._greedy(best * 1.001) or even
        return self._cuts(steps)

    def with_stripe(self, width: float) -> Cuts | None:
        """Return the fewest cuts besides the two edges of a stripe of a width.

        The stripe goes where the fewest other seams are left, as near to the middle as it can.
        """
        forward = self._frontiers()
        backward = self._frontiers(is_backward=True)
        middle = self._at.mean()
        found: list[tuple[int, float, float]] = []
        for centre in self._at[1:-1]:
            low, high = centre - width / 2, centre + width / 2
            if low <= self._at[0] or high >= self._at[-1]:
                continue
            before = next((m for m, t in enumerate(forward, 1) if t >= low), None)
            after = next((m for m, t in enumerate(backward, 1) if t <= high), None)
            if before is not None and after is not None:
                found.append((before + after, abs(centre - middle), float(centre)))
        for _, _, centre in sorted(found)[:3]:
            cuts = self._beside_stripe(centre - width / 2, centre + width / 2)
            if cuts is not None:
                return cuts
        return None

    def _beside_stripe(self, low: float, high: float) -> Cuts | None:
        stripe_pct = self._costs.range_between(low, high)
        if stripe_pct > self._limit:
            return None
        first, last = float(self._at[0]), float(self._at[-1])
        numbers: list[float] = []
        worst = stripe_pct
        for start, end in ((first, low), (high, last)):
            inner = self._side_cuts(start, end)
            if inner is None:
                return None
            stops = [start, *inner, end]
            worst = max(
                worst, *(self._costs.range_between(a, b) for a, b in itertools.pairwise(stops))
            )
            numbers += inner
        return Cuts(tuple(numbers), worst, (low, high))

    def _side_cuts(self, start: float, end: float) -> list[float] | None:
        """Return even cuts between two lines, as few as let the pieces lie."""
        for count in range(1, 4):
            stops = [float(t) for t in np.linspace(start, end, count + 1)]
            if all(
                self._costs.range_between(a, b) <= self._limit
                for a, b in itertools.pairwise(stops)
            ):
                return stops[1:-1]
        return None

    def _frontiers(self, *, is_backward: bool = False) -> list[float]:
        """Return how far one piece, two, three, ... can reach from one end."""
        result: list[float] = []
        place = self._last if is_backward else 0
        while 0 <= place <= self._last and len(result) < MOST_PIECES:
            onwards = self._reach_back(place) if is_backward else self._reach(place)
            if onwards == place:
                break
            place = onwards
            result.append(float(self._at[place]))
            if place in (0, self._last):
                break
        return result

    def _cost(self, i: int, j: int, enough: float = np.inf) -> float:
        """Return what a piece needs; where that is more than enough, at least so much."""
        found = self._known.get((i, j))
        if found is None:
            low, high = float(self._at[i]), float(self._at[j])
            found = self._costs.range_between(low, high, enough)
            if found <= enough:
                self._known[i, j] = found
            else:
                self._at_least[i, j] = found
        return found

    def _told(self, i: int, j: int, limit: float) -> bool | None:
        """Return whether a piece can lie, where wider and narrower ones tell; else None."""
        for (low, high), needed in self._known.items():
            if low <= i and high >= j and needed <= limit:
                return True
        for known in (self._known, self._at_least):
            for (low, high), needed in known.items():
                if low >= i and high <= j and needed > limit:
                    return False
        return None

    def _reach(self, start: int, limit: float | None = None) -> int:
        """Return the farthest position that a piece from a start can reach."""
        limit = self._limit if limit is None else limit
        far = self._farthest(lambda step: (start, start + step), self._last - start, limit)
        return start + far

    def _reach_back(self, end: int, limit: float | None = None) -> int:
        """Return the farthest position back that a piece which ends there can reach."""
        limit = self._limit if limit is None else limit
        return end - self._farthest(lambda step: (end - step, end), end, limit)

    def _farthest(
        self, piece: Callable[[int], tuple[int, int]], most: int, limit: float
    ) -> int:
        """Return how wide a piece can be.

        What a piece needs grows about as its width squared, which tells where to look next.
        """
        low, high = 0, most
        guess = max(1, (high + 1) // 3)
        while low < high:
            fits = self._told(*piece(guess), limit)
            wanted = (low + high + 1) / 2
            if fits is None:
                needed = self._cost(*piece(guess), limit)
                fits = needed <= limit
                wanted = guess * (limit / max(needed, 1e-6)) ** 0.5
            if fits:
                low = guess
            else:
                high = guess - 1
            guess = min(max(int(wanted), low + 1), high)
        return low

    def _greedy(self, limit: float, at_most: int = MOST_PIECES) -> list[int] | None:
        steps = [0]
        while steps[-1] < self._last:
            onwards = self._reach(steps[-1], limit)
            if onwards == steps[-1] or len(steps) > at_most:
                return None
            steps.append(onwards)
        return steps

    def _worst(self, steps: list[int]) -> float:
        return max(self._cost(i, j) for i, j in itertools.pairwise(steps))

    def _balanced(self, count: int, high: float) -> float:
        """Return about the least worst range that so many pieces can have."""
        low = 0.4 * high
        while high - low > _NEAR_ENOUGH * high:
            middle = (low + high) / 2
            steps = self._greedy(middle, count)
            if steps is None:
                low = middle
            else:
                high = min(middle, self._worst(steps))
        return high

    def _shortest(self, count: int, limit: float) -> list[int] | None:
        """Return the positions of so many pieces with the shortest seams."""
        best: dict[int, tuple[float, list[int]]] = {0: (0.0, [0])}
        must = self._must_reach(count, limit)
        for number in range(1, count + 1):
            onwards: dict[int, tuple[float, list[int]]] = {}
            for i, (length, steps) in best.items():
                for j in range(max(i + 1, must[number]), self._reach(i, limit) + 1):
                    total = length + self._seam_mm(j)
                    if j not in onwards or total < onwards[j][0] - 1e-6:
                        onwards[j] = (total, [*steps, j])
            best = onwards
        done = best.get(self._last)
        return done[1] if done else None

    def _seam_mm(self, j: int) -> float:
        return self._costs.seam_mm(float(self._at[j])) if 0 < j < self._last else 0.0

    def _must_reach(self, count: int, limit: float) -> list[int]:
        """Return where so many pieces must have come to, so that the rest can do the rest."""
        result = [self._last]
        for _ in range(count):
            result.append(self._reach_back(result[-1], limit))
        return result[::-1]

    def _cuts(self, steps: list[int]) -> Cuts:
        return Cuts(tuple(float(self._at[i]) for i in steps[1:-1]), self._worst(steps))

"""Offsets that jump out of their line: questions, not doubts, since rims may run anywhere.

Lengths hardly tell how far out a mark lies: 15 mm sideways over 125 mm lengthen a way by less
than one. So a line's own run is asked. A line is taken to be as it was read where it is even,
an arc, or runs like the other rim or like its neighbour, however round or tapered that is. Only
where none of it holds, and all of it falls into place without one reading, that one is asked
for.

Source: own derivation; least squares with each reading left out in turn. How it does on
simulated outlines: tests/core/shape/test_odd_offsets.py.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from core.document.surface import MeasuredSurface, ReadingKind, ReadingPlace, place_name
from core.shape.readings import READING_MM, Doubt, Grid, Values

_LEAST_STATIONS = 5
_LEAST_MM = 8.0
"""Nothing less is asked for."""
_MARKED = 1.25
"""Errors of marks beside those of reading, as a factor."""
_SURE = 4.0
"""An offset must lie so many standard errors from where the others have it."""
_FITS = 6.0
"""The others fit when their squared misfit is no more, per degree of freedom that is left, plus
what is usual."""
_GAIN = 9.0
"""So much must the squared misfit fall when one reading is left out."""
_AS_LIKELY = 4.0
_ALIKE = 1.6
"""Lines that run alike do so in proportion to how far out they lie, within such a factor."""


@dataclass(frozen=True, slots=True)
class OddOffset:
    """An offset that jumps out of its line.

    Attributes:
        places: it, and others of its line that may be it as well.
        off_mm: by how much it lies further out than the others have it.
    """

    places: tuple[ReadingPlace, ...]
    off_mm: float

    def question(self, surface: MeasuredSurface) -> Doubt:
        """Return in words what to look at again."""
        way = "further out" if self.off_mm > 0 else "further in"
        first, *others = self.places
        what = (
            f"One mark lies about {abs(self.off_mm):.0f} mm {way} than its line runs elsewhere:"
            f" {place_name(first, surface)}."
        )
        mend = "Look at it again; if the part is like that, leave it."
        if others:
            names = "; ".join(place_name(place, surface) for place in others)
            mend = f"Look at it again, or at: {names}. If the part is like that, leave them."
        return Doubt(what, mend, first, tuple(others), is_question=True)


def odd_offsets(grid: Grid) -> tuple[OddOffset, ...]:
    """Return the offsets that jump out of their line, one at most for each line."""
    if len(grid.offsets) < _LEAST_STATIONS:
        return ()
    lines = [line for line in range(grid.offsets.shape[1]) if line != grid.spine]
    found = [odd for line in lines if (odd := _odd_on(grid, line))]
    return tuple(sorted(found, key=lambda odd: -abs(odd.off_mm)))


def _odd_on(grid: Grid, line: int) -> OddOffset | None:
    out = np.abs(grid.offsets)
    # Repeats read the same marks: they do not show how well those lie on their line.
    error = _MARKED * max(grid.error_mm, READING_MM)
    read, last = out[:, line], out.shape[1] - 1
    along = grid.along / grid.along[-1]
    even = np.column_stack([np.ones_like(along), along])
    like = [out[:, last - line]]
    if last == 4:
        like.append(out[:, {0: 1, 1: 0, 3: 4, 4: 3}[line]])
    whole = min(
        _squares(np.column_stack([even, along**2]), read, error),
        *(_squares_beside(even, other, read, error) for other in like),
    )
    tried = list(_left_out(even, like, read, error, whole))
    if not tried:
        return None
    best = min(tried)
    near = sorted((left, i) for left, i, _ in tried if left < best[0] + _AS_LIKELY)
    stations = list(dict.fromkeys(i for _, i in near))
    spots = tuple(ReadingPlace(ReadingKind.OFFSET, i, line) for i in stations[:3])
    return OddOffset(spots, best[2])


def _left_out(
    even: Values, like: list[Values], read: Values, error: float, whole: float
) -> Iterator[tuple[float, int, float]]:
    """Yield what is left without one station, its number, and how far off it lies."""
    arc = np.column_stack([even, even[:, 1] ** 2])
    for i in range(len(read)):
        kept = np.arange(len(read)) != i
        ways = [(even, read, error), (arc, read, error)]
        ways += [(even[:, :1], read - other, error * np.sqrt(2)) for other in like[:1]]
        for terms, values, size in ways:
            spare = int(kept.sum()) - terms.shape[1]
            left = _squares(terms[kept], values[kept], size)
            at, *_ = np.linalg.lstsq(terms[kept], values[kept], rcond=None)
            off = float(values[i] - terms[i] @ at)
            reach = terms[i] @ np.linalg.inv(terms[kept].T @ terms[kept]) @ terms[i]
            is_far = abs(off) > max(_LEAST_MM, _SURE * size * np.sqrt(1 + reach))
            if is_far and left < spare + _FITS and whole - left > _GAIN:
                yield left, i, off


def _squares(terms: Values, values: Values, error: float) -> float:
    """Return the squared misfit of the best fit, in squared errors."""
    at, *_ = np.linalg.lstsq(terms, values, rcond=None)
    return float((((values - terms @ at) / error) ** 2).sum())


def _squares_beside(even: Values, other: Values, values: Values, error: float) -> float:
    """Return the same where a line runs like another one, which was read as badly."""
    if _squares(even, other, error) < len(other) - 2 + _FITS:
        return float("inf")  # it is even, and explains nothing
    at, *_ = np.linalg.lstsq(np.column_stack([even, other]), values, rcond=None)
    ratio = float(values.mean() / other.mean())
    like = float(np.clip(at[2], ratio / _ALIKE, ratio * _ALIKE))
    return _squares(even, values - like * other, error * float(np.hypot(1, like)))

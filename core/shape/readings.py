"""What a tape's readings say before anything is fitted: means, errors, what does not fit.

A reading has two errors. One is its own. The other is shared by all lengths along a line: they
may be read off one tape laid once, which is a little off, slack or held askew there. It grows
with the length, and repeats do not lessen it. It is taken to be 0.7 of the own one, a third of
the variance.

Where readings were repeated their scatter is the own error; else both together are taken to be
2 mm. Repeats do not show how well marks were placed, so the own error is never less than half a
millimetre. (All of it own judgement; 2 mm is near the 1 to 2 mm that a workshop's tape is
commonly read to: common practice, no source.)
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    missing_places,
    place_name,
    places,
    reading_at,
)

Values = NDArray[np.float64]

READING_MM = 2.0
LEAST_MM = 0.5
SHARED = 0.7
"""How large the shared error of a reading is beside its own."""
_ENOUGH_REPEATS = 8
"""So many degrees of freedom before the scatter of repeats is believed."""
_TIMES = 3.0
"""Lengths between the same two stations that differ so many times are none of one part."""
_SLENDER = 25.0
"""So many times as long as wide, or wide as long, a grid says nothing of curvature."""
_APART = 4.0
"""Repeats further apart than this many errors are read again."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why nothing, or nothing sure, can be said, and what to measure again.

    Attributes:
        what: one sentence: what is wrong.
        mend: one sentence: what to do.
        place: where in the grid, where it is one place.
        others: further places that are about as likely.
        is_question: whether it is only worth a look, and what can be said is said.
    """

    what: str
    mend: str
    place: ReadingPlace | None = None
    others: tuple[ReadingPlace, ...] = ()
    is_question: bool = False

    def sentence(self) -> str:
        """Return both sentences."""
        return f"{self.what} {self.mend}"


@dataclass(frozen=True, eq=False)
class Grid:
    """A whole grid of readings as numbers.

    Attributes:
        offsets: shape (stations, lines): t of each line; left is positive, the spine 0.
        lengths: shape (stations - 1, lines): means.
        repeats: shape (stations - 1, lines): how often each length was read.
        own_mm: standard error of one reading that is its own.
        shared_mm: that which the readings of a line's lengths share.
    """

    offsets: Values
    lengths: Values
    repeats: Values
    own_mm: float
    shared_mm: float

    @property
    def error_mm(self) -> float:
        """Standard error of one reading, all in all."""
        return float(np.hypot(self.own_mm, self.shared_mm))

    @property
    def spine(self) -> int:
        """Number of the spine among the lines."""
        return int(self.offsets.shape[1]) // 2

    @property
    def along(self) -> Values:
        """Return s of each station."""
        return np.concatenate([[0.0], np.cumsum(self.lengths[:, self.spine])])


def grid_of(surface: MeasuredSurface) -> Grid:
    """Return the readings of a grid as numbers; it must have all of them."""
    spine = surface.lines // 2
    offsets = np.zeros((surface.stations, surface.lines))
    for i, row in enumerate(surface.offsets):
        means = [_mean(reading) for reading in row]
        offsets[i, :spine] = means[:spine]
        offsets[i, spine + 1 :] = [-v for v in means[spine:]]
    lengths = np.array([[_mean(r) for r in row] for row in surface.lengths])
    repeats = np.array([[float(len(r)) for r in row] for row in surface.lengths])
    own = own_error_mm(surface)
    return Grid(offsets, lengths, repeats, own, SHARED * own)


def _mean(reading: tuple[float, ...]) -> float:
    return sum(reading) / len(reading)


def own_error_mm(surface: MeasuredSurface) -> float:
    """Return the standard error that readings do not share, from repeats where enough are."""
    squares, freedom = 0.0, 0
    for place in places(surface):
        values = reading_at(surface, place)
        if len(values) > 1:
            mean = _mean(values)
            squares += sum((v - mean) ** 2 for v in values)
            freedom += len(values) - 1
    if freedom < _ENOUGH_REPEATS:
        return float(READING_MM / np.hypot(1.0, SHARED))
    return float(max(LEAST_MM, np.sqrt(squares / freedom)))


def doubts_before(surface: MeasuredSurface) -> tuple[Doubt, ...]:
    """Return why nothing can be fitted to the readings; empty when it can."""
    if not surface.stations:
        return (
            Doubt(
                "Length and width alone do not say how a part is curved: they only size the"
                " blank.",
                "Lay a grid of stations and lines over it.",
            ),
        )
    missing = missing_places(surface)
    if missing:
        more = f" and {len(missing) - 1} more" if len(missing) > 1 else ""
        return (
            Doubt(
                "The grid is not complete.",
                f"Measure {place_name(missing[0], surface)}{more}.",
                missing[0],
            ),
            *_apart(surface),
            *_crossed(surface),
        )
    grid = grid_of(surface)
    return (
        *_apart(surface),
        *_crossed(surface),
        *_too_short(surface, grid),
        *_unlikely(surface, grid),
    )


def _apart(surface: MeasuredSurface) -> Iterator[Doubt]:
    """Yield places whose repeats do not agree."""
    error = max(own_error_mm(surface), READING_MM)
    for place in places(surface):
        values = reading_at(surface, place)
        if values and max(values) - min(values) > _APART * error:
            yield Doubt(
                f"Two readings differ by {max(values) - min(values):.0f} mm:"
                f" {place_name(place, surface)}.",
                "Measure it again.",
                place,
            )


def _crossed(surface: MeasuredSurface) -> Iterator[Doubt]:
    """Yield stations whose lines do not follow each other outwards, among those measured."""
    spine = surface.lines // 2
    for i, readings in enumerate(surface.offsets):
        if not all(readings):
            continue
        means = [_mean(reading) for reading in readings]
        row = [*means[:spine], 0.0, *(-v for v in means[spine:])]
        for line in np.flatnonzero(np.diff(row) >= 0).tolist():
            place = ReadingPlace(ReadingKind.OFFSET, i, line if line < spine else line + 1)
            yield Doubt(
                f"The rim lies no further out than the shoulder: {place_name(place, surface)}.",
                "Measure it again.",
                place,
            )


def _too_short(surface: MeasuredSurface, grid: Grid) -> Iterator[Doubt]:
    """Yield lengths that are shorter than their line moves sideways."""
    sideways = np.abs(np.diff(grid.offsets, axis=0))
    for i, j in np.argwhere(grid.lengths <= sideways).tolist():
        place = ReadingPlace(ReadingKind.LENGTH, i, j)
        yield Doubt(
            f"Shorter than the line moves sideways there: {place_name(place, surface)}.",
            "Measure it and the offsets beside it again.",
            place,
        )


def _unlikely(surface: MeasuredSurface, grid: Grid) -> Iterator[Doubt]:
    """Yield lengths that are none of the same part, and grids that are next to lines."""
    spine = grid.lengths[:, grid.spine]
    odd = (grid.lengths > _TIMES * spine[:, None]) | (grid.lengths * _TIMES < spine[:, None])
    beside = odd.sum(axis=1) == odd.shape[1] - 1
    for i in np.flatnonzero(beside).tolist():
        # One wrong length is likelier than four that agree.
        place = ReadingPlace(ReadingKind.LENGTH, i, grid.spine)
        yield Doubt(
            f"All lines beside it are more than {_TIMES:.0f} times as long, or as short:"
            f" {place_name(place, surface)}.",
            "Measure it again.",
            place,
        )
    for i, j in np.argwhere(odd & ~beside[:, None]).tolist():
        place = ReadingPlace(ReadingKind.LENGTH, i, j)
        yield Doubt(
            f"More than {_TIMES:.0f} times as long, or as short, as the spine there:"
            f" {place_name(place, surface)}.",
            "Measure it again.",
            place,
        )
    widths = grid.offsets[:, 0] - grid.offsets[:, -1]
    if not 1 / _SLENDER < float(widths.max() / spine.sum()) < _SLENDER or (
        spine.max() > _SLENDER * spine.min() or widths.max() > _SLENDER * widths.min()
    ):
        yield Doubt(
            "The grid is next to a line, or its stations stand far too unevenly.",
            "Measure it again with stations and grid lines about evenly apart.",
        )

"""Whether stations lie straight, or were steered: what shows it, and what does not.

Lengths along the lines tell how a part is curved only if its stations lie straight. Stations
that were steered look like curvature that is not there, or hide what there is. Along a cone
whose stations were laid round its girth, with its marks evenly far from the spine, lines read
as they would on a saddle; with its marks on the cone's own straight lines, as on a dome. Round
the girth of a barrel, it reads as a plate. Nothing in offsets and lengths gives that away, so a
check is asked for: how far a tape, pulled tight from rim to rim, passes the station's mark on
the spine (nothing, if the station is straight), or the diagonals.

Diagonals alone do not always tell a cone from what it seems to be. So where they are all there
is, readings that fit a cone with stations round its girth are doubted as well.

Source: own derivation. A station that bends by k towards its neighbour and one that bends by
k' look like curvature of (k' - k) over the distance between them; a tight tape passes the spine
by k times half the product of both offsets. A cone is laid flat, where its girth is an arc.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    place_name,
    reading_at,
)
from core.shape.fermi import Fermi, Values
from core.shape.readings import Doubt, Grid
from core.shape.shortest import shortest, steps_between

_FAR_OFF = 3.0
"""So many times its error a check may be off."""
_MISREAD = 5.0
"""The same of a diagonal where a tight tape shows that stations lie straight: the fit is
smooth, and that alone makes some diagonals over shoulders a little short."""
_FITS = 2.0
"""Readings fit a cone when they miss it by no more than so many times their error."""
_TELLING = 12.0
"""A cone fits better than a cylinder when its sum of squared misfits is so much lower."""
_APEXES = 160
"""So many distances of the cone's tip from the first station are tried to either side."""
_TAKE_CARE = (
    "Lay each station again as a narrow strip, flat and not steered: pulled tight from rim to"
    " rim, a tape must run over its mark on the spine."
)
_TAKE_CHECKS = (
    "Pull a tape tight from rim to rim at the first and at the last station, and read how far"
    " it passes the mark on the spine: 0 if it runs over it."
)
_AT_ITS_ENDS = (
    "The other diagonal fits: measure this one again, and the offsets to the rims at its ends."
)
_BESIDE = (ReadingPlace(ReadingKind.FIRST_BESIDE), ReadingPlace(ReadingKind.LAST_BESIDE))
_CORNERS = {ReadingKind.TO_LEFT: (-1, 0), ReadingKind.TO_RIGHT: (0, -1)}
"""From which outermost line of the first station to which of the last."""


def steering_doubts(
    surface: MeasuredSurface, grid: Grid, fermi: Fermi, draws: Values
) -> tuple[Doubt, ...]:
    """Return why stations may not lie straight.

    Args:
        surface: a whole grid.
        grid: the same as numbers.
        fermi: the surface that its readings make.
        draws: coefficients of others that they allow.
    """
    diagonals = [
        found
        for kind in _CORNERS
        if (found := _diagonal(surface, grid, fermi, draws, ReadingPlace(kind)))
    ]
    has_tight_tape = all(reading_at(surface, place) for place in _BESIDE)
    far_off = _MISREAD if has_tight_tape else _FAR_OFF
    off = (*_beside(surface, grid), *_diagonals_off(surface, diagonals, far_off))
    if off or has_tight_tape:
        return off
    missing = next(place for place in _BESIDE if not reading_at(surface, place))
    if not diagonals:
        what = "Nothing shows yet that the stations lie straight, on which all of it rests."
        return (Doubt(what, f"{_TAKE_CHECKS} Or take both diagonals.", missing),)
    if _may_be_a_cone(grid, diagonals):
        what = (
            "It may be curved like that, or a cone whose stations were laid round its girth;"
            " the diagonals do not tell which."
        )
        return (Doubt(what, _TAKE_CHECKS, missing),)
    return ()


def _beside(surface: MeasuredSurface, grid: Grid) -> Iterator[Doubt]:
    """Doubt stations beside whose mark a tight tape passes."""
    for place in _BESIDE:
        values = reading_at(surface, place)
        if not values:
            continue
        # The reading's own error, and about as much for where its ends are marked.
        error = grid.error_mm * np.sqrt(1 / len(values) + 1)
        off = float(np.mean(values))
        if off > _FAR_OFF * error:
            last = place.kind is ReadingKind.LAST_BESIDE
            which = f"Station {surface.stations if last else 1}"
            what = f"{which} was steered: a tight tape passes its mark by {off:.0f} mm."
            yield Doubt(what, _TAKE_CARE, place)


@dataclass(frozen=True, slots=True)
class _Diagonal:
    """A diagonal as it was read and as it should be, mm.

    Attributes:
        ends: numbers of its lines at the first and the last station.
        scatter_mm: standard error of the difference.
    """

    place: ReadingPlace
    ends: tuple[int, int]
    read_mm: float
    reckoned_mm: float
    scatter_mm: float

    @property
    def off_mm(self) -> float:
        return self.read_mm - self.reckoned_mm


def _diagonal(
    surface: MeasuredSurface, grid: Grid, fermi: Fermi, draws: Values, place: ReadingPlace
) -> _Diagonal | None:
    values = reading_at(surface, place)
    if not values:
        return None
    ends = _CORNERS[place.kind]
    start = np.array([0.0, grid.offsets[0, ends[0]]])
    end = np.array([grid.along[-1], grid.offsets[-1, ends[1]]])
    path = shortest(fermi, start, end)
    reckoned = float(fermi.distances(path[:-1], path[1:]).sum())
    shape = float(np.std(steps_between(fermi.spread, draws, path).sum(axis=1)))
    # The reading's own error, and about as much for where its ends are marked.
    own = grid.error_mm * float(np.sqrt(1 / len(values) + 1))
    read = float(np.mean(values))
    return _Diagonal(place, ends, read, reckoned, float(np.hypot(shape, own)))


def _diagonals_off(
    surface: MeasuredSurface, taken: list[_Diagonal], far_off: float
) -> tuple[Doubt, ...]:
    """Doubt diagonals that are not as long as the fitted surface has them.

    Both are looked at together as well: stations that were steered move both alike, and a rim
    that is marked wrong at a corner moves one.
    """
    far = [d for d in taken if abs(d.off_mm) > far_off * d.scatter_mm]
    is_both = all(abs(d.off_mm) > far_off / 2 * d.scatter_mm for d in taken)
    if not far and len(taken) == 2:
        both = sum(d.off_mm for d in taken) / 2
        if abs(both) > far_off * np.hypot(taken[0].scatter_mm, taken[1].scatter_mm) / 2:
            far = taken[:1]
            is_both = True
    return tuple(
        Doubt(
            f"A diagonal is {abs(d.off_mm):.0f} mm {'longer' if d.off_mm > 0 else 'shorter'}"
            f" than the other readings make it: {place_name(d.place, surface)}.",
            _TAKE_CARE if is_both else _AT_ITS_ENDS,
            d.place,
            () if is_both else _ends(surface, d),
        )
        for d in far
    )


def _ends(surface: MeasuredSurface, diagonal: _Diagonal) -> tuple[ReadingPlace, ReadingPlace]:
    """Return the offsets that a diagonal ends at."""
    lines = [end % surface.lines for end in diagonal.ends]
    return (
        ReadingPlace(ReadingKind.OFFSET, 0, lines[0]),
        ReadingPlace(ReadingKind.OFFSET, surface.stations - 1, lines[1]),
    )


def _may_be_a_cone(grid: Grid, diagonals: list[_Diagonal]) -> bool:
    """Return whether all readings fit a cone with stations round its girth, and no plate."""
    reach = float(np.abs(grid.offsets).max())
    bends = np.linspace(0.0, 1.0, _APEXES + 1)[1:] * 3 / reach
    plate = float(_squared_misfits(grid, np.array([1e-9]))[0])
    tried = np.concatenate([bends, -bends])
    misfits = _squared_misfits(grid, tried)
    best, bend = float(misfits.min()), tried[[int(misfits.argmin())]]
    count = grid.lengths.size - len(grid.lengths)
    if plate - best < _TELLING or best > _FITS**2 * count:
        return False
    (marks,) = _on_cone(grid, bend)
    return all(
        abs(d.read_mm - abs(marks[-1, d.ends[1]] - marks[0, d.ends[0]]))
        < _FAR_OFF * d.scatter_mm
        for d in diagonals
    )


def _squared_misfits(grid: Grid, bends: Values) -> Values:
    """Return by how many squared errors lengths miss those on cones; infinite past their tip.

    Args:
        grid: the readings.
        bends: one over the signed distance of each tip from the first station.
    """
    marks = _on_cone(grid, bends)
    beside = np.arange(grid.offsets.shape[1]) != grid.spine
    off = (np.abs(np.diff(marks, axis=1)) - grid.lengths)[:, :, beside]
    variance = 1 / grid.repeats[:, beside] + 1 / grid.repeats[:, [grid.spine]]
    squares = (off**2 / variance).sum(axis=(1, 2)) / grid.error_mm**2
    return np.where(bends * (1 / bends + grid.along[-1]) > 0, squares, np.inf)


def _on_cone(grid: Grid, bends: Values) -> NDArray[np.complex128]:
    """Return the marks of a grid on cones laid flat, shape (cones, stations, lines)."""
    slant = (1 / bends[:, None] + grid.along)[:, :, None]
    return np.asarray(slant * np.exp(1j * grid.offsets / slant))

"""Surfaces of panels: what was measured over a part with a tape, or scanned.

A panel without a surface is flat. All lengths run over the surface, never through the air.

The tape's grid: a straight centre line, the spine, lies over the part; stations stand square to
it; lines run along it. Looking along the spine from its first station, lines are told from left
to right: rim, shoulder, spine, shoulder, rim; with three lines rim, spine, rim.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from core.document.path import Coord, Length, Name, Point, Positive
from core.document.photo import FileName

Reading = Annotated[tuple[Positive, ...], Meta(max_length=12)]
"""One length, mm, read once or more; empty while it is still to be measured."""

Beside = Annotated[tuple[Length, ...], Meta(max_length=12)]
"""The same for a length that should be nothing."""

Row = Annotated[tuple[Reading, ...], Meta(min_length=2, max_length=5)]

LEAST_STATIONS, MOST_STATIONS = 3, 9


class MeasuredSurface(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="tape"
):
    """What was measured over a part with a tape.

    The panel's map is drawn by the grid: x along the spine and y across it, both as measured
    over the part, turned by ``angle_deg`` and moved to ``origin``.

    Attributes:
        origin: where the spine crosses the first station, in the panel's map.
        angle_deg: direction of the spine there.
        offsets: a row for each station: how far each line but the spine lies from it.
        lengths: a row for each gap between two stations: the length along every line.
        to_left: from the right end of the first station to the left end of the last.
        to_right: the other diagonal.
        first_beside, last_beside: how far from the spine's mark a tape passes that is pulled
            tight from rim to rim at the first and at the last station; nothing at a station
            that lies straight.
        length, width: over the part; they size a blank where no grid was measured.
    """

    origin: Point = (0.0, 0.0)
    angle_deg: Coord = 0.0
    offsets: Annotated[tuple[Row, ...], Meta(max_length=MOST_STATIONS)] = ()
    lengths: Annotated[tuple[Row, ...], Meta(max_length=MOST_STATIONS - 1)] = ()
    to_left: Reading = ()
    to_right: Reading = ()
    first_beside: Beside = ()
    last_beside: Beside = ()
    length: Reading = ()
    width: Reading = ()

    @property
    def stations(self) -> int:
        """How many stations the grid has; 0 where only length and width were taken."""
        return len(self.offsets)

    @property
    def lines(self) -> int:
        """How many lines the grid has: 3 or 5, or 0."""
        return len(self.offsets[0]) + 1 if self.offsets else 0


class ScannedSurface(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="scan"):
    """A part of a scan, cut out to be covered.

    Attributes:
        file: name of its mesh in the job file's ``scans/``; named after its content, so that
            one name is one mesh.
        title: the name of the file that it was made from.
        origin, angle_deg: where the mesh's own flat map lies in the panel's.
        is_mirrored: whether that map is mirrored, in its own x, before it is laid there.
    """

    file: FileName
    title: Name = ""
    origin: Point = (0.0, 0.0)
    angle_deg: Coord = 0.0
    is_mirrored: bool = False


Surface = MeasuredSurface | ScannedSurface


class ReadingKind(StrEnum):
    """What a reading is of."""

    OFFSET = "offset"
    LENGTH = "length"
    TO_LEFT = "to_left"
    TO_RIGHT = "to_right"
    FIRST_BESIDE = "first_beside"
    LAST_BESIDE = "last_beside"
    WHOLE_LENGTH = "whole_length"
    WHOLE_WIDTH = "whole_width"


CHECKS = frozenset(
    {
        ReadingKind.TO_LEFT,
        ReadingKind.TO_RIGHT,
        ReadingKind.FIRST_BESIDE,
        ReadingKind.LAST_BESIDE,
    }
)
"""What the grid does not need, and what shows whether it was laid as it should be."""
MAY_BE_ZERO = frozenset({ReadingKind.FIRST_BESIDE, ReadingKind.LAST_BESIDE})


FIELDS = {
    ReadingKind.TO_LEFT: "to_left",
    ReadingKind.TO_RIGHT: "to_right",
    ReadingKind.FIRST_BESIDE: "first_beside",
    ReadingKind.LAST_BESIDE: "last_beside",
    ReadingKind.WHOLE_LENGTH: "length",
    ReadingKind.WHOLE_WIDTH: "width",
}
"""Which of the surface's fields holds a reading that is in no row."""
_NAMES = {
    ReadingKind.TO_LEFT: "the diagonal from station 1, right, to station {last}, left",
    ReadingKind.TO_RIGHT: "the diagonal from station 1, left, to station {last}, right",
    ReadingKind.FIRST_BESIDE: "station 1, how far a tight tape passes the spine's mark",
    ReadingKind.LAST_BESIDE: "station {last}, how far a tight tape passes the spine's mark",
    ReadingKind.WHOLE_LENGTH: "the length over the part",
    ReadingKind.WHOLE_WIDTH: "the width over the part",
}


@dataclass(frozen=True, slots=True)
class ReadingPlace:
    """Where in the grid a reading belongs.

    Attributes:
        row: number of the station of an offset, or of the one before a length, from 0.
        line: number of the line, from the left, from 0; the spine counts.
    """

    kind: ReadingKind
    row: int = 0
    line: int = 0


def line_names(lines: int) -> tuple[str, ...]:
    """Return what the lines of a grid are called, from the left.

    >>> line_names(3)
    ('left rim', 'spine', 'right rim')
    """
    if lines == 3:
        return "left rim", "spine", "right rim"
    return "left rim", "left shoulder", "spine", "right shoulder", "right rim"


def place_name(place: ReadingPlace, surface: MeasuredSurface) -> str:
    """Return in words what is measured at a place."""
    match place.kind:
        case ReadingKind.OFFSET:
            line = line_names(surface.lines)[place.line]
            return f"station {place.row + 1}, from the spine to the {line}"
        case ReadingKind.LENGTH:
            line = line_names(surface.lines)[place.line]
            return f"along the {line} from station {place.row + 1} to {place.row + 2}"
        case kind:
            return _NAMES[kind].format(last=surface.stations)


def places(surface: MeasuredSurface) -> Iterator[ReadingPlace]:
    """Yield all places of a grid in the order in which they are measured.

    Station by station: its offsets, then the lengths to the next; the checks last.
    """
    spine = surface.lines // 2
    for row in range(surface.stations):
        for line in range(surface.lines):
            if line != spine:
                yield ReadingPlace(ReadingKind.OFFSET, row, line)
        if row < surface.stations - 1:
            for line in range(surface.lines):
                yield ReadingPlace(ReadingKind.LENGTH, row, line)
    if surface.stations:
        yield ReadingPlace(ReadingKind.FIRST_BESIDE)
        yield ReadingPlace(ReadingKind.LAST_BESIDE)
        yield ReadingPlace(ReadingKind.TO_LEFT)
        yield ReadingPlace(ReadingKind.TO_RIGHT)
    else:
        yield ReadingPlace(ReadingKind.WHOLE_LENGTH)
        yield ReadingPlace(ReadingKind.WHOLE_WIDTH)


def reading_at(surface: MeasuredSurface, place: ReadingPlace) -> tuple[float, ...]:
    """Return the reading at a place; IndexError when the grid has no such place."""
    match place.kind:
        case ReadingKind.OFFSET:
            return surface.offsets[place.row][_offset_column(surface, place.line)]
        case ReadingKind.LENGTH:
            return surface.lengths[place.row][place.line]
        case kind:
            reading: tuple[float, ...] = getattr(surface, FIELDS[kind])
            return reading


def missing_places(surface: MeasuredSurface) -> tuple[ReadingPlace, ...]:
    """Return what is still to be measured; checks are never missing."""
    return tuple(
        p for p in places(surface) if p.kind not in CHECKS and not reading_at(surface, p)
    )


def _offset_column(surface: MeasuredSurface, line: int) -> int:
    spine = surface.lines // 2
    if line == spine:
        raise IndexError("the spine has no offset from itself")
    return line if line < spine else line - 1


def grid_problem(surface: MeasuredSurface) -> tuple[str, str] | None:
    """Return what does not hold in a grid, and what mends it; None when it holds."""
    if not surface.offsets and not surface.lengths:
        return None
    if not surface.stations >= LEAST_STATIONS:
        return f"A grid has {LEAST_STATIONS} to {MOST_STATIONS} stations.", "Five are advised."
    if surface.lines not in {3, 5} or any(
        len(row) != surface.lines - 1 for row in surface.offsets
    ):
        return "Every station has offsets to 2 or to 4 lines.", "Take the same lines at each."
    if len(surface.lengths) != surface.stations - 1:
        return "There is one row of lengths between two stations.", "Add or drop one."
    if any(len(row) != surface.lines for row in surface.lengths):
        return "There is one length for each line, the spine too.", "Take the same lines."
    return None

"""Edits of surfaces: what was measured over a part, and where that lies in its map."""

from msgspec.structs import replace

from core.document.edits.accept import accept
from core.document.edits.panels import replace_panel
from core.document.job import Job
from core.document.measures import ring_middle, ring_size
from core.document.panel import Panel
from core.document.surface import (
    FIELDS,
    LEAST_STATIONS,
    MOST_STATIONS,
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    Row,
    ScannedSurface,
    Surface,
    grid_problem,
    reading_at,
)
from core.errors import EditRefused


def set_surface(job: Job, panel: str, surface: Surface | None) -> Job:
    """Give a panel a surface; None makes it flat.

    Raises:
        EditRefused: a value is out of its limits, or the rows of a grid do not match.
    """
    fresh = None if surface is None else accept(surface)
    if isinstance(fresh, MeasuredSurface):
        problem = grid_problem(fresh)
        if problem:
            raise EditRefused(problem[0], where=job.panel(panel).name, mend=problem[1])
    return replace_panel(job, replace(job.panel(panel), surface=fresh))


def empty_grid(panel: Panel, stations: int = 5, lines: int = 5) -> MeasuredSurface:
    """Return a grid without readings, its spine along the middle of the panel's long side.

    Raises:
        EditRefused: so many stations or lines cannot be taken.
    """
    width, height = ring_size(panel.outline)
    x, y = ring_middle(panel.outline)
    is_level = width >= height
    origin = (x - width / 2, y) if is_level else (x, y - height / 2)
    _refuse_count(stations, lines)
    return MeasuredSurface(
        origin=origin,
        angle_deg=0.0 if is_level else 90.0,
        offsets=tuple(_empty(lines - 1) for _ in range(stations)),
        lengths=tuple(_empty(lines) for _ in range(stations - 1)),
    )


def set_reading(job: Job, panel: str, place: ReadingPlace, values: tuple[float, ...]) -> Job:
    """Set what was read at one place of a panel's grid; no values: still to be measured.

    Raises:
        EditRefused: the panel was not measured with a tape, or a value is out of its limits.
        IndexError: the grid has no such place.
    """
    old = _measured(job, panel)
    reading_at(old, place)
    return set_surface(job, panel, with_reading(old, place, values))


def with_reading(
    surface: MeasuredSurface, place: ReadingPlace, values: tuple[float, ...]
) -> MeasuredSurface:
    """Return the grid with another reading at a place."""
    match place.kind:
        case ReadingKind.OFFSET:
            spine = surface.lines // 2
            column = place.line - (place.line > spine)
            rows = _with(surface.offsets, place.row, column, values)
            return replace(surface, offsets=rows)
        case ReadingKind.LENGTH:
            rows = _with(surface.lengths, place.row, place.line, values)
            return replace(surface, lengths=rows)
        case kind:
            return replace(surface, **{FIELDS[kind]: values})


def resize_grid(job: Job, panel: str, stations: int, lines: int) -> Job:
    """Give a panel's grid another number of stations and lines.

    Stations are added or dropped at the end; shoulders come without readings, or go with
    theirs. What was read elsewhere stays; checks that end at the last station go with it.
    """
    _refuse_count(stations, lines)
    old = _measured(job, panel)
    offsets = [_offsets_of(row, lines) for row in old.offsets[:stations]]
    offsets += [_empty(lines - 1) for _ in range(stations - len(offsets))]
    lengths = [_lengths_of(row, lines) for row in old.lengths[: stations - 1]]
    lengths += [_empty(lines) for _ in range(stations - 1 - len(lengths))]
    fresh = replace(old, offsets=tuple(offsets), lengths=tuple(lengths))
    if stations != old.stations:
        fresh = replace(fresh, to_left=(), to_right=(), last_beside=())
    return set_surface(job, panel, fresh)


def tie_surface(job: Job, panel: str, origin: tuple[float, float], angle_deg: float) -> Job:
    """Say where a panel's grid or scan lies in its map.

    Raises:
        EditRefused: the panel is flat.
    """
    old = job.panel(panel).surface
    if old is None:
        raise EditRefused(
            "This panel is flat.", where=job.panel(panel).name, mend="Measure it first."
        )
    return set_surface(job, panel, replace(old, origin=origin, angle_deg=angle_deg))


def scan_files(job: Job) -> frozenset[str]:
    """Return the names of the scans that a job's panels are cut out of."""
    surfaces = [panel.surface for panel in job.panels]
    return frozenset(s.file for s in surfaces if isinstance(s, ScannedSurface))


def _measured(job: Job, panel: str) -> MeasuredSurface:
    surface = job.panel(panel).surface
    if not isinstance(surface, MeasuredSurface):
        raise EditRefused(
            "This panel was not measured with a tape.",
            where=job.panel(panel).name,
            mend="Lay a grid over it first.",
        )
    return surface


def _refuse_count(stations: int, lines: int) -> None:
    if not LEAST_STATIONS <= stations <= MOST_STATIONS:
        raise EditRefused(
            f"A grid has {LEAST_STATIONS} to {MOST_STATIONS} stations.",
            mend="Five are advised.",
        )
    if lines not in {3, 5}:
        raise EditRefused("A grid has 3 or 5 lines.", mend="Five see the shoulders.")


def _empty(count: int) -> Row:
    return ((),) * count


def _offsets_of(row: Row, lines: int) -> Row:
    if len(row) == lines - 1:
        return row
    return (row[0], row[-1]) if lines == 3 else (row[0], (), (), row[-1])


def _lengths_of(row: Row, lines: int) -> Row:
    if len(row) == lines:
        return row
    return (row[0], row[2], row[4]) if lines == 3 else (row[0], (), row[1], (), row[2])


def _with(
    rows: tuple[Row, ...], row: int, column: int, values: tuple[float, ...]
) -> tuple[Row, ...]:
    fresh = tuple(values if i == column else old for i, old in enumerate(rows[row]))
    return (*rows[:row], fresh, *rows[row + 1 :])

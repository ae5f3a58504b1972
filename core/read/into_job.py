"""Panels that were read from a file, put into a job."""

import math
from collections.abc import Iterator, Sequence
from itertools import count

import shapely
from msgspec.structs import replace
from shapely import Polygon, STRtree
from shapely.affinity import translate

from core.document.edits.ids import taken_ids
from core.document.edits.panels import add_panel
from core.document.flatten import flatten
from core.document.job import Job
from core.document.panel import Panel
from core.errors import ImportFailed
from core.ids import FilmId, OpeningId, PanelId, next_id
from core.read.outlines import Outlines

SPACE_MM = 150.0
LEAST_ROW_MM = 3000.0
WIDEST_MM = 20_000.0
"""Drawings spread wider than this are drawn together."""

Offset = tuple[float, float]


def import_sentence(count: int) -> str:
    """Return what the undo step is called."""
    return f"Import {count} panel{'' if count == 1 else 's'}"


def to_panels(
    job: Job,
    outlines: Outlines,
    chosen: Sequence[Panel] | None = None,
    film: FilmId | str | None = None,
) -> Job:
    """Add panels to a job, to the right of those that are there.

    They keep the places that they have to one another in the file, unless some overlap there or
    stand very far apart: then they are lined up in rows.

    Args:
        job: gets the panels.
        outlines: what was read.
        chosen: some of its panels, perhaps renamed; None takes all.
        film: the base film of them all; None takes the job's film of lowest rank.

    Raises:
        ImportFailed: there is nothing to import, or no film.
        KeyError: the job has no such film.
    """
    panels = tuple(outlines.panels if chosen is None else chosen)
    if not panels:
        raise ImportFailed(
            "No closed outline was found to import.",
            where=outlines.where,
            mend="Choose other layers, or a larger join tolerance.",
        )
    named = [*_named(job, panels, _base_film(job, film))]
    # Checked one by one: against all others the check would be slow, and ids are new.
    blank = replace(job, panels=())
    fresh = [add_panel(blank, panel).panels[0] for panel in named]
    return replace(job, panels=(*job.panels, *fresh))


def _named(job: Job, panels: tuple[Panel, ...], film: str) -> Iterator[Panel]:
    """Yield panels with ids, names and places of their own in the job."""
    names = {p.name for p in job.panels}
    ids, opening_ids = _free_ids("p", job), _free_ids("o", job)
    for panel, place in zip(panels, _free_places(job, panels), strict=True):
        name = _free_name(panel.name, names)
        names.add(name)
        made = _with_ids(panel, next(ids), opening_ids)
        yield replace(made, name=name, base_film=film, at=place)


def _base_film(job: Job, film: FilmId | str | None) -> str:
    if film is not None:
        return job.film(film).id
    if not job.films:
        raise ImportFailed("The job has no film.", mend="Add a film first.")
    return min(job.films, key=lambda f: f.rank).id


def _with_ids(panel: Panel, own: str, opening_ids: Iterator[str]) -> Panel:
    openings = tuple(replace(o, id=OpeningId(next(opening_ids))) for o in panel.openings)
    return replace(panel, id=PanelId(own), openings=openings)


def _free_ids(prefix: str, job: Job) -> Iterator[str]:
    """Yield ids that the job does not use yet."""
    first = int(next_id(prefix, taken_ids(job)).removeprefix(prefix))
    return (f"{prefix}{number}" for number in count(first))


def _free_name(name: str, taken: set[str]) -> str:
    if name not in taken:
        return name
    number = 2
    while f"{name} {number}" in taken:
        number += 1
    return f"{name} {number}"


def _free_places(job: Job, panels: tuple[Panel, ...]) -> list[Offset]:
    """Return where each panel's origin goes."""
    shapes = [Polygon(flatten(p.outline, closed=True)) for p in panels]
    placed = [translate(shape, *p.at) for shape, p in zip(shapes, panels, strict=True)]
    places = [p.at for p in panels] if _are_apart(placed) else _in_rows(shapes)
    left = float(min(x + s.bounds[0] for (x, _), s in zip(places, shapes, strict=True)))
    bottom = float(min(y + s.bounds[1] for (_, y), s in zip(places, shapes, strict=True)))
    x0, y0 = _corner(job)
    return [(round(x - left + x0, 4), round(y - bottom + y0, 4)) for x, y in places]


def _corner(job: Job) -> Offset:
    """Return the lower left corner of the free room beside the job's panels."""
    if not job.panels:
        return 0.0, 0.0
    bounds = [
        (x + panel.at[0], y + panel.at[1])
        for panel in job.panels
        for x, y in flatten(panel.outline, closed=True).tolist()
    ]
    return max(x for x, _ in bounds) + SPACE_MM, min(y for _, y in bounds)


def _are_apart(shapes: list[Polygon]) -> bool:
    left, bottom, right, top = shapely.total_bounds(shapes)
    if max(right - left, top - bottom) > WIDEST_MM:
        return False
    if not all(shape.is_valid for shape in shapes):
        shapes = [shape.convex_hull for shape in shapes]  # type: ignore[misc]  # a polygon too
    first, second = STRtree(shapes).query(shapes, predicate="intersects")
    return bool((first == second).all())


def _in_rows(shapes: list[Polygon]) -> list[Offset]:
    """Line shapes up from left to right, in rows upwards."""
    corners = [[float(v) for v in s.bounds] for s in shapes]
    sizes = [(right - left, top - bottom) for left, bottom, right, top in corners]
    room = sum((w + SPACE_MM) * (h + SPACE_MM) for w, h in sizes)
    width = max(LEAST_ROW_MM, 1.6 * math.sqrt(room))
    places = []
    x = y = row = 0.0
    for (left, bottom, _, _), (w, h) in zip(corners, sizes, strict=True):
        if x > 0 and x + w > width:
            x, y, row = 0.0, y + row + SPACE_MM, 0.0
        places.append((x - left, y - bottom))
        x, row = x + w + SPACE_MM, max(row, h)
    return places

"""Copies of panels and lines: copied out, pasted in, duplicated, set out in an array.

A clip is what was copied: plain values, written as JSON text of our own so that it goes through
any clipboard, to another job or another run of the program.
"""

import json
from collections.abc import Collection, Iterator
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from core.document.edits.carry import carried
from core.document.edits.ids import taken_ids
from core.document.edits.lines import add_line, find_line
from core.document.edits.panels import add_panel
from core.document.edits.paths import translate_path
from core.document.edits.surfaces import scan_files
from core.document.edits.variants import replace_scheme
from core.document.film import Film
from core.document.flatten import flatten
from core.document.hit import is_closed
from core.document.job import Job
from core.document.lines import Inlay, Line, Relief, Seam, Stripe
from core.document.panel import Mark, Opening, Panel
from core.document.path import Point
from core.document.photo import FileName
from core.document.surface import ScannedSurface
from core.document.variant import Scheme
from core.errors import EditRefused, InputError
from core.ids import next_id

KIND = "lapline-clip"
VERSION = 1
SIDESTEP_MM = 10.0
"""A copy that would lie exactly on what it was copied from is moved by this, right and down."""
LONGEST_TEXT = 8 * 2**20
MOST_COPIES = 400

Box = tuple[float, float, float, float]


class PanelClip(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A panel with what is drawn on it."""

    panel: Panel
    scheme: Scheme


class LineClip(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A line with the panel that it was on, which says where it lands on another."""

    line: Line
    panel: Panel


class BelongingsClip(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Openings and marks with the panel that they lay on, which says where they land."""

    panel: Panel
    openings: tuple[Opening, ...] = ()
    marks: tuple[Mark, ...] = ()


class ScanClip(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A scan that panels of a clip are cut out of: the name of its file, and what is in it."""

    file: FileName
    data: bytes


class Clip(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was copied: panels with their scans, or lines, or openings and marks."""

    films: tuple[Film, ...]
    panels: Annotated[tuple[PanelClip, ...], Meta(max_length=1000)] = ()
    lines: Annotated[tuple[LineClip, ...], Meta(max_length=1000)] = ()
    belongings: Annotated[tuple[BelongingsClip, ...], Meta(max_length=1000)] = ()
    scans: Annotated[tuple[ScanClip, ...], Meta(max_length=1000)] = ()


def copy_panels(job: Job, variant: str, ids: Collection[str]) -> Clip:
    """Return panels with what the variant draws on them; KeyError when one is not there."""
    panels = [p for p in job.panels if p.id in {job.panel(i).id for i in ids}]
    clips = tuple(PanelClip(panel=p, scheme=job.scheme(variant, p.id)) for p in panels)
    return Clip(films=job.films, panels=clips)


def copy_lines(job: Job, variant: str, ids: Collection[str]) -> Clip:
    """Return lines; KeyError when one is not there."""
    found = [find_line(job, variant, i) for i in ids]
    clips = tuple(LineClip(line=line, panel=job.panel(panel)) for panel, line in found)
    return Clip(films=job.films, lines=clips)


def to_text(clip: Clip) -> str:
    """Return a clip as text for a clipboard."""
    body = {"kind": KIND, "version": VERSION, "clip": msgspec.to_builtins(clip)}
    return json.dumps(body, ensure_ascii=False)


def from_text(text: str) -> Clip:
    """Return the clip that a text holds.

    Raises:
        InputError: the text is no clip, or one of a newer version.
    """
    refusal = InputError("There is nothing of Lapline to paste.", mend="Copy something first.")
    if len(text) > LONGEST_TEXT or KIND not in text:
        raise refusal
    try:
        body: Any = json.loads(text)
        if not isinstance(body, dict) or body.get("kind") != KIND:
            raise refusal
        if body.get("version") != VERSION:
            raise InputError(
                "This was copied from a newer version of Lapline.", mend="Update this one."
            )
        return msgspec.convert(body.get("clip"), Clip)
    except (ValueError, RecursionError) as error:  # msgspec's error is a ValueError
        if isinstance(error, InputError):
            raise
        raise refusal from error


def paste_panels(
    job: Job, variant: str, clip: Clip, step: Point, scans: Collection[str] | None = None
) -> tuple[Job, tuple[str, ...]]:
    """Add a clip's panels as new ones, moved by a step; returns the job and their ids.

    What was drawn on them comes with them in this variant. Stripes of one run stay one, when
    all of its stripes come along. Panels whose scan is not at hand become flat.

    Args:
        job: gets the panels.
        variant: gets what is drawn on them.
        clip: what was copied.
        step: in x and y, mm.
        scans: names of the scans that are at hand; None for those that the job's panels name.
    """
    at_hand = scan_files(job) if scans is None else scans
    job, film_of = _with_films(job, clip)
    runs = _fresh_runs(job, clip)
    made = []
    for one in clip.panels:
        panel = _fresh_panel(job, one.panel, film_of, at_hand)
        at = (one.panel.at[0] + step[0], one.panel.at[1] + step[1])
        job = add_panel(job, replace(panel, at=at, is_locked=False, is_hidden=False))
        scheme = _fresh_scheme(job, one.scheme, panel.id, film_of, runs)
        if scheme.lines or scheme.spots:
            job = replace_scheme(job, variant, scheme)
        made.append(panel.id)
    return job, tuple(made)


def step_to(clip: Clip, at: Point) -> Point:
    """Return the step that brings the middle of a clip's panels to a point, in whole mm."""
    x0, y0, x1, y1 = _union([_panel_box(one.panel) for one in clip.panels])
    return float(round(at[0] - (x0 + x1) / 2)), float(round(at[1] - (y0 + y1) / 2))


def panels_left_flat(clip: Clip, scans: Collection[str]) -> tuple[str, ...]:
    """Return the names of a clip's panels that come without their scan, not being at hand."""
    return tuple(
        one.panel.name
        for one in clip.panels
        if isinstance(one.panel.surface, ScannedSurface) and one.panel.surface.file not in scans
    )


def paste_lines(job: Job, variant: str, clip: Clip, panel: str) -> tuple[Job, tuple[str, ...]]:
    """Add a clip's lines to a panel; returns the job and the new ids.

    A line that would lie exactly on another of that panel is moved a little.
    """
    job, film_of = _with_films(job, clip)
    target = job.panel(panel)
    made = []
    for one in clip.lines:
        line = _of_films(carried(one.line, one.panel, target), film_of)
        while any(line.nodes == other.nodes for other in job.scheme(variant, panel).lines):
            nodes = translate_path(line.nodes, SIDESTEP_MM, -SIDESTEP_MM)
            line = replace(line, nodes=nodes)
        fresh = replace(_alone(line), id=next_id(line.id[0], taken_ids(job)))
        job = add_line(job, variant, panel, fresh)
        made.append(fresh.id)
    return job, tuple(made)


def array_panels(
    job: Job, variant: str, ids: Collection[str], counts: tuple[int, int], gaps: Point
) -> tuple[Job, tuple[str, ...]]:
    """Repeat panels in rows and columns; returns the job and the ids of the new ones.

    Args:
        job: the job.
        variant: the variant whose lines come with the panels.
        ids: the panels, repeated as one group.
        counts: rows, upward, and columns, to the right; the group itself is the first.
        gaps: clear distance between columns and between rows, mm; negative ones overlap.

    Raises:
        EditRefused: there is nothing to repeat, or there would be too many.
    """
    clip = copy_panels(job, variant, ids)
    box = _union([_panel_box(one.panel) for one in clip.panels])
    made: list[str] = []
    for step in _steps(box, counts, gaps, len(clip.panels)):
        job, fresh = paste_panels(job, variant, clip, step)
        made += fresh
    return job, tuple(made)


def array_lines(
    job: Job, variant: str, ids: Collection[str], counts: tuple[int, int], gaps: Point
) -> tuple[Job, tuple[str, ...]]:
    """Repeat lines in rows and columns on their panels, as ``array_panels`` does panels."""
    found = [find_line(job, variant, i) for i in ids]
    box = _union([_line_box(line) for _, line in found])
    made: list[str] = []
    for step in _steps(box, counts, gaps, len(found)):
        for panel, line in found:
            nodes = translate_path(line.nodes, *step)
            fresh = next_id(line.id[0], taken_ids(job))
            job = add_line(job, variant, panel, replace(_alone(line), id=fresh, nodes=nodes))
            made.append(fresh)
    return job, tuple(made)


def _steps(box: Box, counts: tuple[int, int], gaps: Point, each: int) -> Iterator[Point]:
    rows, columns = counts
    if rows < 1 or columns < 1 or rows * columns < 2:
        raise EditRefused("This repeats nothing.", mend="Ask for two rows or columns at least.")
    if rows * columns * each > MOST_COPIES:
        raise EditRefused(f"That is more than {MOST_COPIES} copies.", mend="Ask for fewer.")
    across, up = box[2] - box[0] + gaps[0], box[3] - box[1] + gaps[1]
    for row in range(rows):
        for column in range(columns):
            if row or column:
                yield column * across, row * up


def _union(boxes: list[Box]) -> Box:
    if not boxes:
        raise EditRefused("There is nothing to repeat.", mend="Select panels or lines.")
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _panel_box(panel: Panel) -> Box:
    ring = flatten(panel.outline, closed=True)
    (x0, y0), (x1, y1) = ring.min(axis=0), ring.max(axis=0)
    dx, dy = panel.at
    return float(x0) + dx, float(y0) + dy, float(x1) + dx, float(y1) + dy


def _line_box(line: Line) -> Box:
    points = flatten(line.nodes, closed=is_closed(line))
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _with_films(job: Job, clip: Clip) -> tuple[Job, dict[str, str]]:
    """Return the job with the films that the clip uses, and which film each is there.

    A film of the same id and name is the same one; else one of the same name and colour; else
    it is added, without the stock that lies elsewhere.
    """
    film_of: dict[str, str] = {}
    for film in clip.films:
        if film.id not in _films_used(clip):
            continue
        by_name = {f.name: f for f in job.films if f.colour == film.colour}
        own = next((f for f in job.films if (f.id, f.name) == (film.id, film.name)), None)
        known = own or by_name.get(film.name)
        if known is None:
            known = replace(film, id=next_id("f", taken_ids(job)), stock=())
            job = replace(job, films=(*job.films, known))
        film_of[film.id] = known.id
    return job, film_of


def _films_used(clip: Clip) -> set[str]:
    lines = [one.line for one in clip.lines]
    used = set()
    for one in clip.panels:
        lines += one.scheme.lines
        used |= {one.panel.base_film, *(spot.film for spot in one.scheme.spots)}
    return used | {line.film for line in lines if isinstance(line, Stripe | Inlay)}


def _film(film_of: dict[str, str], film: str) -> str:
    try:
        return film_of[film]
    except KeyError:
        raise EditRefused(
            f"What was copied names a film {film} that did not come with it."
        ) from None


def _of_films(line: Line, film_of: dict[str, str]) -> Line:
    if isinstance(line, Seam | Relief):
        return line
    return replace(line, film=_film(film_of, line.film))


def _alone(line: Line) -> Line:
    return replace(line, run=None) if isinstance(line, Stripe) else line


def _fresh_panel(
    job: Job, panel: Panel, film_of: dict[str, str], scans: Collection[str]
) -> Panel:
    """Return a panel with ids and a name that the job does not use yet."""
    taken = taken_ids(job)

    def fresh(prefix: str) -> str:
        found = next_id(prefix, taken)
        taken.add(found)
        return found

    surface = panel.surface
    if isinstance(surface, ScannedSurface) and surface.file not in scans:
        surface = None  # the scan lies in the file that it was copied from
    return replace(
        panel,
        surface=surface,
        id=fresh("p"),
        name=_free_name(panel.name, {p.name for p in job.panels}),
        base_film=_film(film_of, panel.base_film),
        openings=tuple(replace(o, id=fresh("o")) for o in panel.openings),
        marks=tuple(replace(m, id=fresh("m")) for m in panel.marks),
    )


def _free_name(name: str, taken: Collection[str]) -> str:
    """Return the name, or the first of "name 2", "name 3" ... that is free."""
    stem, _, tail = name.rpartition(" ")
    base = stem if stem and tail.isdigit() else name
    number = 2
    while name in taken:
        name = f"{base} {number}"
        number += 1
    return name


def _fresh_runs(job: Job, clip: Clip) -> dict[str, str | None]:
    """Return what each run of the clip is called in the job; None for one alone."""
    counts: dict[str, int] = {}
    for one in clip.panels:
        for stripe in one.scheme.stripes:
            if stripe.run is not None:
                counts[stripe.run] = counts.get(stripe.run, 0) + 1
    taken = {
        s.run for v in job.variants for scheme in v.schemes for s in scheme.stripes if s.run
    }
    fresh: dict[str, str | None] = {}
    for run, count in counts.items():
        fresh[run] = next_id("u", taken) if count > 1 else None
        taken.add(fresh[run] or run)
    return fresh


def _fresh_scheme(
    job: Job, scheme: Scheme, panel: str, film_of: dict[str, str], runs: dict[str, str | None]
) -> Scheme:
    taken = taken_ids(job)

    def fresh(old: str) -> str:
        found = next_id(old[0], taken)
        taken.add(found)
        return found

    stripes = [replace(s, run=runs.get(s.run) if s.run else None) for s in scheme.stripes]
    inlays: list[Inlay] = [replace(i, film=_film(film_of, i.film)) for i in scheme.inlays]
    return Scheme(
        panel=panel,
        seams=tuple(replace(s, id=fresh(s.id)) for s in scheme.seams),
        stripes=tuple(replace(s, id=fresh(s.id), film=_film(film_of, s.film)) for s in stripes),
        inlays=tuple(replace(i, id=fresh(i.id)) for i in inlays),
        reliefs=tuple(replace(r, id=fresh(r.id)) for r in scheme.reliefs),
        spots=tuple(
            replace(s, id=fresh(s.id), film=_film(film_of, s.film)) for s in scheme.spots
        ),
    )

"""Openings and marks of a panel: found at a place, added, moved, changed and deleted."""

from collections.abc import Callable, Collection
from dataclasses import dataclass

import shapely
from msgspec.structs import replace
from shapely import LineString, Point, Polygon

from core.document.edits.accept import accept, refuse_repeated_nodes
from core.document.edits.panels import replace_panel
from core.document.edits.paths import translate_path
from core.document.flatten import flatten
from core.document.job import Job
from core.document.measures import ring_middle, ring_size
from core.document.panel import Mark, MarkKind, Opening, Panel
from core.document.path import Node, Path
from core.document.path import Point as Place
from core.document.placing import place_ring, scaled
from core.document.shaping import counter_clockwise
from core.errors import EditRefused


@dataclass(frozen=True, slots=True)
class Belonging:
    """An opening or a mark; ``words`` is what it is called in sentences."""

    panel: str
    id: str
    words: str


def belonging_at(panel: Panel, at: Place, reach_mm: float) -> Belonging | None:
    """Return the mark at a place of a panel's frame, else the opening that it lies in.

    Args:
        panel: the panel.
        at: the place.
        reach_mm: marks count as no smaller than this.
    """
    found: Mark | Opening | None = mark_at(panel, at, reach_mm) or opening_at(panel, at)
    return Belonging(panel.id, found.id, words_for(found)) if found else None


def mark_at(panel: Panel, at: Place, reach_mm: float, *, is_close: bool = False) -> Mark | None:
    """Return the mark at a place: the nearest one within its radius, or within reach.

    A close one is within reach of its middle, however large it is.
    """
    best, best_mm = None, float("inf")
    for mark in panel.marks:
        away = _spine(mark).distance(Point(at))
        limit = reach_mm if is_close else max(mark.radius_mm, reach_mm)
        if away <= limit and away < best_mm:
            best, best_mm = mark, away
    return best


def opening_at(panel: Panel, at: Place) -> Opening | None:
    """Return the opening that a place lies in."""
    for opening in panel.openings:
        ring = _polygon(opening.nodes)
        if ring is not None and ring.distance(Point(at)) == 0.0:
            return opening
    return None


def words_for(one: Mark | Opening) -> str:
    """Return what an opening or mark is called in sentences."""
    return f"the {one.kind.value}" if isinstance(one, Mark) else one.name or "the opening"


def find_belonging(job: Job, name: str) -> tuple[Panel, Mark | Opening]:
    """Return an opening or mark with its panel. KeyError when there is none of that id."""
    for panel in job.panels:
        for one in _belongings(panel):
            if one.id == name:
                return panel, one
    raise KeyError(name)


def middle_of(one: Mark | Opening) -> Place:
    """Return the place that an opening or a mark is moved by: a spot, an end, the middle."""
    return one.path[0] if isinstance(one, Mark) else ring_middle(one.nodes)


def add_opening(job: Job, panel: str, opening: Opening) -> Job:
    """Cut an opening into a panel.

    Raises:
        EditRefused: it is no plain shape, reaches beyond the panel or lies across another.
        KeyError: no such panel.
    """
    old, fresh = job.panel(panel), accept(opening)
    refuse_repeated_nodes(fresh.nodes, old.name)
    fresh = replace(fresh, nodes=counter_clockwise(fresh.nodes))
    return _held(job, replace(old, openings=(*old.openings, fresh)))


def add_mark(job: Job, panel: str, mark: Mark) -> Job:
    """Put a mark on a panel.

    Raises:
        EditRefused: it lies beyond the panel, or a value is out of its limits.
        KeyError: no such panel.
    """
    old = job.panel(panel)
    return _held(job, replace(old, marks=(*old.marks, accept(mark))))


def set_mark(
    job: Job,
    mark: str,
    *,
    kind: MarkKind | None = None,
    radius_mm: float | None = None,
    note: str | None = None,
) -> Job:
    """Change what a mark says; None leaves a value. KeyError when there is none of that id."""
    given = {"kind": kind, "radius_mm": radius_mm, "note": note}
    values = {name: value for name, value in given.items() if value is not None}

    def changed(one: Mark | Opening) -> Mark | Opening:
        return replace(one, **values) if isinstance(one, Mark) else one

    return _each(job, [mark], changed)


def nodes_of_mark(mark: Mark) -> Path:
    """Return the points of a mark as nodes: they have no names of their own and are counted."""
    return tuple(Node(id=f"n{i}", at=at) for i, at in enumerate(mark.path, 1))


def set_mark_path(job: Job, mark: str, path: tuple[Place, ...]) -> Job:
    """Lead a ridge through other points.

    Raises:
        EditRefused: it would lie beyond its panel.
        KeyError: no such mark.
    """

    def changed(one: Mark | Opening) -> Mark | Opening:
        return replace(one, path=path) if isinstance(one, Mark) else one

    return _each(job, [mark], changed)


def set_opening(
    job: Job, opening: str, *, name: str | None = None, turn_mm: float | None = None
) -> Job:
    """Change an opening's name or edge turn; None leaves a value. KeyError as ``set_mark``."""
    given = {"name": name, "turn_mm": turn_mm}
    values = {field: value for field, value in given.items() if value is not None}

    def changed(one: Mark | Opening) -> Mark | Opening:
        return replace(one, **values) if isinstance(one, Opening) else one

    return _each(job, [opening], changed)


def set_opening_size(
    job: Job, opening: str, width_mm: float | None, height_mm: float | None
) -> Job:
    """Scale an opening about its middle to a width, a height, or both.

    Raises:
        EditRefused: a size is not above 0, or it would reach too far.
        KeyError: no such opening.
    """
    if min(width_mm or 1.0, height_mm or 1.0) <= 0 or 0 in (width_mm, height_mm):
        raise EditRefused("An opening needs a size.", mend="Type a length above 0.")

    def changed(one: Mark | Opening) -> Mark | Opening:
        if isinstance(one, Mark):
            return one
        width, height = ring_size(one.nodes)
        across, upright = (width_mm or width) / width, (height_mm or height) / height
        return replace(
            one, nodes=place_ring(one.nodes, scaled(ring_middle(one.nodes), across, upright))
        )

    return _each(job, [opening], changed)


def move_belongings(job: Job, ids: Collection[str], dx: float, dy: float) -> Job:
    """Move openings and marks as they are.

    Raises:
        EditRefused: one would leave its panel, or an opening lie across another.
        KeyError: one is not there.
    """
    return _each(job, ids, lambda one: moved_belonging(one, dx, dy))


def moved_belonging(one: Mark | Opening, dx: float, dy: float) -> Mark | Opening:
    """Return an opening or a mark moved."""
    if isinstance(one, Mark):
        return replace(one, path=tuple((x + dx, y + dy) for x, y in one.path))
    return replace(one, nodes=translate_path(one.nodes, dx, dy))


def belongings_box(things: Collection[Mark | Opening]) -> tuple[float, float, float, float]:
    """Return the box about openings and marks: left, low, right and upper side."""
    shapes = [
        _spine(one).buffer(one.radius_mm)
        if isinstance(one, Mark)
        else LineString(flatten(one.nodes, closed=True))
        for one in things
    ]
    x0, y0, x1, y1 = shapely.total_bounds(shapes).tolist()
    return x0, y0, x1, y1


def lies_on(panel: Panel, at: Place) -> bool:
    """Say whether a place of a panel's frame lies within its outline."""
    rim = _polygon(panel.outline)
    return rim is not None and bool(rim.covers(Point(at)))


def delete_belongings(job: Job, ids: Collection[str]) -> Job:
    """Delete openings and marks; KeyError when one is not there."""
    panels = {find_belonging(job, name)[0].id for name in ids}
    for panel in (p for p in job.panels if p.id in panels):
        openings = tuple(o for o in panel.openings if o.id not in ids)
        marks = tuple(m for m in panel.marks if m.id not in ids)
        job = replace_panel(job, replace(panel, openings=openings, marks=marks))
    return job


def _each(
    job: Job, ids: Collection[str], change: Callable[[Mark | Opening], Mark | Opening]
) -> Job:
    """Change openings and marks of given ids, those of a panel at once."""
    panels = {find_belonging(job, name)[0].id for name in ids}
    for panel in (p for p in job.panels if p.id in panels):
        openings = tuple(change(o) if o.id in ids else o for o in panel.openings)
        marks = tuple(change(m) if m.id in ids else m for m in panel.marks)
        job = _held(job, replace(panel, openings=openings, marks=marks))
    return job


def _held(job: Job, panel: Panel) -> Job:
    """Put a panel in its place; refuse it where what the edit has placed lies wrong."""
    old = {one.id: one for one in _belongings(job.panel(panel.id))}
    fresh = replace_panel(job, panel)
    made = fresh.panel(panel.id)
    for one in _belongings(made):
        if one.id not in old or _where(one) != _where(old[one.id]):
            _refuse_misplaced(made, one)
    return fresh


def _where(one: Mark | Opening) -> object:
    return one.path if isinstance(one, Mark) else one.nodes


def _belongings(panel: Panel) -> tuple[Mark | Opening, ...]:
    return (*panel.openings, *panel.marks)


def _refuse_misplaced(panel: Panel, one: Mark | Opening) -> None:
    """Refuse what lies beyond its panel or across another opening.

    An outline that is no plain shape bounds nothing; a finding tells of it.
    """
    rim = _polygon(panel.outline)
    if isinstance(one, Mark):
        if rim is not None and not rim.covers(_spine(one)):
            raise EditRefused(
                f"A {one.kind.value} lies on its panel.",
                where=panel.name,
                mend="Place it within the outline.",
            )
        return
    ring = _polygon(one.nodes)
    if ring is None:
        raise EditRefused(
            "The opening is no plain shape.", where=panel.name, mend="Draw it round once."
        )
    if rim is not None and not rim.contains_properly(ring):
        raise EditRefused(
            "An opening lies within its panel.",
            where=panel.name,
            mend="Keep it off the rim; to take film off there, change the outline.",
        )
    for other in panel.openings:
        shape = _polygon(other.nodes) if other.id != one.id else None
        if shape is not None and shape.intersects(ring):
            raise EditRefused(
                "An opening lies across another one.",
                where=panel.name,
                mend="Keep it clear of it, or move that one's nodes.",
            )


def _polygon(path: Path) -> Polygon | None:
    """Return what a ring bounds; None where it crosses itself or has no area."""
    ring = flatten(path, closed=True)
    shape = Polygon(ring) if len(ring) > 2 else Polygon()
    return shape if shape.area > 0 and bool(shapely.is_valid(shape)) else None


def _spine(mark: Mark) -> Point | LineString:
    return Point(mark.path[0]) if len(mark.path) == 1 else LineString(mark.path)

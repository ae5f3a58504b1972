"""Edits of guides and dimensions, and where a dimension's ends are now."""

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from msgspec.structs import replace

from core.document.drafting import Dimension, DimensionEnd, GuideLine
from core.document.edits.accept import accept, refuse_repeats
from core.document.edits.ids import taken_ids
from core.document.job import Job
from core.document.path import Path, Point
from core.errors import EditRefused
from core.tolerance import JOIN_MM

MOST_GUIDES = 500
"""A bound that no drawing reaches, so that a runaway script is stopped."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What lies between two points: the way as the crow flies, its parts, its direction."""

    length_mm: float
    dx_mm: float
    dy_mm: float
    angle_deg: float


def measure(a: Point, b: Point) -> Measured:
    """Return what lies between two points.

    Degenerate input: two equal points have no length and the angle 0.

    >>> measure((0, 0), (3, 4)).length_mm
    5.0
    """
    dx, dy = b[0] - a[0], b[1] - a[1]
    return Measured(math.hypot(dx, dy), dx, dy, math.degrees(math.atan2(dy, dx)) % 360)


def add_guide(job: Job, guide: GuideLine) -> Job:
    """Add a guide. EditRefused when its id is taken, or a value is out of its limits."""
    if len(job.guides) >= MOST_GUIDES:
        raise EditRefused("There are too many guides.", mend="Delete some first.")
    fresh = accept(guide)
    refuse_repeats([*taken_ids(job), fresh.id], "guides")
    return replace(job, guides=(*job.guides, fresh))


def move_guide(job: Job, guide: str, at_mm: float) -> Job:
    """Move a guide; KeyError when there is none of that id."""
    fresh = accept(replace(job.guide(guide), at_mm=at_mm))
    return replace(job, guides=tuple(fresh if g.id == guide else g for g in job.guides))


def delete_guides(job: Job, ids: Collection[str]) -> Job:
    """Delete guides; KeyError when one is not there."""
    gone = {job.guide(one).id for one in ids}
    return replace(job, guides=tuple(g for g in job.guides if g.id not in gone))


def add_dimension(job: Job, dimension: Dimension) -> Job:
    """Keep a dimension; those whose node is gone in every variant are dropped with it.

    Raises:
        EditRefused: its id is taken, its ends are one point, or a value is out of its limits.
        KeyError: it names a panel that is not there.
    """
    fresh = accept(dimension)
    for end in (fresh.start, fresh.end):
        if end.panel is not None:
            job.panel(end.panel)
    refuse_repeats([*taken_ids(job), fresh.id], "dimensions")
    ends = ends_of(job, None, fresh)
    if ends is not None and math.dist(*ends) < JOIN_MM:
        raise EditRefused("There is nothing between the two points to be measured.")
    kept = tuple(d for d in job.dimensions if ends_of(job, None, d) is not None)
    return replace(job, dimensions=(*kept, fresh))


def replace_dimension(job: Job, dimension: Dimension) -> Job:
    """Put a dimension in the place of the one of its id; KeyError when there is none."""
    old = job.dimension(dimension.id)
    fresh = accept(dimension)
    return replace(
        job, dimensions=tuple(fresh if d.id == old.id else d for d in job.dimensions)
    )


def delete_dimensions(job: Job, ids: Collection[str]) -> Job:
    """Delete dimensions; KeyError when one is not there."""
    gone = {job.dimension(one).id for one in ids}
    return replace(job, dimensions=tuple(d for d in job.dimensions if d.id not in gone))


def without_panels(
    dimensions: tuple[Dimension, ...], gone: Collection[str]
) -> tuple[Dimension, ...]:
    """Return the dimensions that hold on to none of the panels."""
    return tuple(d for d in dimensions if d.start.panel not in gone and d.end.panel not in gone)


def ends_of(job: Job, variant: str | None, dimension: Dimension) -> tuple[Point, Point] | None:
    """Return where a dimension's ends are on the canvas now.

    Args:
        job: the job.
        variant: whose lines count; None takes the first variant that has the line.
        dimension: the dimension.

    Returns:
        None when a node that it follows is not there.
    """
    start = place_of_end(job, variant, dimension.start)
    end = place_of_end(job, variant, dimension.end)
    return None if start is None or end is None else (start, end)


def place_of_end(job: Job, variant: str | None, end: DimensionEnd) -> Point | None:
    """Return where one end is on the canvas; None when its node or panel is not there."""
    if end.panel is None:
        return end.at
    panel = next((p for p in job.panels if p.id == end.panel), None)
    if panel is None:
        return None
    at: Point | None = end.at
    if end.owner is not None and end.node is not None:
        found = (
            node.at
            for path in _paths_of(job, variant, end.panel, end.owner)
            for node in path
            if node.id == end.node
        )
        at = next(found, None)
    return None if at is None else (at[0] + panel.at[0], at[1] + panel.at[1])


def _paths_of(job: Job, variant: str | None, panel_id: str, owner: str) -> Iterator[Path]:
    panel = job.panel(panel_id)
    if owner == panel_id:
        yield panel.outline
    yield from (o.nodes for o in panel.openings if o.id == owner)
    for one in job.variants:
        if variant in (None, one.id):
            lines = job.scheme(one.id, panel_id).lines
            yield from (line.nodes for line in lines if line.id == owner)


def dimension_line(a: Point, b: Point, offset_mm: float) -> tuple[Point, Point]:
    """Return where a dimension line runs that stands off to the left of a to b.

    Degenerate input: two equal points give that point twice.
    """
    size = math.dist(a, b)
    if size == 0:
        return a, b
    nx, ny = (a[1] - b[1]) / size * offset_mm, (b[0] - a[0]) / size * offset_mm
    return (a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny)


def offset_through(a: Point, b: Point, at: Point) -> float:
    """Return the offset that lets the dimension line of a to b run through a point."""
    size = math.dist(a, b)
    if size == 0:
        return 0.0
    return ((at[1] - a[1]) * (b[0] - a[0]) - (at[0] - a[0]) * (b[1] - a[1])) / size


def outer_offset(a: Point, b: Point, middle: Point, away_mm: float) -> float:
    """Return an offset of that size on the side that a middle does not lie on."""
    return -away_mm if offset_through(a, b, middle) > 0 else away_mm


def distance_to_line(a: Point, b: Point, at: Point) -> float:
    """Return how far a point is from the stretch from a to b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    size = dx * dx + dy * dy
    t = ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / size if size else 0.0
    t = min(max(t, 0.0), 1.0)
    return math.dist(at, (a[0] + t * dx, a[1] + t * dy))

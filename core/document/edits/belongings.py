"""Openings and marks of a panel: found at a place, and deleted."""

from dataclasses import dataclass

from msgspec.structs import replace
from shapely import LineString, Point, Polygon

from core.document.edits.panels import replace_panel
from core.document.flatten import flatten
from core.document.job import Job
from core.document.panel import Mark, Panel
from core.document.path import Point as Place


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
    spot = Point(at)
    for mark in panel.marks:
        if _spine(mark).distance(spot) <= max(mark.radius_mm, reach_mm):
            return Belonging(panel.id, mark.id, f"the {mark.kind.value}")
    for opening in panel.openings:
        ring = flatten(opening.nodes, closed=True)
        if len(ring) > 2 and Polygon(ring).distance(spot) == 0.0:
            return Belonging(panel.id, opening.id, opening.name or "the opening")
    return None


def delete_belonging(job: Job, one: Belonging) -> Job:
    """Delete an opening or a mark; KeyError when the panel has none of that id."""
    panel = job.panel(one.panel)
    openings = tuple(o for o in panel.openings if o.id != one.id)
    marks = tuple(m for m in panel.marks if m.id != one.id)
    if len(openings) + len(marks) == len(panel.openings) + len(panel.marks):
        raise KeyError(one.id)
    return replace_panel(job, replace(panel, openings=openings, marks=marks))


def _spine(mark: Mark) -> Point | LineString:
    return Point(mark.path[0]) if len(mark.path) == 1 else LineString(mark.path)

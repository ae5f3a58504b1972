"""How far things lie from their neighbours, and where panels come to lie in line.

Questions of a person who places something; nothing here decides anything.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.document.flatten import flatten
from core.document.hit import is_closed
from core.document.job import Job
from core.document.panel import Panel
from core.document.path import Point
from core.plan.memory import Memory

Box = tuple[float, float, float, float]
LEAST_GAP_MM = 0.05
"""What is nearer touches."""
_FAR_MM = 1e6

_areas: Memory[Polygon] = Memory(400)


@dataclass(frozen=True, slots=True)
class Gap:
    """A clear distance, level or upright, between two points of the canvas."""

    start: Point
    end: Point
    length_mm: float


@dataclass(frozen=True, slots=True)
class Aligned:
    """A step that brings something in line; ``word`` says with what, "" with nothing."""

    step_mm: float
    word: str = ""


def area_of(panel: Panel) -> Polygon:
    """Return the area within a panel's outline, in its own frame."""

    def make() -> Polygon:
        ring = flatten(panel.outline, closed=True)
        return Polygon(ring) if len(ring) > 2 else Polygon()

    return _areas.recall((panel.outline,), None, make)


def box_of(panels: Iterable[Panel]) -> Box | None:
    """Return the bounds of panels on the canvas; None when there are none."""
    boxes = [_box(panel) for panel in panels if not area_of(panel).is_empty]
    if not boxes:
        return None
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _box(panel: Panel) -> Box:
    x0, y0, x1, y1 = area_of(panel).bounds
    dx, dy = panel.at
    return x0 + dx, y0 + dy, x1 + dx, y1 + dy


def _others(job: Job, moved: Collection[str]) -> list[Panel]:
    return [
        p
        for p in job.panels
        if p.id not in moved and not p.is_hidden and not area_of(p).is_empty
    ]


def gaps_beside(job: Job, moved: Collection[str]) -> tuple[Gap, ...]:
    """Return the clear distances of panels, as one group, to the nearest on each side.

    Bounds are measured. Panels that overlap the group sideways count; those over it do not.
    """
    box = box_of(p for p in job.panels if p.id in moved)
    if box is None:
        return ()
    boxes = [_box(p) for p in _others(job, moved)]
    across = _nearest(box, boxes)
    upright = _nearest(_turned(box), [_turned(b) for b in boxes])
    return across + tuple(Gap(g.start[::-1], g.end[::-1], g.length_mm) for g in upright)


def _turned(box: Box) -> Box:
    return box[1], box[0], box[3], box[2]


def _nearest(box: Box, boxes: list[Box]) -> tuple[Gap, ...]:
    """Return the level gaps to the nearest box on the left and on the right."""
    x0, y0, x1, y1 = box
    beside = [b for b in boxes if b[1] < y1 and b[3] > y0]
    lefts = [b for b in beside if b[2] <= x0 - LEAST_GAP_MM]
    rights = [b for b in beside if b[0] >= x1 + LEAST_GAP_MM]
    gaps = []
    if lefts:
        b = max(lefts, key=lambda b: b[2])
        y = (max(y0, b[1]) + min(y1, b[3])) / 2
        gaps.append(Gap((b[2], y), (x0, y), x0 - b[2]))
    if rights:
        b = min(rights, key=lambda b: b[0])
        y = (max(y0, b[1]) + min(y1, b[3])) / 2
        gaps.append(Gap((x1, y), (b[0], y), b[0] - x1))
    return tuple(gaps)


def gaps_from(job: Job, at: Point) -> tuple[Gap, ...]:
    """Return how far a point is from the nearest rim to the left, right, below and above."""
    boxes = [(_box(panel), panel) for panel in _others(job, ())]
    gaps = []
    for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        near = _nearest_hit(boxes, at, (dx, dy))
        if near is not None:
            gaps.append(Gap(at, (at[0] + dx * near, at[1] + dy * near), near))
    return tuple(gaps)


def _nearest_hit(
    boxes: list[tuple[Box, Panel]], at: Point, way: tuple[int, int]
) -> float | None:
    """Return how far it is to the first rim on the way; boxes spare asking most panels."""
    axis, sign = (0, way[0]) if way[0] else (1, way[1])
    ahead = []
    for box, panel in boxes:
        if not box[1 - axis] <= at[1 - axis] <= box[3 - axis]:
            continue
        sides = sorted((sign * (box[axis] - at[axis]), sign * (box[axis + 2] - at[axis])))
        if sides[1] > 0:
            ahead.append((sides[0], panel))
    best: float | None = None
    for least, panel in sorted(ahead, key=lambda pair: pair[0]):
        if best is not None and least > best:
            break
        hit = _first_hit(shapely.boundary(area_of(panel)), panel.at, at, way)
        if hit is not None and (best is None or hit < best):
            best = hit
    return best


def _first_hit(
    rim: shapely.Geometry, offset: Point, at: Point, way: tuple[int, int]
) -> float | None:
    x, y = at[0] - offset[0], at[1] - offset[1]
    ray = LineString([(x, y), (x + way[0] * _FAR_MM, y + way[1] * _FAR_MM)])
    points = shapely.get_coordinates(shapely.intersection(rim, ray))
    away = np.abs((points - np.array([x, y])) @ np.array(way))
    away = away[away > LEAST_GAP_MM]
    return float(away.min()) if len(away) else None


def align(
    job: Job, moved: Collection[str], step: Point, reach_mm: float, grid_mm: float | None
) -> tuple[Aligned, Aligned]:
    """Return the steps across and up, near a given one, that bring panels in line.

    Their left, middle and right (lower, middle and upper) come to lie on guides or in line
    with those of other panels; else their lower left corner on the grid, where there is one.
    """
    box = box_of(p for p in job.panels if p.id in moved)
    if box is None:
        return Aligned(step[0]), Aligned(step[1])
    found = []
    for axis, way in ((0, "upright"), (1, "level")):
        low, high = box[axis], box[axis + 2]
        own = (low, high, (low + high) / 2)
        wanted = [("guide", g.at_mm) for g in job.guides if g.way == way]
        for panel in _others(job, moved):
            b = _box(panel)
            wanted += [(f"in line with {panel.name}", v) for v in (b[axis], b[axis + 2])]
        found.append(_nearest_step(own, wanted, step[axis], reach_mm, grid_mm))
    return found[0], found[1]


def _nearest_step(
    own: tuple[float, ...],
    wanted: list[tuple[str, float]],
    step: float,
    reach_mm: float,
    grid_mm: float | None,
) -> Aligned:
    best, best_off = Aligned(step), reach_mm
    for word, value in wanted:
        for edge in own:
            off = abs(edge + step - value)
            if off < best_off - 1e-9:
                best, best_off = Aligned(value - edge, word), off
    if not best.word and grid_mm:
        snapped = round((own[0] + step) / grid_mm) * grid_mm
        if abs(own[0] + step - snapped) <= reach_mm:
            best = Aligned(snapped - own[0], "grid")
    return best


def panels_within(job: Job, box: Box) -> tuple[str, ...]:
    """Return the panels that are shown and lie wholly in a rectangle of the canvas."""
    return tuple(p.id for p in _others(job, ()) if _is_inside(_box(p), box))


def lines_within(job: Job, variant: str, box: Box) -> tuple[str, ...]:
    """Return the lines on panels that are shown that lie wholly in a rectangle."""
    found = []
    for panel in _others(job, ()):
        for line in job.scheme(variant, panel.id).lines:
            points = flatten(line.nodes, closed=is_closed(line)) + np.array(panel.at)
            (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
            if _is_inside((float(x0), float(y0), float(x1), float(y1)), box):
                found.append(line.id)
    return tuple(found)


def _is_inside(inner: Box, outer: Box) -> bool:
    return (
        outer[0] <= inner[0]
        and outer[1] <= inner[1]
        and inner[2] <= outer[2]
        and inner[3] <= outer[3]
    )

"""Lines that are drawn already: what they divide, and how they hang together."""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.shape.proposals.costs import parts_of
from core.shape.proposals.families import Family, run_on

_MEET_MM = 1.0
_EVEN_MM = 3.0


def divided(area: Polygon, lines: Sequence[LineString]) -> list[Polygon]:
    """Return the pieces into which lines divide an area; ends that lead nowhere do nothing."""
    if not lines:
        return [area]
    longer = [run_on(line, _MEET_MM) for line in lines if line.length > 0]
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all([area.boundary, *longer])]))
    return [
        part
        for face in faces
        if area.contains(face.representative_point())
        for part in parts_of(face)
    ]


def lines_within(lines: Sequence[LineString], area: Polygon) -> tuple[LineString, ...]:
    """Return the stretches of lines that lie on an area."""
    inside = (shapely.intersection(line, area) for line in lines)
    return tuple(
        part
        for line in inside
        for part in shapely.get_parts(line)
        if isinstance(part, LineString)
    )


def whole_lines(parts: Sequence[LineString]) -> list[LineString]:
    """Return lines that were drawn in one, made of the stretches that they were parted into."""
    if not parts:
        return []
    merged = shapely.line_merge(shapely.union_all(list(parts)))
    return [line for line in shapely.get_parts(merged) if isinstance(line, LineString)]


def runs_along(line: shapely.Geometry, family: Family) -> bool:
    """Return whether a line is one of a family's own."""
    points = shapely.get_coordinates(shapely.segmentize(line, shapely.length(line) / 20))
    return bool(np.ptp(family.value_at(points)) < _EVEN_MM)

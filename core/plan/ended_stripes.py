"""Ends of stripes that stop on another line: cut along it instead of square.

A square end on a slanted line would leave a corner of film between the two, and reach past the
line at its other corner.
"""

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.ops import split

from core.document.lines import Stripe
from core.geometry.run_on import end_direction, is_on_rim
from core.plan.panel_shape import PanelShape
from core.plan.traced_line import TracedLine
from core.tolerance import JOIN_MM, REACH_MM

Points = NDArray[np.float64]

ON_LINE_MM = 1e-6
"""Corners of a cut end lie on the line that cut it to within rounding."""


def end_stripes(traced: list[TracedLine], shape: PanelShape) -> list[TracedLine]:
    """Return the lines, stripes that stop on another line ending along it.

    The corners of such an end become points of the other line as well, so that the two have
    exactly the same course there.
    """
    made = list(traced)
    for i, own in enumerate(made):
        if not isinstance(own.line, Stripe) or own.cutter is None:
            continue
        for at_start in (True, False):
            j = _find_line_at(made, i, shape, at_start=at_start)
            if j is None:
                continue
            ended = _ended(made[i], made[j], at_start=at_start)
            if ended is not None:
                made[i], made[j] = ended
    return made


def _find_line_at(
    lines: list[TracedLine], own: int, shape: PanelShape, *, at_start: bool
) -> int | None:
    """Return the line on which a stripe's end lies inside the panel, if any."""
    coords = np.asarray(lines[own].drawn.coords)
    end = coords[0 if at_start else -1]
    assert shape.outline is not None
    if is_on_rim(end, shape.outline):
        return None
    here = Point(*end)
    for j, other in enumerate(lines):
        if j == own or other.cutter is None:
            continue
        if LineString(other.cutter).distance(here) <= REACH_MM:
            return j
    return None


def _ended(
    own: TracedLine, other: TracedLine, *, at_start: bool
) -> tuple[TracedLine, TracedLine] | None:
    """Return the stripe cut along the other line, and that line with the corners on it.

    None when the line does not run across the whole end.
    """
    assert isinstance(own.line, Stripe)
    assert own.area is not None
    assert other.cutter is not None
    width = own.line.start_width_mm if at_start else own.line.end_width_mm
    beyond = _beyond(own, width, at_start=at_start)
    edge = LineString(other.cutter)
    parts = list(split(shapely.union(own.area, beyond), edge).geoms)
    far = LineString(beyond.exterior.coords[1:3])
    past = [p for p in parts if p.distance(far) < JOIN_MM]
    kept = shapely.union_all([p for p in parts if p.distance(far) >= JOIN_MM])
    lost = shapely.area(shapely.intersection(shapely.union_all(past), own.area))
    if not isinstance(kept, Polygon) or kept.is_empty or lost > 2 * width**2:
        return None
    area = shapely.orient_polygons(kept)
    ring = np.asarray(area.exterior.coords)
    on_edge = shapely.distance(edge, shapely.points(ring[:-1])) < ON_LINE_MM
    cutter = _with_points(other.cutter, edge, ring[:-1][on_edge])
    return replace(own, cutter=ring, area=area), replace(other, cutter=cutter)


def _beyond(own: TracedLine, width: float, *, at_start: bool) -> Polygon:
    """Return the stripe's way on past a square end, for a length of two widths.

    The first two points of its ring are a corner of the end and what that becomes; the edge
    behind them is the far one.
    """
    assert own.cutter is not None
    coords = np.asarray(own.drawn.coords)
    way = end_direction(coords, at_start=at_start)
    side = np.array([-way[1], way[0]]) * (width / 2)
    tip = coords[0 if at_start else -1]
    # The very corners of the ring, which were rounded.
    corners = [
        own.cutter[np.argmin(np.hypot(*(own.cutter - c).T))] for c in (tip - side, tip + side)
    ]
    onward = way * (2 * width + 1.0)
    return Polygon([corners[0], corners[0] + onward, corners[1] + onward, corners[1]])


def _with_points(cutter: Points, edge: LineString, added: Points) -> Points:
    """Return a polyline with points that lie on it put in where they belong."""
    is_new = ~(added[:, None] == cutter[None]).all(axis=2).any(axis=1)
    added = added[is_new]
    steps = np.hypot(*np.diff(cutter, axis=0).T)
    run = np.concatenate([[0.0], np.cumsum(steps)])
    places: Points = np.asarray(shapely.line_locate_point(edge, shapely.points(added)))
    order = np.argsort(places)
    return np.insert(cutter, np.searchsorted(run, places[order]), added[order], axis=0)

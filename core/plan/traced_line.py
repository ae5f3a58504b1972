"""Lines as each cuts a panel on its own: flattened, run on over the turned rim."""

from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from core.document.flatten import flatten
from core.document.lines import DividingLine, Seam, Stripe, line_name
from core.geometry.ribbon import begun_near, ribbon, side_line, widths_along
from core.geometry.run_on import (
    exit_distance,
    is_on_rim,
    leaving_direction,
    run_on_rim,
)
from core.ids import LineId
from core.plan.memory import Memory
from core.plan.model import Finding, Severity
from core.plan.panel_shape import PanelShape
from core.tolerance import QUANTUM_MM, REACH_MM, RUN_ON_MM

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TracedLine:
    """A line as it cuts its panel.

    Attributes:
        drawn: the line as drawn, flattened (a stripe's centre line).
        cutter: polyline that cuts; a ring repeats its first point. None when it cannot cut.
        area: of a stripe or inlay.
    """

    line: DividingLine
    drawn: LineString
    cutter: Points | None
    area: Polygon | None
    findings: tuple[Finding, ...] = ()


_traced: Memory[TracedLine] = Memory(4000)


def trace_lines(lines: tuple[DividingLine, ...], shape: PanelShape) -> list[TracedLine]:
    """Return the lines as each cuts the panel on its own."""
    return [_traced.recall((line, shape), None, partial(_trace, line, shape)) for line in lines]


def _trace(line: DividingLine, shape: PanelShape) -> TracedLine:
    """Return the line as it cuts on its own; one that misses the panel cuts nothing."""
    traced = _trace_alone(line, shape)
    if traced.cutter is None:
        return traced
    within = traced.drawn if traced.area is None else traced.area
    assert shape.outline is not None
    inside = within.intersection(shape.outline)
    if (inside.length if traced.area is None else inside.area) >= 1.0:
        return traced
    text = f"{line_name(line)} misses the panel. Move it onto the panel, or delete it."
    at = traced.drawn.interpolate(0.5, normalized=True)
    finding = Finding(
        "S201", Severity.WARNING, text, where=(at.x, at.y), lines=(LineId(line.id),)
    )
    return TracedLine(line, traced.drawn, None, None, (finding,))


def _trace_alone(line: DividingLine, shape: PanelShape) -> TracedLine:
    if isinstance(line, Seam):
        return _trace_seam(line, shape)
    if isinstance(line, Stripe):
        return _trace_stripe(line, shape)
    points = flatten(line.nodes, closed=True)
    if len(points) < 3 or not Polygon(points).is_valid or Polygon(points).area < 1e-6:
        return _unusable(line, points, "crosses itself or has no area")
    area = shapely.orient_polygons(Polygon(points))
    ring = np.asarray(area.exterior.coords)
    return TracedLine(line, LineString(ring), ring, area)


def _trace_seam(line: Seam, shape: PanelShape) -> TracedLine:
    points = flatten(line.nodes, closed=False)
    if len(points) < 2:
        return _unusable(line, points, "has no length")
    drawn = LineString(points)
    if not drawn.is_simple:
        return _unusable(line, points, "crosses itself")
    assert shape.outline is not None
    if len(points) > 3 and np.hypot(*(points[0] - points[-1])) <= REACH_MM:
        ring = np.vstack([points[:-1], points[:1]])
        return TracedLine(line, drawn, ring, None)
    return TracedLine(line, drawn, run_on_rim(points, shape.outline, shape.extended), None)


def _trace_stripe(line: Stripe, shape: PanelShape) -> TracedLine:
    points = flatten(line.nodes, closed=False)
    if len(points) < 2:
        return _unusable(line, points, "has no length")
    if line.start_width_mm <= 0 and line.end_width_mm <= 0:
        return _unusable(line, points, "has no width")
    widths = widths_along(points, line.start_width_mm, line.end_width_mm)
    centre, spans = _run_on_stripe(points, widths, shape)
    area = ribbon(centre, spans)
    if area is None:
        return _unusable(line, points, "folds onto itself")
    area = _rounded(area)
    return TracedLine(line, LineString(points), np.asarray(area.exterior.coords), area)


def _rounded(area: Polygon) -> Polygon:
    """Return an area rounded once, like all that is drawn, and still valid."""
    ring = np.asarray(area.exterior.coords)
    rounded = Polygon(np.round(ring / QUANTUM_MM) * QUANTUM_MM)
    if rounded.is_valid:
        return rounded
    # Round joints touch the straight sides of a folded stripe by less than the quantum.
    parts = shapely.get_parts(shapely.set_precision(area, QUANTUM_MM))
    return begun_near(max(parts, key=lambda p: p.area), ring[0])


def _run_on_stripe(points: Points, widths: Points, shape: PanelShape) -> tuple[Points, Points]:
    """Run a stripe's ends that lie on the rim on until both its sides are past it."""
    inner, outer = shape.outline, shape.extended
    assert inner is not None
    for at_start in (True, False):
        at = 0 if at_start else -1
        if not is_on_rim(points[at], inner):
            continue
        direction = leaving_direction(points, inner, at_start=at_start)
        half = widths[at] / 2
        rays = [side_line(points, np.full(len(points), o))[at] for o in (0, half, -half)]
        # A side may still be well inside where the rim runs slantwise: bounded, so that a side
        # which runs along the rim does not run on for ever.
        limit = 4 * widths[at] + 200
        reach = max(min(exit_distance(r, direction, inner, outer), limit) for r in rays)
        end = points[at] + direction * (reach + RUN_ON_MM + 1.0)
        if at_start:
            points = np.vstack([end, points])
            widths = np.concatenate([widths[:1], widths])
        else:
            points = np.vstack([points, end])
            widths = np.concatenate([widths, widths[-1:]])
    return points, widths


def _unusable(line: DividingLine, points: Points, why: str) -> TracedLine:
    name = line_name(line)
    where = (float(points[0][0]), float(points[0][1]))
    finding = Finding(
        "S206",
        Severity.STOP,
        f"{name} {why}. Move its nodes, or delete it.",
        where=where,
        lines=(LineId(line.id),),
    )
    drawn = LineString(points if len(points) > 1 else np.vstack([points, points]))
    return TracedLine(line, drawn, None, None, (finding,))

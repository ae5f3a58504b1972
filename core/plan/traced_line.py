"""Lines as they cut a panel: flattened, run on over the turned rim and other lines."""

from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from core.document.flatten import flatten
from core.document.lines import Line, Seam, Stripe, line_name
from core.geometry.ribbon import ribbon, side_line, widths_along
from core.geometry.run_on import (
    exit_distance,
    is_on_rim,
    leaving_direction,
    run_on_line,
    run_on_rim,
)
from core.ids import LineId
from core.plan.memory import Memory
from core.plan.model import Finding, Severity
from core.plan.panel_shape import PanelShape
from core.tolerance import QUANTUM_MM, RUN_ON_MM

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TracedLine:
    """A line as it cuts its panel.

    Attributes:
        drawn: the line as drawn, flattened (a stripe's centre line).
        cutter: polyline that cuts; a ring repeats its first point. None when it cannot cut.
        area: of a stripe or inlay.
    """

    line: Line
    drawn: LineString
    cutter: Points | None
    area: Polygon | None
    findings: tuple[Finding, ...] = ()


_traced: Memory[TracedLine] = Memory(4000)


def trace_lines(lines: tuple[Line, ...], shape: PanelShape) -> list[TracedLine]:
    """Return the lines as they cut the panel, seam ends run on across the lines they end on."""
    traced = [
        _traced.recall((line, shape), None, partial(_trace, line, shape)) for line in lines
    ]
    edges = [_edge_line(t) for t in traced]
    return [_joined(t, [e for e in edges if e and e[0] is not t], shape) for t in traced]


def _edge_line(traced: TracedLine) -> tuple[TracedLine, LineString] | None:
    return None if traced.cutter is None else (traced, LineString(traced.cutter))


def _joined(
    traced: TracedLine, others: list[tuple[TracedLine, LineString]], shape: PanelShape
) -> TracedLine:
    """Run the ends of a seam that stop on another line on across it."""
    if not isinstance(traced.line, Seam) or traced.cutter is None or shape.outline is None:
        return traced
    points = traced.cutter
    for at_start in (True, False):
        end = points[0] if at_start else points[-1]
        if shapely.intersects_xy(shape.extended, *end):
            reached = run_on_line(points, [o for _, o in others], at_start=at_start)
            points = points if reached is None else reached
    if points is traced.cutter:
        return traced
    return TracedLine(traced.line, traced.drawn, points, traced.area, traced.findings)


def _trace(line: Line, shape: PanelShape) -> TracedLine:
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
    # Rounded once, like all that is drawn; the run-ons past the rim do not matter.
    ring = np.round(np.asarray(area.exterior.coords) / QUANTUM_MM) * QUANTUM_MM
    area = Polygon(ring)
    if not area.is_valid or area.area <= 0:
        return _unusable(line, points, "folds onto itself")
    return TracedLine(line, LineString(points), ring, shapely.orient_polygons(area))


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


def _unusable(line: Line, points: Points, why: str) -> TracedLine:
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

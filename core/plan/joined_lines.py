"""Ends of seams that meet each other or stop on another line, joined so that they divide."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from core.document.lines import Seam
from core.geometry.run_on import run_on_line
from core.plan.ended_stripes import end_stripes
from core.plan.panel_shape import PanelShape
from core.plan.traced_line import TracedLine
from core.tolerance import REACH_MM

Points = NDArray[np.float64]


def join_lines(traced: list[TracedLine], shape: PanelShape) -> list[TracedLine]:
    """Return the lines joined.

    Ends of seams that meet are moved onto one point, ends of seams on lines run on across them,
    and ends of stripes on lines are cut along them.
    """
    met = end_stripes(_meet_ends(traced), shape)
    edges = [None if t.cutter is None else LineString(t.cutter) for t in met]
    return [
        _joined(t, [e for j, e in enumerate(edges) if e and j != i], shape)
        for i, t in enumerate(met)
    ]


def _joined(traced: TracedLine, others: list[LineString], shape: PanelShape) -> TracedLine:
    """Run the ends of a seam that stop on another line on across it."""
    if not isinstance(traced.line, Seam) or traced.cutter is None:
        return traced
    points = traced.cutter
    for at_start in (True, False):
        end = points[0] if at_start else points[-1]
        if shapely.intersects_xy(shape.extended, *end):
            reached = run_on_line(points, others, at_start=at_start)
            points = points if reached is None else reached
    return traced if points is traced.cutter else _with_cutter(traced, points)


def _meet_ends(traced: list[TracedLine]) -> list[TracedLine]:
    """Move each end of a seam that lies within reach of an earlier seam's end onto it.

    On the rim only the earlier seam then runs on: were both to, they would cross there and
    leave a scrap of turned film beyond.
    """
    open_seams = [i for i, t in enumerate(traced) if _is_open_seam(t)]
    ends = np.array([c for i in open_seams for c in _drawn_ends(traced[i])]).reshape(-1, 2)
    apart = np.hypot(*(ends[:, None] - ends[None]).T).T
    met = list(traced)
    for late in range(2, len(ends)):
        near = np.flatnonzero(apart[late, : late - late % 2] <= REACH_MM)
        if len(near):
            ends[late] = ends[near[0]]
            i = open_seams[late // 2]
            met[i] = _with_cutter(
                met[i], _end_moved(met[i], traced[i], ends[late], at_start=late % 2 == 0)
            )
    return met


def _is_open_seam(traced: TracedLine) -> bool:
    cutter = traced.cutter
    return (
        isinstance(traced.line, Seam)
        and cutter is not None
        and not np.array_equal(cutter[0], cutter[-1])
    )


def _drawn_ends(traced: TracedLine) -> tuple[Points, Points]:
    coords = np.asarray(traced.drawn.coords)
    return coords[0], coords[-1]


def _end_moved(traced: TracedLine, alone: TracedLine, to: Points, *, at_start: bool) -> Points:
    """Return the cutter ending at a point instead of where it was drawn to or run on to."""
    assert traced.cutter is not None
    assert alone.cutter is not None
    points = traced.cutter
    drawn = _drawn_ends(alone)[0 if at_start else 1]
    end = alone.cutter[0 if at_start else -1]
    drop = 1 if np.array_equal(end, drawn) else 2
    return np.vstack([to, points[drop:]]) if at_start else np.vstack([points[:-drop], to])


def _with_cutter(traced: TracedLine, points: Points) -> TracedLine:
    return TracedLine(traced.line, traced.drawn, points, traced.area, traced.findings)

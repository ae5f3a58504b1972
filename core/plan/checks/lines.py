"""Checks on seams, stripes and inlays as they run over the panel."""

import math
from collections.abc import Iterator
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point

from core.document.lines import Seam, SeamCut, Stripe, line_name
from core.ids import LineId
from core.plan.checks.context import Review
from core.plan.memory import Memory
from core.plan.model import Finding, Severity
from core.plan.panel_shape import PanelShape
from core.plan.traced_line import TracedLine
from core.tolerance import JOIN_MM, REACH_MM

TANGENT_DEG = 10.0
"""Lines that meet at a sharper angle leave tips that cannot be cut or laid."""

END_MM = 0.5
"""A line with less of itself left than this ends here."""

_alone: Memory[tuple[Finding, ...]] = Memory(4000)
_pairs: Memory[tuple[Finding, ...]] = Memory(20000)


def check_lines(review: Review) -> Iterator[Finding]:
    """Check each line alone, then each pair; both remembered, since a drag moves one line."""
    for traced in review.traced:
        yield from traced.findings
        if traced.cutter is not None:
            yield from _alone.recall(
                (traced.line, review.shape), None, partial(_alone_on, traced, review)
            )
    sound = [t for t in review.traced if t.cutter is not None]
    for i, one in enumerate(sound):
        for two in sound[i + 1 :]:
            yield from _pairs.recall(
                (one.line, two.line, review.shape),
                None,
                partial(_tangent, one, two, review.shape),
            )


def check_dividing(review: Review) -> Iterator[Finding]:
    """Tell of lines that divide nothing: loose ends, and slits from rim to opening."""
    for idle in review.mapped.arrangement.idle:
        middle = idle.interpolate(0.5, normalized=True)
        owner = min(
            (t for t in review.traced if t.cutter is not None),
            key=lambda t: LineString(t.cutter).distance(middle),
        )
        text = (
            f"{line_name(owner.line)} does not divide the film here. Draw it on to the rim or"
            " to another line, or shorten it."
        )
        yield _finding("S205", Severity.WARNING, text, middle, owner)


def check_butts(review: Review) -> Iterator[Finding]:
    """Remind that a butt seam has no lap."""
    for traced in review.traced:
        cut = traced.line.rule.cut or review.settings.seam_cut
        if cut is SeamCut.BUTT and traced.cutter is not None:
            at = traced.drawn.interpolate(0.5, normalized=True)
            text = (
                f"{line_name(traced.line)} is a butt seam: the films meet edge to edge, and a"
                " gap opens when they draw back. Give it a lap if it may."
            )
            yield _finding("A304", Severity.NOTE, text, at, traced)


def _alone_on(traced: TracedLine, review: Review) -> tuple[Finding, ...]:
    return tuple(_iter_alone_on(traced, review))


def _iter_alone_on(traced: TracedLine, review: Review) -> Iterator[Finding]:
    line = LineString(traced.cutter)
    name = line_name(traced.line)
    yield from _along_rim(traced, line, review)
    for mark in review.panel.marks:
        shape = Point(mark.path[0]) if len(mark.path) == 1 else LineString(mark.path)
        if mark.kind.value in {"bolt", "badge"} and line.distance(shape) < mark.radius_mm:
            spot = shape.representative_point()
            text = f"{name} runs through a {mark.kind.value}. Move it clear of it if you can."
            yield _finding("S208", Severity.NOTE, text, spot, traced)


def _along_rim(traced: TracedLine, line: LineString, review: Review) -> Iterator[Finding]:
    """Tell when a line runs along the rim, nearer than the house's reach, for a while."""
    outline = review.shape.outline
    assert outline is not None
    rim = outline.boundary
    if isinstance(traced.line, Seam):
        line = traced.drawn
    near = shapely.intersection(line, shapely.buffer(rim, REACH_MM, quad_segs=2))
    longest = max(
        (part for part in shapely.get_parts(near)), key=lambda p: p.length, default=None
    )
    if longest is not None and longest.length > 5.0:
        at = longest.interpolate(0.5, normalized=True)
        mend = (
            "Move it inward, or let the edge turn do its work."
            if isinstance(traced.line, Seam)
            else "Move it inward, or let it reach out over the rim."
        )
        text = (
            f"{line_name(traced.line)} runs along the rim for {longest.length:.0f} mm. {mend}"
        )
        yield _finding("S202", Severity.WARNING, text, at, traced)


def _tangent(one: TracedLine, two: TracedLine, shape: PanelShape) -> tuple[Finding, ...]:
    """Tell where two lines cross or touch at a sharp angle inside the panel."""
    a, b = LineString(one.cutter), LineString(two.cutter)
    meeting = shapely.intersection(a, b)
    if not meeting.is_empty:
        meeting = shapely.intersection(meeting, shape.extended)
    for part in _joined_parts(meeting):
        if part.is_empty or _is_stripe_end(one, part) or _is_stripe_end(two, part):
            continue
        # Where one seam starts at the other's end, their run-ons overlap by a hair.
        is_overlap = part.length > JOIN_MM
        at = part.representative_point()
        if is_overlap or _angle_between(a, b, at) < TANGENT_DEG:
            text = (
                f"{line_name(one.line)} and {line_name(two.line)} run into each other at a"
                " sharp angle. Let them cross more squarely, or end one before the other."
            )
            lines = (LineId(one.line.id), LineId(two.line.id))
            where = (float(at.x), float(at.y))
            return (Finding("S203", Severity.WARNING, text, where=where, lines=lines),)
    return ()


def _joined_parts(meeting: shapely.Geometry) -> list[Point | LineString]:
    """Return points, and overlaps each as one line."""
    parts: list[Point | LineString] = list(shapely.get_parts(meeting))
    runs = [p for p in parts if isinstance(p, LineString)]
    if not runs:
        return parts
    joined = shapely.line_merge(shapely.multilinestrings(runs))
    return [*(p for p in parts if isinstance(p, Point)), *shapely.get_parts(joined)]


def _is_stripe_end(traced: TracedLine, overlap: Point | LineString) -> bool:
    """Whether a line is a stripe that ends along the other line here."""
    if not isinstance(traced.line, Stripe) or overlap.length == 0:
        return False
    ends = shapely.points([traced.drawn.coords[0], traced.drawn.coords[-1]])
    return bool(shapely.distance(ends, overlap).min() <= REACH_MM)


def _angle_between(a: LineString, b: LineString, at: Point) -> float:
    """Return the least angle in degrees, 0 to 180, between two lines where they meet.

    Measured between the ways that lead off: a line that begins where another ends carries it
    on, however straight.
    """
    cosine = float(np.max(_ways(a, at) @ _ways(b, at).T, initial=-1.0))
    return math.degrees(math.acos(max(-1.0, min(cosine, 1.0))))


def _ways(line: LineString, at: Point) -> NDArray[np.float64]:
    """Return the directions in which a line leads off from a point: one at an end, else two.

    Degenerate input: none where the line turns back on itself at once.
    """
    s = line.project(at)
    here = line.interpolate(s)
    is_ring = line.is_ring
    ways = []
    for step in (-1.0, 1.0):
        along = (s + step) % line.length if is_ring else min(max(s + step, 0.0), line.length)
        there = line.interpolate(along)
        way = np.array([there.x - here.x, there.y - here.y])
        size = float(np.hypot(*way))
        if size > END_MM:
            ways.append(way / size)
    return np.array(ways).reshape(-1, 2)


def _finding(
    check: str, severity: Severity, text: str, at: Point, traced: TracedLine
) -> Finding:
    lines = (LineId(traced.line.id),)
    return Finding(check, severity, text, where=(float(at.x), float(at.y)), lines=lines)

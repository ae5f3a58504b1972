"""Kept dimensions in a scheme: those that lie on one panel, drawn over it."""

import math
from dataclasses import dataclass

from core.document.edits.drafting import dimension_line, ends_of, measure
from core.document.job import Job
from core.document.path import Point
from core.units import format_length
from core.write.inks import DARK, LIGHT
from core.write.page import Page

_TEXT = 0.7
_TICK = 0.35
_ABOVE = 0.3
_MOST_OFF = 1.6
"""A dimension line stands off at most so many units, so that it keeps near its panel."""


@dataclass(frozen=True, slots=True)
class Size:
    """A dimension in its panel's frame."""

    start: Point
    end: Point
    offset_mm: float
    words: str


def panel_sizes(job: Job, variant: str, panel_id: str) -> tuple[Size, ...]:
    """Return the dimensions both of whose ends lie on a panel, in its frame."""
    dx, dy = job.panel(panel_id).at
    sizes = []
    for one in job.dimensions:
        ends = ends_of(job, variant, one)
        if ends is None or {one.start.panel, one.end.panel} != {panel_id}:
            continue
        a, b = ((x - dx, y - dy) for x, y in ends)
        words = format_length(measure(a, b).length_mm, job.units)
        sizes.append(Size(a, b, one.offset_mm, words))
    return tuple(sizes)


def paint_size(page: Page, size: Size, at: Point, *, is_mirrored: bool) -> None:
    """Draw a dimension: its line with ticks, lines to what it measures, the size along it."""
    side = -1.0 if is_mirrored else 1.0
    a, b = ((side * x + at[0], y + at[1]) for x, y in (size.start, size.end))
    most = _MOST_OFF * page.unit
    p, q = dimension_line(a, b, side * min(max(size.offset_mm, -most), most))
    for pen, width in ((LIGHT, 0.3), (DARK, 0.1)):
        page.polyline((p, q), pen, width)
        page.polyline((a, p), pen, width * 0.8)
        page.polyline((b, q), pen, width * 0.8)
    tick = _TICK * page.unit
    for x, y in (p, q):
        page.polyline(((x - tick, y - tick), (x + tick, y + tick)), DARK, 0.14)
    angle = _reading_deg(measure(p, q).angle_deg)
    up = math.radians(angle + 90)
    x, y = (p[0] + q[0]) / 2, (p[1] + q[1]) / 2
    above = (x + _ABOVE * page.unit * math.cos(up), y + _ABOVE * page.unit * math.sin(up))
    page.text(size.words, above, _TEXT, anchor="middle", angle_deg=angle)


def _reading_deg(angle_deg: float) -> float:
    """Return the angle, or the opposite one, at which text can be read: over -90 up to 90."""
    turned = (angle_deg + 90) % 360 - 90
    return turned if turned <= 90 else turned - 180

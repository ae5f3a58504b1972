"""What every drawing file comes down to: strokes of lines, curves and arcs on named layers.

Points are complex numbers, x + iy, y up, in the file's own units: affine maps and Bezier curves
then read as formulae. Arcs stay arcs of ellipses until the scale is known, so that they become
as few curves as the tolerance in millimetres asks for.
"""

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Affine:
    """The map z -> a z + b conj(z) + c; every affine map of the plane is one."""

    a: complex = 1
    b: complex = 0
    c: complex = 0

    def __call__(self, z: complex) -> complex:
        """Map a point."""
        return self.a * z + self.b * z.conjugate() + self.c

    def vector(self, z: complex) -> complex:
        """Map a direction: nothing is moved."""
        return self.a * z + self.b * z.conjugate()

    @property
    def stretch(self) -> float:
        """The largest factor by which it lengthens anything."""
        return abs(self.a) + abs(self.b)

    @staticmethod
    def from_frame(origin: complex, x: complex, y: complex) -> "Affine":
        """Return the map that takes 0, 1 and i to three points."""
        right, up = x - origin, (y - origin) / 1j
        return Affine((right + up) / 2, (right - up) / 2, origin)


@dataclass(frozen=True, slots=True)
class LineTo:
    """A straight line to ``end``."""

    end: complex

    def mapped(self, to: Affine) -> "LineTo":
        """Return it as the map leaves it."""
        return LineTo(to(self.end))


@dataclass(frozen=True, slots=True)
class CurveTo:
    """A cubic Bezier curve to ``end``."""

    first: complex
    second: complex
    end: complex

    def mapped(self, to: Affine) -> "CurveTo":
        """Return it as the map leaves it."""
        return CurveTo(to(self.first), to(self.second), to(self.end))


@dataclass(frozen=True, slots=True)
class ArcTo:
    """An arc of an ellipse, centre + u cos(t) + v sin(t).

    t runs from ``start_rad`` by ``sweep_rad``. ``end`` is the end, the same to the last digit
    as what the file says, so that neighbours meet.
    """

    centre: complex
    u: complex
    v: complex
    start_rad: float
    sweep_rad: float
    end: complex

    def mapped(self, to: Affine) -> "ArcTo":
        """Return it as the map leaves it."""
        return replace(
            self,
            centre=to(self.centre),
            u=to.vector(self.u),
            v=to.vector(self.v),
            end=to(self.end),
        )

    def at(self, t: float) -> complex:
        """Return the point at an angle."""
        return self.centre + self.u * math.cos(t) + self.v * math.sin(t)


StrokeStep = LineTo | CurveTo | ArcTo


@dataclass(frozen=True, slots=True)
class Stroke:
    """One unbroken run, as the file has it.

    Attributes:
        is_closed: whether the file says that it ends where it starts.
        is_filled: whether the file fills it, which closes it in a picture.
        name: what the file calls it (a block, an id), or "".
        kind: the file's word for the entity.
    """

    start: complex
    steps: tuple[StrokeStep, ...]
    layer: str = ""
    name: str = ""
    kind: str = ""
    is_closed: bool = False
    is_filled: bool = False

    def mapped(self, to: Affine) -> "Stroke":
        """Return it as the map leaves it."""
        steps = tuple(step.mapped(to) for step in self.steps)
        return replace(self, start=to(self.start), steps=steps)

    @property
    def end(self) -> complex:
        """Where it ends."""
        return self.steps[-1].end if self.steps else self.start


class Segment(NamedTuple):
    """A straight line, or a cubic Bezier curve when it has control points (both or neither)."""

    start: complex
    first: complex | None
    second: complex | None
    end: complex

    @property
    def is_curve(self) -> bool:
        """Whether it has control points."""
        return self.first is not None

    def reversed(self) -> "Segment":
        """Return it run the other way."""
        return Segment(self.end, self.second, self.first, self.start)


@dataclass(frozen=True, slots=True)
class Skipped:
    """What was left out: so many of a kind, and why."""

    kind: str
    reason: str
    count: int


@dataclass(frozen=True, slots=True)
class SourceLayer:
    """A layer of the file; ``is_shown`` is False where the file hides it."""

    name: str
    is_shown: bool = True


@dataclass(frozen=True)
class SourceDrawing:
    """All that was read from a file, before it is joined and sorted into panels.

    Attributes:
        mm_per_unit: as the file says; None when it says nothing.
        units_words: what its unit is and who says so, for the user; "" when nothing is said.
        notes: what the reader wants known, as sentences.
    """

    where: str
    strokes: tuple[Stroke, ...]
    layers: tuple[SourceLayer, ...]
    mm_per_unit: float | None
    units_words: str
    skipped: tuple[Skipped, ...] = ()
    notes: tuple[str, ...] = ()
    repairs: tuple[str, ...] = field(default=())


def segments_of(stroke: Stroke, scale: float, tolerance_mm: float) -> list[Segment]:
    """Return a stroke's lines and curves in millimetres.

    Args:
        stroke: in the file's units.
        scale: millimetres of one unit.
        tolerance_mm: how far a curve may be off the arc that it stands for.

    Degenerate input: steps of no length are dropped; a closed stroke gets the line that closes
    it, unless it has none to bridge.
    """
    found: list[Segment] = []
    here = stroke.start * scale
    for step in stroke.steps:
        for segment in _step_segments(here, step, scale, tolerance_mm):
            if not _is_nothing(segment):
                found.append(segment)
                here = segment.end
    if stroke.is_closed and found and abs(here - found[0].start) > 1e-6:
        found.append(Segment(here, None, None, found[0].start))
    return found


def _is_nothing(segment: Segment) -> bool:
    if segment.first is None or segment.second is None:
        return abs(segment.end - segment.start) < 1e-9
    reach = (segment.first, segment.second, segment.end)
    return all(abs(p - segment.start) < 1e-9 for p in reach)


def _step_segments(
    here: complex, step: StrokeStep, scale: float, tolerance_mm: float
) -> Iterator[Segment]:
    if isinstance(step, LineTo):
        yield Segment(here, None, None, step.end * scale)
    elif isinstance(step, CurveTo):
        yield Segment(here, step.first * scale, step.second * scale, step.end * scale)
    else:
        yield from _arc_segments(here, step.mapped(Affine(scale)), tolerance_mm)


def arc_error(radius: float, angle_rad: float) -> float:
    """Return how far the usual cubic Bezier curve of an arc strays from its circle.

    Source: with handles of 4/3 tan(angle/4) the curve touches the circle at both ends and in
    the middle, and strays most in between, by 2/27 sin^6(angle/4) / cos^2(angle/4) of the
    radius (T. Dokken and others, Good approximation of circles by curvature-continuous Bezier
    curves, 1990; from memory). The tests measure it.

    >>> round(arc_error(1.0, math.pi / 2), 6)
    0.000273
    """
    quarter = angle_rad / 4
    return radius * 2 / 27 * math.sin(quarter) ** 6 / math.cos(quarter) ** 2


def _arc_segments(here: complex, arc: ArcTo, tolerance_mm: float) -> Iterator[Segment]:
    radius = _longest_axis(arc.u, arc.v)
    sweep = abs(arc.sweep_rad)
    count = max(1, math.ceil(sweep / (math.pi / 2) - 1e-9))
    while arc_error(radius, sweep / count) > tolerance_mm:
        count += 1
    step = arc.sweep_rad / count
    reach = 4 / 3 * math.tan(step / 4)
    for i in range(count):
        t0, t1 = arc.start_rad + i * step, arc.start_rad + (i + 1) * step
        end = arc.end if i == count - 1 else arc.at(t1)
        first = here + reach * _slope(arc, t0)
        second = end - reach * _slope(arc, t1)
        yield Segment(here, first, second, end)
        here = end


def _slope(arc: ArcTo, t: float) -> complex:
    return arc.v * math.cos(t) - arc.u * math.sin(t)


def _longest_axis(u: complex, v: complex) -> float:
    """Return the longest radius of the ellipse u cos t + v sin t.

    It is the sum of two counter-rotating circles, (u - iv)/2 and (u + iv)/2.
    """
    return (abs(u - 1j * v) + abs(u + 1j * v)) / 2


def circle_arc(
    centre: complex, radius: float, start_rad: float, sweep_rad: float
) -> tuple[complex, ArcTo]:
    """Return where an arc of a circle starts, and the arc."""
    arc = ArcTo(centre, radius, radius * 1j, start_rad, sweep_rad, 0)
    start = arc.at(start_rad)
    whole = math.isclose(abs(sweep_rad), 2 * math.pi, abs_tol=1e-12)
    return start, replace(arc, end=start if whole else arc.at(start_rad + sweep_rad))


def bulge_step(start: complex, end: complex, bulge: float) -> StrokeStep:
    """Return the arc of a polyline's bulge: the tangent of a quarter of its angle.

    Source: DXF reference, LWPOLYLINE, group code 42; positive runs counter-clockwise.
    Degenerate input: no bulge, or no distance, gives a straight line.

    >>> arc = bulge_step(0, 2, 1.0)
    >>> arc.centre, round(arc.sweep_rad, 3)
    ((1+0j), 3.142)
    """
    chord, bulge = end - start, float(bulge)  # readers hand on numpy's numbers
    if abs(bulge) < 1e-9 or chord == 0:
        return LineTo(end)
    centre = start + chord / 2 * (1 + 1j * (1 - bulge * bulge) / (2 * bulge))
    radius = abs(chord) * (1 + bulge * bulge) / (4 * abs(bulge))
    return ArcTo(
        centre, radius, radius * 1j, cmath.phase(start - centre), 4 * math.atan(bulge), end
    )


def is_finite(stroke: Stroke) -> bool:
    """Return whether all its numbers are numbers."""
    for step in stroke.steps:
        points: tuple[complex, ...] = (step.end,)
        if isinstance(step, CurveTo):
            points = (step.first, step.second, step.end)
        elif isinstance(step, ArcTo):
            points = (step.centre, step.u, step.v, complex(step.start_rad, step.sweep_rad))
        if not all(cmath.isfinite(p) for p in points):
            return False
    return cmath.isfinite(stroke.start)

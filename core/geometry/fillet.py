"""Rounding a corner: a circular arc of a radius, tangent to both sides, straight or curved."""

import cmath
import math
from dataclasses import dataclass, replace

import numpy as np

from core.errors import GeometryError
from core.geometry.bezier import (
    Chain,
    Segment,
    arc,
    curvatures_at,
    derivatives_at,
    direction_at,
    length_of,
    point_at,
    sub_segment,
)

LEAST_TURN_RAD = math.radians(0.5)
"""A corner that turns less than this is none."""


@dataclass(frozen=True, slots=True)
class Fillet:
    """What becomes of a corner.

    Attributes:
        before, after: the two sides, cut back to where the arc touches them.
        rounding: the arc.
    """

    before: Segment
    rounding: Chain
    after: Segment


def turn_rad(before: Segment, after: Segment) -> float:
    """Return how far the direction turns at the corner between two segments, left positive."""
    a, b = direction_at(before, 1.0), direction_at(after, 0.0)
    return cmath.phase(a.conjugate() * b) if a and b else 0.0


def fillet(before: Segment, after: Segment, radius: float) -> Fillet | None:
    """Round the corner between two segments; None when the arc does not fit on them.

    The centre is where the two sides, moved inward by the radius, meet: found by Newton's
    method, which is exact at once for straight sides.

    Raises:
        GeometryError: there is no corner, or the path turns back on itself.
    """
    turn = turn_rad(before, after)
    if abs(turn) < LEAST_TURN_RAD:
        raise GeometryError("The outline runs straight through here: there is no corner.")
    if abs(turn) > math.pi - LEAST_TURN_RAD:
        raise GeometryError("The outline turns back on itself here.")
    side = math.copysign(radius, turn)
    reach = radius * math.tan(abs(turn) / 2)
    lengths = length_of(before), length_of(after)
    for share in (1.0, 0.5, 0.75, 0.25, 1.5):
        start = [min(share * reach / length, 1.0) for length in lengths]
        found = _touching(before, after, side, (1 - start[0], start[1]))
        if found is not None:
            return _cut(before, after, side, found)
    return None


def _touching(
    a: Segment, b: Segment, side: float, start: tuple[float, float]
) -> tuple[float, float] | None:
    """Return the parameters at which a circle on that side touches both segments."""
    ta, tb = start
    for _ in range(60):
        gap = _moved(b, tb, side) - _moved(a, ta, side)
        va, vb = _moved_speed(a, ta, side), _moved_speed(b, tb, side)
        cross = (va.conjugate() * vb).imag
        if abs(cross) < 1e-12 * max(abs(va) * abs(vb), 1e-12):
            return None
        da, db = (gap.conjugate() * vb).imag / cross, (gap.conjugate() * va).imag / cross
        scale = min(1.0, 0.3 / max(abs(da), abs(db), 1e-12))
        ta, tb = ta + da * scale, tb + db * scale
        if not (-2 < ta < 3 and -2 < tb < 3):
            return None
        if abs(da) + abs(db) < 1e-13:
            break
    is_met = abs(_moved(b, tb, side) - _moved(a, ta, side)) < 1e-7
    slack = 1e-9
    if not is_met or not (-slack <= ta <= 1 and 0 <= tb <= 1 + slack):
        return None
    return max(ta, 0.0), min(tb, 1.0)


def _moved(segment: Segment, t: float, side: float) -> complex:
    return point_at(segment, t) + 1j * side * direction_at(segment, t)


def _moved_speed(segment: Segment, t: float, side: float) -> complex:
    at = np.array([t])
    bend = float(curvatures_at(segment, at)[0])
    return complex(derivatives_at(segment, at)[0][0]) * (1 - side * bend)


def _cut(a: Segment, b: Segment, side: float, at: tuple[float, float]) -> Fillet:
    ta, tb = at
    centre = (_moved(a, ta, side) + _moved(b, tb, side)) / 2
    start, end = point_at(a, ta) - centre, point_at(b, tb) - centre
    sweep = cmath.phase(end / start)
    if sweep * side < 0:
        sweep += math.copysign(2 * math.pi, side)
    rounding = arc(centre, abs(side), cmath.phase(start), sweep)
    before, after = sub_segment(a, 0.0, ta), sub_segment(b, tb, 1.0)
    rounding[0] = replace(rounding[0], p0=before.p3)
    rounding[-1] = replace(rounding[-1], p3=after.p0)
    return Fillet(before, rounding, after)

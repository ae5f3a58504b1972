"""B-splines as cubic Bezier curves: exact where they are cubic pieces, else within a tolerance.

Each knot span is taken as one curve with the spline's own end tangents. Of a span of degree 3
or less without weights that is the span itself; others are halved until the curve is as near
as is asked for.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import Protocol

from core.read.strokes import CurveTo

MAX_HALVINGS = 12
_TRIED_AT = (0.15, 0.35, 0.5, 0.65, 0.85)


class Curve(Protocol):
    """A curve of the plane over a parameter."""

    def at(self, t: float) -> tuple[complex, complex]:
        """Return the point and its derivative."""


def span_curves(curve: Curve, knots: list[float], tolerance: float) -> Iterator[CurveTo]:
    """Yield the Bezier curves of a spline, span by span.

    Args:
        curve: within a span it has to be smooth.
        knots: the distinct parameters between which its spans run.
        tolerance: largest distance at equal parameters, in the curve's units.
    """
    for start, end in pairwise(knots):
        # Derivatives are taken just inside: at a knot they may jump.
        inside = (end - start) * 1e-9
        yield from _curves(curve, start + inside, end - inside, tolerance, 0)


def _curves(
    curve: Curve, start: float, end: float, tolerance: float, depth: int
) -> Iterator[CurveTo]:
    (p0, d0), (p3, d3) = curve.at(start), curve.at(end)
    third = (end - start) / 3
    p1, p2 = p0 + d0 * third, p3 - d3 * third
    if depth < MAX_HALVINGS and any(
        abs(_bezier(p0, p1, p2, p3, t) - curve.at(start + (end - start) * t)[0]) > tolerance
        for t in _TRIED_AT
    ):
        middle = (start + end) / 2
        yield from _curves(curve, start, middle, tolerance, depth + 1)
        yield from _curves(curve, middle, end, tolerance, depth + 1)
    else:
        yield CurveTo(p1, p2, p3)


def _bezier(p0: complex, p1: complex, p2: complex, p3: complex, t: float) -> complex:
    s = 1 - t
    return s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3

"""Plain closed shapes where they were drawn: a circle about its middle, a rectangle."""

import math

from core.document.path import Node, Path, Point, straight_path
from core.errors import EditRefused

_LEAST_MM = 0.5
_ROUND = 4 * (math.sqrt(2) - 1) / 3
"""Handle length of a quarter of a unit circle. Source: standard approximation."""


def round_ring(at: Point, radius_mm: float) -> Path:
    """Return a circle of four nodes. EditRefused below half a millimetre."""
    if radius_mm < _LEAST_MM:
        raise EditRefused("The round opening has no size.", mend="Drag from its middle out.")
    k, r = _ROUND * radius_mm, radius_mm
    around = (((r, 0.0), (0.0, k)), ((0.0, r), (-k, 0.0)), ((-r, 0.0), (0.0, -k)))
    nodes = (*around, ((0.0, -r), (k, 0.0)))
    return tuple(
        Node(
            id=f"n{i}",
            at=(at[0] + dx, at[1] + dy),
            smooth=True,
            before=(-hx, -hy),
            after=(hx, hy),
        )
        for i, ((dx, dy), (hx, hy)) in enumerate(nodes, 1)
    )


def rectangle_ring(corner: Point, other: Point) -> Path:
    """Return the rectangle between two corners. EditRefused below half a millimetre."""
    (left, right), (low, high) = (sorted(pair) for pair in zip(corner, other, strict=True))
    if min(right - left, high - low) < _LEAST_MM:
        raise EditRefused(
            "The rectangle has no size.", mend="Drag from one corner to the other."
        )
    return straight_path([(left, low), (right, low), (right, high), (left, high)])

"""Growing a polygon outward by a distance of its own for each boundary segment."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

Points = NDArray[np.float64]

MITRE_LIMIT = 2.0
"""A corner reaches at most this many times the offset, else it is bevelled."""


def grow(shape: Polygon, distances: list[Points]) -> Polygon:
    """Move each boundary segment outward by its own distance; holes shrink.

    Args:
        shape: outer ring counter-clockwise, holes clockwise (``shapely.orient_polygons``).
        distances: one array a ring (outer first), a distance >= 0 for each segment.

    Returns:
        The grown polygon, oriented. Corners between two segments that both move are mitred up
        to ``MITRE_LIMIT``, else bevelled; beside one that does not move the step is square.

    Degenerate input: distance 0 everywhere returns the shape; a hole narrower than what is
        turned
    into it closes; a notch may close, which leaves a hole or none.
    """
    parts: list[Polygon] = [shape]
    for ring, distance in zip([shape.exterior, *shape.interiors], distances, strict=True):
        if np.any(distance > 0):
            parts += _bands(np.asarray(ring.coords)[:-1], distance)
    if len(parts) == 1:
        return shape
    grown = shapely.union_all(parts)
    largest: Polygon = max(shapely.get_parts(grown), key=lambda p: p.area)
    oriented: Polygon = shapely.orient_polygons(_without_pinholes(largest))
    return oriented


def _without_pinholes(shape: Polygon, area: float = 1e-2) -> Polygon:
    holes = [h for h in shape.interiors if Polygon(h).area > area]
    return Polygon(shape.exterior, holes) if len(holes) < len(shape.interiors) else shape


def moved_segments(ring: Points, distances: Points) -> tuple[Points, Points]:
    """Return the starts and ends of a ring's segments, each moved outward by its distance."""
    nxt = np.roll(ring, -1, axis=0)
    shift = _outward(ring) * distances[:, None]
    return ring + shift, nxt + shift


def _along(ring: Points) -> Points:
    along: Points = np.roll(ring, -1, axis=0) - ring
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    return along


def _outward(ring: Points) -> Points:
    along = _along(ring)
    return np.stack([along[:, 1], -along[:, 0]], axis=1)


def _bands(ring: Points, distances: Points) -> list[Polygon]:
    """Return the quads outside the moving segments and the wedges outside convex corners."""
    nxt = np.roll(ring, -1, axis=0)
    starts, ends = moved_segments(ring, distances)
    moving = distances > 0
    quads = np.stack([ring, starts, ends, nxt], axis=1)[moving]
    after = np.roll(np.arange(len(ring)), -1)
    along = _along(ring)
    convex = _cross(along, along[after]) > 1e-12
    at = np.flatnonzero(convex & moving & moving[after])
    tips = _tips(nxt[at], ends[at], along[at], starts[after[at]], along[after[at]])
    wedges = np.stack([nxt[at], ends[at], tips, starts[after[at]]], axis=1)
    return list(shapely.get_parts(shapely.polygons(np.concatenate([quads, wedges]))))


def _cross(a: Points, b: Points) -> Points:
    result: Points = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return result


def _tips(corner: Points, a: Points, along_a: Points, b: Points, along_b: Points) -> Points:
    """Return where the lines moved out from both sides of a corner meet, else half-way (bevel).

    Args:
        corner: the corners.
        a: where the moved segment before each corner ends.
        along_a: the direction of that segment.
        b: where the moved segment behind each corner starts.
        along_b: the direction of that segment.
    """
    ahead = _cross(b - a, along_b) / _cross(along_a, along_b)
    tips = a + along_a * ahead[:, None]
    behind = np.sum((b - tips) * along_b, axis=1)
    reach = np.maximum(np.hypot(*(a - corner).T), np.hypot(*(b - corner).T)) * MITRE_LIMIT
    is_mitred = (ahead >= 0) & (behind >= 0) & (np.hypot(*(tips - corner).T) <= reach)
    result: Points = np.where(is_mitred[:, None], tips, (a + b) / 2)
    return result

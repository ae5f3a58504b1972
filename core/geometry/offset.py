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
    largest = max(shapely.get_parts(grown), key=lambda p: p.area)
    return shapely.orient_polygons(_without_pinholes(largest))


def _without_pinholes(shape: Polygon, area: float = 1e-2) -> Polygon:
    holes = [h for h in shape.interiors if Polygon(h).area > area]
    return Polygon(shape.exterior, holes) if len(holes) < len(shape.interiors) else shape


def _bands(ring: Points, distance: Points) -> list[Polygon]:
    """Return the quads outside the moving segments and the wedges outside convex corners."""
    nxt = np.roll(ring, -1, axis=0)
    along = nxt - ring
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    out = np.stack([along[:, 1], -along[:, 0]], axis=1)
    shift = out * distance[:, None]
    moving = distance > 0
    quads = np.stack([ring, ring + shift, nxt + shift, nxt], axis=1)[moving]
    bands: list[Polygon] = list(shapely.polygons(quads))
    cross = along[:, 0] * np.roll(along[:, 1], -1) - along[:, 1] * np.roll(along[:, 0], -1)
    convex = (cross > 1e-12) & moving & np.roll(moving, -1)
    for i in np.flatnonzero(convex):
        j = (i + 1) % len(ring)
        bands.append(Polygon(_wedge(nxt[i], along[i], shift[i], along[j], shift[j])))
    return bands


def _wedge(
    corner: Points, along1: Points, shift1: Points, along2: Points, shift2: Points
) -> list[Points]:
    """Return the ring that fills the gap outside a convex corner."""
    a, b = corner + shift1, corner + shift2
    cross = along1[0] * along2[1] - along1[1] * along2[0]
    gap = b - a
    tip = a + along1 * ((gap[0] * along2[1] - gap[1] * along2[0]) / cross)
    reach = MITRE_LIMIT * max(np.hypot(*shift1), np.hypot(*shift2))
    ahead = float((tip - a) @ along1) >= 0 and float((b - tip) @ along2) >= 0
    if ahead and np.hypot(*(tip - corner)) <= reach:
        return [corner, a, tip, b]
    return [corner, a, b]

"""Growing a polygon outward by a distance of its own for each boundary segment."""

from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.geometry.segment_match import match_segments

Points = NDArray[np.float64]
Indices = NDArray[np.intp]

MITRE_LIMIT = 2.0
"""A corner reaches at most this many times the offset, else it is bevelled."""

STRAIGHT = 1e-9
"""Two segments that turn by less than this (radians) are one straight line."""


def grow(shape: Polygon, distances: list[Points]) -> Polygon:
    """Move each boundary segment outward by its own distance; see ``grow_labelled``."""
    return grow_labelled(shape, distances)[0]


def grow_labelled(shape: Polygon, distances: list[Points]) -> tuple[Polygon, list[Indices]]:
    """Move each boundary segment outward by its own distance; holes shrink.

    Args:
        shape: outer ring counter-clockwise, holes clockwise (``shapely.orient_polygons``).
        distances: one array a ring (outer first), a distance >= 0 for each segment.

    Returns:
        The grown polygon, oriented; and for each segment of its boundary, ring by ring, the
        number of the segment that it comes from, counted through all rings. Corners between two
        segments that both move are mitred up to ``MITRE_LIMIT``, else bevelled; beside one that
        does not move the step is square.

    Degenerate input: distance 0 everywhere returns the shape; a hole narrower than what is
        turned into it closes; a notch may close, which leaves a hole or none.
    """
    rings = [np.asarray(r.coords)[:-1] for r in (shape.exterior, *shape.interiors)]
    moved = [_moved_ring(r, d) for r, d in zip(rings, distances, strict=True)]
    first = np.cumsum([0, *(len(r) for r in rings)])
    if not any(np.any(d > 0) for d in distances):
        return shape, [np.arange(a, b) for a, b in pairwise(first)]
    sound = [m for m in moved if m is not None]
    if len(sound) == len(moved):
        grown = Polygon(sound[0][0], [points for points, _ in sound[1:]])
        if grown.is_valid:
            return grown, [of + start for (_, of), start in zip(sound, first, strict=False)]
    return _grown_by_union(shape, rings, distances)


def _grown_by_union(
    shape: Polygon, rings: list[Points], distances: list[Points]
) -> tuple[Polygon, list[Indices]]:
    """Grow a shape whose moved segments run into each other: by uniting what each adds."""
    bands = [_bands(r, d) for r, d in zip(rings, distances, strict=True) if np.any(d > 0)]
    grown = shapely.union_all([shape, *(part for band in bands for part in band)])
    largest: Polygon = max(shapely.get_parts(grown), key=lambda p: p.area)
    oriented: Polygon = shapely.orient_polygons(_without_pinholes(largest))
    moved = [moved_segments(r, d) for r, d in zip(rings, distances, strict=True)]
    segments = np.concatenate([m[0] for m in moved]), np.concatenate([m[1] for m in moved])
    labels = []
    for ring in (oriented.exterior, *oriented.interiors):
        coords = np.asarray(ring.coords)
        edges = coords[:-1], coords[1:]
        labels.append(match_segments(edges, segments, only_split=False))
    return oriented, labels


def _moved_ring(ring: Points, distances: Points) -> tuple[Points, Indices] | None:
    """Return the ring through the moved segments and, for each of its own, the one it was.

    None when moved segments run into each other, so that it is no boundary.
    """
    after = np.roll(np.arange(len(ring)), -1)
    starts, ends = moved_segments(ring, distances)
    along, corner = _along(ring), ring[after]
    turn = _cross(along, along[after])
    is_moving = distances > 0
    is_bent = (np.abs(turn) > STRAIGHT) & is_moving & is_moving[after]
    at = np.flatnonzero(is_bent)
    tips, is_met = _tips(corner[at], ends[at], along[at], starts[after[at]], along[after[at]])
    is_reflex = turn[at] < 0
    if is_reflex.any() and not _are_within(tips, at, (starts, ends), after)[is_reflex].all():
        return None
    is_mitred = np.zeros(len(ring), dtype=bool)
    is_mitred[at] = is_met | is_reflex
    middle = corner.copy()
    middle[at] = tips
    is_step = is_moving != is_moving[after]
    keep = np.stack([~is_mitred, is_bent | is_step, ~is_mitred], axis=1)
    # A corner whose parts are one point is one point.
    keep[:, 0] &= np.any(ends != np.where(is_step[:, None], corner, starts[after]), axis=1)
    keep[:, 2] &= ~is_step | is_moving[after]
    points = np.stack([ends, middle, starts[after]], axis=1)[keep]
    of = np.stack([np.arange(len(ring)), after, after], axis=1)[keep]
    runs = np.roll(points, -1, axis=0) - points
    if not np.any(runs, axis=1).all() or np.sum(runs * along[of], axis=1).min() < -STRAIGHT:
        return None  # some of it has shrunk to nothing or beyond
    return points, of


def _are_within(
    tips: Points, at: Indices, moved: tuple[Points, Points], after: Indices
) -> NDArray[np.bool_]:
    """Whether each tip lies on both moved segments of its corner, between their ends."""
    inside = np.ones(len(at), dtype=bool)
    for which in (at, after[at]):
        run = moved[1][which] - moved[0][which]
        part = np.sum((tips - moved[0][which]) * run, axis=1) / np.sum(run * run, axis=1)
        inside &= (part >= 0) & (part <= 1)
    return inside


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
    tips, _ = _tips(nxt[at], ends[at], along[at], starts[after[at]], along[after[at]])
    wedges = np.stack([nxt[at], ends[at], tips, starts[after[at]]], axis=1)
    return list(shapely.get_parts(shapely.polygons(np.concatenate([quads, wedges]))))


def _cross(a: Points, b: Points) -> Points:
    result: Points = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return result


def _tips(
    corner: Points, a: Points, along_a: Points, b: Points, along_b: Points
) -> tuple[Points, NDArray[np.bool_]]:
    """Return where the lines moved out from both sides of a corner meet, and whether they do.

    Beyond the mitre limit the place at an outside corner is half-way between them (a bevel).

    Args:
        corner: the corners.
        a: where the moved segment before each corner ends.
        along_a: the direction of that segment.
        b: where the moved segment behind each corner starts.
        along_b: the direction of that segment.
    """
    turn = _cross(along_a, along_b)
    ahead = _cross(b - a, along_b) / turn
    tips = a + along_a * ahead[:, None]
    behind = np.sum((b - tips) * along_b, axis=1)
    reach = np.maximum(np.hypot(*(a - corner).T), np.hypot(*(b - corner).T)) * MITRE_LIMIT
    is_met = (ahead >= 0) & (behind >= 0) & (np.hypot(*(tips - corner).T) <= reach)
    is_bevelled = (turn > 0) & ~is_met
    result: Points = np.where(is_bevelled[:, None], (a + b) / 2, tips)
    return result, is_met

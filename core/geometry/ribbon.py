"""The area of a centre line with a width that may taper."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

Points = NDArray[np.float64]

MITRE_LIMIT = 2.0

PINHOLE_MM2 = 1.0
"""A smaller hole in a folded ribbon is an accident of its joints."""


def widths_along(points: Points, start: float, end: float) -> Points:
    """Return the width at each point, linear in the length run along the line."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    run = np.concatenate([[0.0], np.cumsum(steps)])
    result: Points = start + (end - start) * run / max(float(run[-1]), 1e-12)
    return result


def ribbon(points: Points, widths: Points) -> Polygon | None:
    """Return the area within half the width on both sides of a line, ends square.

    Args:
        points: the centre line, shape (n, 2), n >= 2, no doubled points.
        widths: width at each point, shape (n,).

    Returns:
        The ribbon, oriented; its ring starts where the right side does. None when it has no
        area, or goes round an area that is not its own (a line that crosses itself or returns
        to its start).

    Degenerate input: a width of 0 at an end gives a tip. A corner too sharp to be mitred is
    round. A line that turns tighter than half its width folds; the ribbon is then the union of
    its straight parts and their joints.
    """
    left, right = side_line(points, widths / 2), side_line(points, -widths / 2)
    ring = np.vstack([right, left[::-1]])
    shape = Polygon(ring)
    if _has_sharp_corner(points) or not shape.is_valid:
        shape = _union_of_parts(points, widths)
    if shape.area <= 0 or shape.interiors:
        return None
    return begun_near(shape, right[0])


def begun_near(shape: Polygon, start: Points) -> Polygon:
    """Return a polygon without holes, oriented, its ring starting nearest to a point."""
    ring = np.asarray(shapely.orient_polygons(shape).exterior.coords)[:-1]
    first = int(np.argmin(np.hypot(*(ring - start).T)))
    return Polygon(np.roll(ring, -first, axis=0))


def _has_sharp_corner(points: Points) -> bool:
    """Whether the line turns so sharply somewhere that the mitre limit cuts its sides in."""
    along = np.diff(points, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    return bool(np.any(1 + np.sum(along[1:] * along[:-1], axis=1) < 2 / MITRE_LIMIT**2))


def side_line(points: Points, offsets: Points) -> Points:
    """Return the line moved to its left by the offset at each point, mitred at corners."""
    along = np.diff(points, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    before = np.vstack([normal[:1], normal])
    after = np.vstack([normal, normal[-1:]])
    mean = before + after
    # |mean|² = 2 + 2·cos(turn); mean / (1 + cos(turn)) reaches where the two offset lines meet.
    reach = np.maximum(1 + np.sum(before * after, axis=1), 2 / MITRE_LIMIT**2)
    result: Points = points + mean / reach[:, None] * offsets[:, None]
    return result


def _union_of_parts(points: Points, widths: Points) -> Polygon:
    parts: list[shapely.Geometry] = []
    for i in range(len(points) - 1):
        two, half = points[i : i + 2], widths[i : i + 2] / 2
        quad = np.vstack([side_line(two, -half), side_line(two, half)[::-1]])
        parts.append(Polygon(quad).buffer(0))
    for point, width in zip(points[1:-1], widths[1:-1], strict=True):
        parts.append(shapely.Point(point).buffer(width / 2))
    joined = shapely.union_all(parts)
    largest: Polygon = max(shapely.get_parts(joined), key=lambda p: p.area, default=Polygon())
    if largest.is_empty:
        return largest
    holes = [h for h in largest.interiors if Polygon(h).area > PINHOLE_MM2]
    return Polygon(largest.exterior, holes)

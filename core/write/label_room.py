"""The room for labels in a shape: points well inside it, and how large a block may be there.

What does not depend on the label is kept with the shape, as several labels are tried in one,
and one shape is drawn in several pictures.
"""

import math
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.plan.memory import Memory

Points = NDArray[np.float64]
Sides = NDArray[np.bool_]

_ACROSS = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
"""Where along a shape the chords stand in whose middles labels are tried."""
_NEARLY = 0.9
"""The centroid is taken when it is this far from the boundary, against the roomiest point."""
_ALMOST = 1 + 1e-9


def inner_point(polygon: Polygon) -> tuple[tuple[float, float], float]:
    """Return a point well inside a polygon, and the greatest distance from its boundary.

    The point is the centroid where that is nearly as roomy as the roomiest point there is.

    Degenerate input: a polygon without area gives a point of it and 0.
    """
    if polygon.area <= 0:
        p = polygon.representative_point()
        return (p.x, p.y), 0.0
    tolerance = max(math.sqrt(polygon.area) / 200, 1e-3)
    radius = shapely.maximum_inscribed_circle(polygon, tolerance=tolerance)
    x, y = shapely.get_coordinates(radius)[0].tolist()
    reach = float(radius.length)
    middle, away = _middle(polygon)
    return (middle if away > _NEARLY * reach else (x, y)), reach


def roomy_point(polygon: Polygon) -> tuple[float, float]:
    """Return the point of ``inner_point``: sooner, as the distance is not asked for.

    No circle in a polygon is wider than its bounds or larger than its area, so a centroid that
    comes near to that needs no search.
    """
    x0, y0, x1, y1 = polygon.bounds
    most = min((x1 - x0) / 2, (y1 - y0) / 2, math.sqrt(max(polygon.area, 0.0) / math.pi))
    if most > 0:
        middle, away = _middle(polygon)
        if away > _NEARLY * most:
            return middle
    return inner_point(polygon)[0]


def _middle(polygon: Polygon) -> tuple[tuple[float, float], float]:
    """Return the centroid, and how far inside it is; 0 where it is outside."""
    middle = polygon.centroid
    is_inside = shapely.contains_xy(polygon, middle.x, middle.y)
    away = shapely.distance(polygon.boundary, middle) if is_inside else 0.0
    return (middle.x, middle.y), float(away)


class Room:
    """A polygon in which labels are tried."""

    def __init__(self, polygon: Polygon) -> None:
        self.polygon = polygon
        self._middles: dict[float, Points] = {}

    @cached_property
    def inner(self) -> Points:
        """A point well inside, shape (1, 2)."""
        return np.array([roomy_point(self.polygon)])

    @cached_property
    def angles(self) -> tuple[float, ...]:
        """The directions to try: level, then along the polygon's longer side."""
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(self.polygon))
        if len(corners) < 4:
            return (0.0,)
        sides = np.diff(corners[:3], axis=0)
        dx, dy = sides[int(np.argmax(np.hypot(sides[:, 0], sides[:, 1])))]
        angle = (math.degrees(math.atan2(dy, dx)) + 80) % 180 - 80
        return (0.0, angle) if abs(angle) > 1e-6 else (0.0,)

    def chord_middles(self, angle_deg: float) -> Points:
        """Return the middles of some chords across an angle, shape (k, 2)."""
        if angle_deg not in self._middles:
            turn = _turn(angle_deg)
            points, is_side = self._corners
            level = points @ turn
            middles = _chord_middles(level[:-1][is_side], level[1:][is_side])
            self._middles[angle_deg] = middles @ turn.T
        return self._middles[angle_deg]

    def heights(self, centres: Points, angle_deg: float, size: tuple[float, float]) -> Points:
        """Return how high a block may be about each of some points inside.

        Args:
            centres: shape (k, 2).
            angle_deg: along which the block's lines run.
            size: the block's width and height at capital height 1.

        Returns:
            Shape (k,): capital heights.

        A block of capital height h about the origin is where neither 2x / width nor 2y / height
        is beyond h, either way. With u and v half their difference and half their sum, that is
        where abs(u) + abs(v) is at most h. What fits is the least of this over all sides of the
        polygon; along a side it is least at an end, or where u or v is 0.
        """
        points, is_side = self._corners
        shrink = _turn(angle_deg) @ np.diag(1 / np.array(size)) @ [[1.0, 1.0], [-1.0, 1.0]]
        at, centre = points @ shrink, centres @ shrink
        u = at[:, 0] - centre[:, :1]
        v = at[:, 1] - centre[:, 1:]
        least: Points = (np.abs(u) + np.abs(v)).min(axis=1)
        for one, other in ((u, v), (v, u)):
            k, i = np.nonzero((one[:, :-1] * one[:, 1:] < 0) & is_side)
            start, end = one[k, i], one[k, i + 1]
            there = other[k, i] + start / (start - end) * (other[k, i + 1] - other[k, i])
            np.minimum.at(least, k, np.abs(there))
        return least * _ALMOST

    @cached_property
    def _corners(self) -> tuple[Points, Sides]:
        """The points of all rings in a row, and whether each is joined to the next."""
        points, rings = shapely.get_coordinates(
            shapely.get_rings(self.polygon), return_index=True
        )
        return points, rings[1:] == rings[:-1]


_ROOMS: Memory[Room] = Memory(2000)


def room_of(polygon: Polygon) -> Room:
    """Return the room in a polygon, the same for the same polygon."""
    return _ROOMS.recall((polygon,), None, lambda: Room(polygon))


def _turn(angle_deg: float) -> Points:
    """Return what points are multiplied by, from the right, to lay an angle level."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def _chord_middles(starts: Points, ends: Points) -> Points:
    """Return the middle of the longest part of each upright chord that meets the sides."""
    low, high = starts[:, 0].min(), starts[:, 0].max()
    slopes = ends - starts
    middles = []
    for share in _ACROSS:
        x = low + (high - low) * share
        is_met = (starts[:, 0] <= x) != (ends[:, 0] <= x)
        along = (x - starts[is_met, 0]) / slopes[is_met, 0]
        ys = np.sort(starts[is_met, 1] + along * slopes[is_met, 1]).tolist()
        parts = [(b - a, (a + b) / 2) for a, b in list(pairwise(ys))[::2]]
        if parts and max(parts)[0] > 0:
            middles.append((x, max(parts)[1]))
    return np.array(middles).reshape(-1, 2)

"""Running a line on past what it ends on, so that it really divides."""

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Point, Polygon

from core.tolerance import REACH_MM, RUN_ON_MM

Points = NDArray[np.float64]


def end_direction(points: Points, *, at_start: bool) -> Points:
    """Return the unit vector in which a polyline leaves at one of its ends."""
    step = points[0] - points[1] if at_start else points[-1] - points[-2]
    result: Points = step / max(float(np.hypot(*step)), 1e-12)
    return result


def exit_distance(origin: Points, direction: Points, inner: Polygon, outer: Polygon) -> float:
    """Return how far a ray from the inner polygon's rim runs until it is out of the outer one.

    It ends as well where it comes back into the inner polygon (the far side of a notch). The
    origin may lie within, as that of a stripe's side does. 0 when the origin is outside
    already, or the ray never leaves within a sane distance.
    """
    if not shapely.intersects_xy(outer, *origin):
        return 0.0
    x0, y0, x1, y1 = outer.bounds
    ray = LineString([origin, origin + direction * (math.hypot(x1 - x0, y1 - y0) + 1)])
    start = Point(origin)
    leaving = _crossings(ray, outer.boundary, start)
    back = [t for t in _crossings(ray, inner.boundary, start) if t > 2 * REACH_MM]
    if shapely.intersects_xy(inner, *origin) and inner.boundary.distance(start) > REACH_MM:
        back = back[1:]  # the first is where it leaves
    ahead = [*leaving[:1], *back[:1]]
    return min(ahead) if ahead else 0.0


def _crossings(ray: LineString, boundary: shapely.Geometry, start: Point) -> list[float]:
    points = shapely.get_coordinates(shapely.intersection(ray, boundary))
    return sorted(float(math.hypot(x - start.x, y - start.y)) for x, y in points)


def is_on_rim(end: Points, inner: Polygon) -> bool:
    """Whether a line's end lies on the polygon's rim or outside it."""
    return inner.boundary.distance(Point(end)) <= REACH_MM or not shapely.intersects_xy(
        inner, *end
    )


def leaving_direction(points: Points, inner: Polygon, *, at_start: bool) -> Points:
    """Return the direction in which a line leaves over the rim: tangent, else square to it."""
    tangent = end_direction(points, at_start=at_start)
    end = points[0] if at_start else points[-1]
    rim = inner.boundary
    near = rim.interpolate(rim.project(Point(end)))
    for sample in (tangent * 1.0, tangent * 0.25):
        if not shapely.intersects_xy(inner, near.x + sample[0], near.y + sample[1]):
            return tangent
    return _outward(np.array([near.x, near.y]), inner, tangent)


def _outward(at: Points, inner: Polygon, fallback: Points) -> Points:
    """Return the direction, of sixteen, that leads out of the polygon at its rim."""
    angles = np.arange(16) * (math.pi / 8)
    fan = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    outside = ~shapely.intersects_xy(inner, *(at + fan * 0.5).T)
    mean = fan[outside].sum(axis=0) if outside.any() else fallback
    size = float(np.hypot(*mean))
    result: Points = mean / size if size > 1e-9 else fallback
    return result


def run_on_rim(points: Points, inner: Polygon, outer: Polygon) -> Points:
    """Run both ends of a line that lie on the inner rim on to just past the outer one."""
    for at_start in (True, False):
        end = points[0] if at_start else points[-1]
        if not is_on_rim(end, inner):
            continue
        direction = leaving_direction(points, inner, at_start=at_start)
        reach = exit_distance(end, direction, inner, outer) + RUN_ON_MM
        points = _extended(points, end + direction * reach, at_start=at_start)
    return points


def run_on_line(points: Points, others: list[LineString], *, at_start: bool) -> Points | None:
    """Run one end that lies on another line on to just across it; None when it lies on none."""
    end = points[0] if at_start else points[-1]
    here = Point(end)
    for other in others:
        if other.distance(here) > REACH_MM:
            continue
        foot = other.project(here)
        at = other.interpolate(foot)
        a = other.interpolate(max(foot - 0.01, 0))
        b = other.interpolate(min(foot + 0.01, other.length))
        across = np.array([-(b.y - a.y), b.x - a.x])
        across /= max(float(np.hypot(*across)), 1e-12)
        came_from = points[1] if at_start else points[-2]
        if float((came_from - (at.x, at.y)) @ across) > 0:
            across = -across
        return _extended(points, np.array([at.x, at.y]) + across * RUN_ON_MM, at_start=at_start)
    return None


def _extended(points: Points, end: Points, *, at_start: bool) -> Points:
    return np.vstack([end, points]) if at_start else np.vstack([points, end])


def merged_path(starts: Points, ends: Points) -> LineString | MultiLineString:
    """Return directed edges as one path, or several where they do not join."""
    breaks = np.flatnonzero(np.any(starts[1:] != ends[:-1], axis=1)) + 1
    parts = np.split(np.arange(len(starts)), breaks)
    runs = [np.vstack([starts[part], ends[part[-1]]]) for part in parts]
    if len(runs) > 1 and np.array_equal(runs[-1][-1], runs[0][0]):
        runs[0] = np.vstack([runs.pop(), runs[0][1:]])
    lines = [LineString(run) for run in runs]
    return lines[0] if len(lines) == 1 else MultiLineString(lines)

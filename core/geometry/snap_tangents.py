"""Catching points of tangency: where a line from a given point just touches a curve.

Tracks are polylines that stand for curves. Between two neighbouring points the curve is taken
for the cubic through both with the mean direction of the segments at each (Hermite form); its
points of tangency lie nearer to the curve's than the polyline does.
"""

import math

import numpy as np

from core.geometry.snap_values import Catch, CatchKind, Points, SnapField, Vector

SHARPEST_TURN_RAD = math.radians(30)
"""A sharper turn between two segments is a corner, at which nothing is tangent."""
_HALVINGS = 40


def tangent_catch(field: SnapField, at: Vector, reach: float, origin: Vector) -> Catch | None:
    """Return the point of tangency of lines from ``origin`` that is nearest within reach.

    Degenerate input: straight tracks have none; one that passes through the origin has none
    within reach of it.
    """
    best: Catch | None = None
    for i in _segments_near(field, at, reach):
        spot = _tangency(field, i, np.array(origin))
        if spot is None or math.dist(spot, origin) <= reach:
            continue
        away = math.dist(spot, at)
        if away <= reach and (best is None or away < best.distance):
            name = field.names[field.segment_tracks[i]]
            best = Catch(spot, CatchKind.TANGENT, name, away)
    return best


def _segments_near(field: SnapField, at: Vector, reach: float) -> list[int]:
    if not len(field.starts):
        return []
    run = field.ends - field.starts
    size = np.maximum((run**2).sum(axis=1), 1e-18)
    t = np.clip(((np.array(at) - field.starts) * run).sum(axis=1) / size, 0, 1)
    feet = field.starts + t[:, None] * run
    away = np.hypot(feet[:, 0] - at[0], feet[:, 1] - at[1])
    return [int(i) for i in np.flatnonzero(away <= reach)]


def _tangency(field: SnapField, i: int, origin: Points) -> Vector | None:
    """Return where on one segment the curve points straight away from the origin."""
    a, b = field.starts[i], field.ends[i]
    run = b - a
    if not run.any():
        return None
    size = math.hypot(*run)
    out = _direction(field, i, _neighbour(field, i, -1)) * size
    into = _direction(field, i, _neighbour(field, i, 1)) * size
    low, high = 0.0, 1.0
    side = _side(a, b, out, into, low, origin)
    if side * _side(a, b, out, into, high, origin) >= 0:
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if side * _side(a, b, out, into, middle, origin) > 0:
            low = middle
        else:
            high = middle
    x, y = _hermite(a, b, out, into, low)
    return float(x), float(y)


def _neighbour(field: SnapField, i: int, step: int) -> int:
    """Return the segment before or after one on its track; itself at an open end."""
    own = np.flatnonzero(field.segment_tracks == field.segment_tracks[i])
    j = int(own[0] + (i - own[0] + step) % len(own))
    first, second = (j, i) if step < 0 else (i, j)
    is_joined = np.allclose(field.ends[first], field.starts[second], atol=1e-9)
    return j if is_joined else i


def _direction(field: SnapField, i: int, other: int) -> Points:
    """Return the curve's direction where a segment meets another; its own at a corner."""
    one, two = _unit(field, i), _unit(field, other)
    cross = one[0] * two[1] - one[1] * two[0]
    if abs(cross) > math.sin(SHARPEST_TURN_RAD) or one @ two <= 0:
        return one
    lengths = [math.hypot(*(field.ends[k] - field.starts[k])) for k in (i, other)]
    # The tangent of the circle through the three points: each weighs as the other is long.
    mean = one * lengths[1] + two * lengths[0]
    result: Points = mean / math.hypot(*mean)
    return result


def _unit(field: SnapField, i: int) -> Points:
    run = field.ends[i] - field.starts[i]
    result: Points = run / max(math.hypot(*run), 1e-12)
    return result


def _hermite(a: Points, b: Points, out: Points, into: Points, t: float) -> Points:
    u = 1 - t
    result: Points = (
        a * (1 + 2 * t) * u * u + out * t * u * u + b * t * t * (3 - 2 * t) - into * t * t * u
    )
    return result


def _side(a: Points, b: Points, out: Points, into: Points, t: float, origin: Points) -> float:
    """Return on which side of the curve's direction the origin lies: its sign."""
    direction = (b - a) * 6 * t * (1 - t) + out * (1 - t) * (1 - 3 * t) + into * t * (3 * t - 2)
    away = _hermite(a, b, out, into, t) - origin
    return float(direction[0] * away[1] - direction[1] * away[0])

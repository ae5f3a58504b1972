"""Catching rules: straight lines right across the drawing, and a grid."""

import math

import numpy as np

from core.geometry.snap_values import Catch, CatchKind, Points, Rules, SnapField, Vector


def rule_crossing(field: SnapField, at: Vector, reach: float, rules: Rules) -> Catch | None:
    """Return where a rule crosses another, or a track, within reach of a point."""
    xs = [x for x in rules.xs if abs(x - at[0]) <= reach]
    ys = [y for y in rules.ys if abs(y - at[1]) <= reach]
    if xs and ys:
        spot = (_nearest(xs, at[0]), _nearest(ys, at[1]))
        if math.dist(spot, at) <= reach:
            return Catch(spot, CatchKind.RULE, None, math.dist(spot, at))
    best: Catch | None = None
    for axis, values in ((0, xs), (1, ys)):
        for value in values:
            found = _on_segments(field, at, reach, axis, value)
            if found is not None and (best is None or found.distance < best.distance):
                best = found
    return best


def _nearest(values: list[float], to: float) -> float:
    return min(values, key=lambda v: abs(v - to))


def _on_segments(
    field: SnapField, at: Vector, reach: float, axis: int, value: float
) -> Catch | None:
    """Return where the line of that x or y crosses a track nearest to a point."""
    if not len(field.starts):
        return None
    a, b = field.starts[:, axis], field.ends[:, axis]
    run = np.where(np.abs(b - a) < 1e-12, np.inf, b - a)
    t = (value - a) / run
    met: Points = field.starts + t[:, None] * (field.ends - field.starts)
    met[:, axis] = value
    distances = np.hypot(met[:, 0] - at[0], met[:, 1] - at[1])
    near = np.flatnonzero(np.isfinite(run) & (t >= 0) & (t <= 1) & (distances <= reach))
    if not len(near):
        return None
    i = near[np.argmin(distances[near])]
    spot = (float(met[i, 0]), float(met[i, 1]))
    return Catch(
        spot, CatchKind.RULE, field.names[field.segment_tracks[i]], float(distances[i])
    )


def on_rule(at: Vector, reach: float, rules: Rules) -> Catch | None:
    """Return the nearest point of any rule within reach, or None."""
    feet = [(x, at[1]) for x in rules.xs] + [(at[0], y) for y in rules.ys]
    if not feet:
        return None
    foot = min(feet, key=lambda f: math.dist(f, at))
    away = math.dist(foot, at)
    return Catch(foot, CatchKind.RULE, None, away) if away <= reach else None


def grid_catch(at: Vector, reach: float, rules: Rules) -> Catch | None:
    """Return the nearest point of the grid within reach, or None; None without a grid."""
    if not rules.spacing:
        return None
    x, y = (
        origin + round((v - origin) / rules.spacing) * rules.spacing
        for v, origin in zip(at, rules.origin, strict=True)
    )
    away = math.dist((x, y), at)
    return Catch((x, y), CatchKind.GRID, None, away) if away <= reach else None

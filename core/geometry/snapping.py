"""Snapping: which notable place lies near a point that is being drawn.

A *track* is a polyline that may be caught, with its notable places. A *field* holds the tracks
of one drawing, prepared once; *rules* are straight lines right across it, and a grid; a *catch*
is the answer. Places are tried from the most to the least telling: nodes, crossings and
middles; where rules cross each other or a track; the foot of a perpendicular; a point of
tangency; where a favoured direction meets a track; any point of a track; a rule; a point of the
grid; a favoured direction alone.

The module knows no panels: names of tracks are passed through.
"""

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np
import shapely

from core.geometry.snap_rules import grid_catch, on_rule, rule_crossing
from core.geometry.snap_tangents import tangent_catch
from core.geometry.snap_values import (
    NO_RULES,
    Catch,
    CatchKind,
    Guide,
    Points,
    Rules,
    SnapField,
    Track,
    Vector,
)

__all__ = [
    "NO_RULES",
    "Catch",
    "CatchKind",
    "Guide",
    "Rules",
    "SnapField",
    "Track",
    "build_field",
    "find_catch",
    "guide_from",
    "on_track",
]

_SPOT_WEIGHT = {CatchKind.NODE: 1.0, CatchKind.CROSSING: 1.0, CatchKind.MIDDLE: 1.4}
"""Middles count as farther away than they are, so that a node beside one wins."""


def build_field(tracks: Sequence[Track]) -> SnapField:
    """Prepare tracks for snapping; crossings between different tracks are found here.

    Degenerate input: no tracks give a field in which only directions are caught.
    """
    spots: list[Points] = [np.empty((0, 2))]
    kinds: list[CatchKind] = []
    owners: list[int] = []

    def add(points: Points, kind: CatchKind, track: int) -> None:
        spots.append(points.reshape(-1, 2))
        kinds.extend([kind] * len(points))
        owners.extend([track] * len(points))

    for i, track in enumerate(tracks):
        add(track.nodes, CatchKind.NODE, i)
        add(track.middles, CatchKind.MIDDLE, i)
    for i, points in _crossings(tracks):
        add(points, CatchKind.CROSSING, i)
    runs = [_closed_points(t) for t in tracks]
    empty = np.empty((0, 2))
    return SnapField(
        names=tuple(t.name for t in tracks),
        spots=np.concatenate(spots),
        spot_kinds=tuple(kinds),
        spot_tracks=np.array(owners, dtype=np.int64),
        starts=np.concatenate([empty, *(r[:-1] for r in runs)]),
        ends=np.concatenate([empty, *(r[1:] for r in runs)]),
        segment_tracks=np.repeat(np.arange(len(runs)), [len(r) - 1 for r in runs]),
    )


def _closed_points(track: Track) -> Points:
    return np.vstack([track.points, track.points[:1]]) if track.closed else track.points


def _crossings(tracks: Sequence[Track]) -> list[tuple[int, Points]]:
    """Return crossings, each under the later of its two tracks."""
    lines = [shapely.linestrings(_closed_points(t)) for t in tracks]
    pairs = list(combinations(range(len(lines)), 2))
    if not pairs:
        return []
    left = np.array([lines[i] for i, _ in pairs], dtype=object)
    right = np.array([lines[j] for _, j in pairs], dtype=object)
    found = []
    for k in np.flatnonzero(shapely.intersects(left, right)):
        shared = shapely.get_parts(shapely.intersection(left[k], right[k]))
        points = shapely.get_coordinates([p for p in shared if p.geom_type == "Point"])
        found.append((pairs[k][1], points))
    return found


def guide_from(field: SnapField, points: Sequence[Vector]) -> Guide | None:
    """Return the guide of a line drawn so far: eighth turns, and right angles to what it left.

    A line that starts on a track favours the perpendicular to it; a later stretch favours right
    angles to the stretch before. Degenerate input: no points give no guide.
    """
    if not points:
        return None
    origin = points[-1]
    eighths = [i * math.pi / 4 for i in range(8)]
    directions = [((math.cos(a), math.sin(a)), CatchKind.ALONG) for a in eighths]
    base = _unit(points[-2], origin) if len(points) > 1 else _direction_at(field, origin)
    if base is not None:
        x, y = base
        square = [((-y, x), CatchKind.SQUARE), ((y, -x), CatchKind.SQUARE)]
        directions = square + directions
    return Guide(origin, tuple(directions))


def _unit(a: Vector, b: Vector) -> Vector | None:
    size = math.dist(a, b)
    return ((b[0] - a[0]) / size, (b[1] - a[1]) / size) if size else None


def _direction_at(field: SnapField, at: Vector, within: float = 0.1) -> Vector | None:
    """Return the direction of the track at a point on it; None in the open."""
    feet, distances = _feet(field, at)
    if not len(feet):
        return None
    i = int(np.argmin(distances))
    if distances[i] > within:
        return None
    a, b = field.starts[i], field.ends[i]
    return _unit((float(a[0]), float(a[1])), (float(b[0]), float(b[1])))


def find_catch(
    field: SnapField,
    at: Vector,
    reach: float,
    guide: Guide | None = None,
    rules: Rules = NO_RULES,
) -> Catch | None:
    """Return what is caught within ``reach`` of a point, or None."""
    return (
        _spot_catch(field, at, reach)
        or rule_crossing(field, at, reach, rules)
        or (guide and _foot_catch(field, at, reach, guide))
        or (guide and tangent_catch(field, at, reach, guide.origin))
        or (guide and _meeting_catch(field, at, reach, guide))
        or on_track(field, at, reach)
        or on_rule(at, reach, rules)
        or grid_catch(at, reach, rules)
        or (guide and _direction_catch(at, reach, guide))
        or None
    )


def _spot_catch(field: SnapField, at: Vector, reach: float) -> Catch | None:
    if not len(field.spots):
        return None
    distances = np.hypot(field.spots[:, 0] - at[0], field.spots[:, 1] - at[1])
    near = np.flatnonzero(distances <= reach)
    if not len(near):
        return None
    best = min(near, key=lambda i: distances[i] * _SPOT_WEIGHT[field.spot_kinds[i]])
    track = field.names[field.spot_tracks[best]]
    return _catch(field.spots[best], field.spot_kinds[best], track, distances[best])


def on_track(field: SnapField, at: Vector, reach: float) -> Catch | None:
    """Return the nearest point of any track within ``reach``, or None."""
    feet, distances = _feet(field, at)
    if not len(feet):
        return None
    i = int(np.argmin(distances))
    if distances[i] > reach:
        return None
    return _catch(feet[i], CatchKind.ON, field.names[field.segment_tracks[i]], distances[i])


def _feet(field: SnapField, at: Vector) -> tuple[Points, Points]:
    """Return the nearest point of every segment, with its distance."""
    run = field.ends - field.starts
    size = np.maximum((run**2).sum(axis=1), 1e-18)
    t = np.clip(((np.array(at) - field.starts) * run).sum(axis=1) / size, 0, 1)
    feet = field.starts + t[:, None] * run
    return feet, np.hypot(feet[:, 0] - at[0], feet[:, 1] - at[1])


def _foot_catch(field: SnapField, at: Vector, reach: float, guide: Guide) -> Catch | None:
    """Catch the foot of the perpendicular from the guide's origin onto a segment."""
    run = field.ends - field.starts
    size = np.maximum((run**2).sum(axis=1), 1e-18)
    t = ((np.array(guide.origin) - field.starts) * run).sum(axis=1) / size
    feet = field.starts + t[:, None] * run
    away = np.hypot(feet[:, 0] - guide.origin[0], feet[:, 1] - guide.origin[1])
    distances = np.hypot(feet[:, 0] - at[0], feet[:, 1] - at[1])
    near = np.flatnonzero((t >= 0) & (t <= 1) & (away > reach) & (distances <= reach))
    if not len(near):
        return None
    i = near[np.argmin(distances[near])]
    name = field.names[field.segment_tracks[i]]
    return _catch(feet[i], CatchKind.SQUARE, name, distances[i])


def _meeting_catch(field: SnapField, at: Vector, reach: float, guide: Guide) -> Catch | None:
    """Catch where a favoured direction from the origin meets a track."""
    ahead = _nearest_direction(at, reach, guide)
    if ahead is None or not len(field.starts):
        return None
    (dx, dy), kind = ahead
    run = field.ends - field.starts
    gap = field.starts - np.array(guide.origin)
    cross = dx * run[:, 1] - dy * run[:, 0]
    safe = np.where(np.abs(cross) < 1e-12, np.inf, cross)
    s = (gap[:, 0] * run[:, 1] - gap[:, 1] * run[:, 0]) / safe
    t = (gap[:, 0] * dy - gap[:, 1] * dx) / safe
    met = np.array(guide.origin) + s[:, None] * np.array([dx, dy])
    distances = np.hypot(met[:, 0] - at[0], met[:, 1] - at[1])
    is_met = np.isfinite(safe) & (s > reach) & (t >= 0) & (t <= 1)
    near = np.flatnonzero(is_met & (distances <= reach))
    if not len(near):
        return None
    i = near[np.argmin(distances[near])]
    return _catch(met[i], kind, field.names[field.segment_tracks[i]], distances[i])


def _direction_catch(at: Vector, reach: float, guide: Guide) -> Catch | None:
    ahead = _nearest_direction(at, reach, guide)
    if ahead is None:
        return None
    (dx, dy), kind = ahead
    ox, oy = guide.origin
    s = (at[0] - ox) * dx + (at[1] - oy) * dy
    foot = (ox + s * dx, oy + s * dy)
    return Catch(foot, kind, None, math.dist(foot, at))


def _nearest_direction(
    at: Vector, reach: float, guide: Guide
) -> tuple[Vector, CatchKind] | None:
    """Return the favoured direction that passes nearest within reach; earlier ones win ties."""
    rx, ry = at[0] - guide.origin[0], at[1] - guide.origin[1]
    best: tuple[Vector, CatchKind] | None = None
    best_off = reach
    for (dx, dy), kind in guide.directions:
        off = abs(rx * dy - ry * dx)
        if rx * dx + ry * dy > reach and off < best_off - 1e-9:
            best, best_off = ((dx, dy), kind), off
    return best


def _catch(at: Points, kind: CatchKind, track: str, distance: float) -> Catch:
    return Catch((float(at[0]), float(at[1])), kind, track, float(distance))

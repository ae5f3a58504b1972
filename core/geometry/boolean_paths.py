"""Union, difference and clean-up of curved rings: decided on polylines, answered in curves.

The rings are flattened, the polylines are overlaid, and each stretch of the result is found
again on the segment that it came from. Where two segments meet, their exact meeting is sought
on the curves themselves, so the result keeps the drawn curves; only which stretches remain is
decided on polylines.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.errors import GeometryError
from core.geometry.bezier import (
    Chain,
    Segment,
    flat_parameters,
    length_of,
    meeting,
    point_at,
    points_at,
    sub_segment,
)
from core.geometry.segment_match import match_segments
from core.tolerance import JOIN_MM

Points = NDArray[np.float64]
Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

FINE_MM = 0.005
"""How finely curves are flattened to be overlaid."""
CRUMB_MM2 = 0.5
"""Parts and holes smaller than this come from flattening and are dropped."""


@dataclass(frozen=True, slots=True)
class CurvedArea:
    """One area with curved rims.

    Attributes:
        outer: counter-clockwise.
        holes: clockwise.
    """

    outer: Chain
    holes: tuple[Chain, ...] = ()


@dataclass(frozen=True, slots=True)
class _Flat:
    """Segments flattened to edges, each with its segment and its stretch of that segment."""

    segments: Sequence[Segment]
    starts: Complex
    ends: Complex
    owner: Indices
    t0: Floats
    t1: Floats


@dataclass(slots=True)
class _Run:
    """A stretch of one segment on the rim of the result."""

    owner: int
    t0: float
    t1: float


def flat_ring(chain: Sequence[Segment], tolerance: float = FINE_MM) -> Points:
    """Return a closed chain's polyline, shape (n, 2), its first point not repeated."""
    parts = [points_at(s, flat_parameters(s, tolerance))[:-1] for s in chain]
    return _plane(np.concatenate(parts))


def united(a: Chain, b: Chain) -> list[CurvedArea]:
    """Return the areas covered by one or both of two counter-clockwise rings, largest first."""
    return _overlaid([a, b], shapely.union(_solid(a), _solid(b)))


def without(a: Chain, b: Chain) -> list[CurvedArea]:
    """Return what is left of ring a when b is cut away, largest area first.

    Args:
        a: counter-clockwise.
        b: clockwise: its rim then runs as the rim of what is left does.
    """
    return _overlaid([a, b], shapely.difference(_solid(a), _solid(b)))


def cleaned(chain: Chain) -> list[CurvedArea]:
    """Return the areas that a ring which may cross itself winds round counter-clockwise.

    Source: the positive winding rule, by which loops that an offset turns inside out vanish.
    """
    chain = _closed_up(chain)
    if not chain:
        return []
    flat = _flatten(chain)
    edges = np.stack([_plane(flat.starts), _plane(flat.ends)], axis=1)
    noded = shapely.union_all(shapely.linestrings(edges))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    spots = shapely.point_on_surface(faces)
    turns = [_winding(edges, float(p.x), float(p.y)) for p in spots]
    kept = [f for f, turn in zip(faces, turns, strict=True) if turn > 0]
    return _overlaid([chain], shapely.union_all(kept))


def _solid(chain: Chain) -> Polygon:
    points = flat_ring(chain)
    shape = Polygon(points) if len(points) > 2 else Polygon()
    if shape.is_empty or not shape.is_valid:
        raise GeometryError(
            "An outline crosses itself or has no area.", mend="Move its nodes apart first."
        )
    return shape


def _plane(points: Complex) -> Points:
    return np.stack([points.real, points.imag], axis=1)


def _flatten(segments: Sequence[Segment]) -> _Flat:
    starts, ends, owner, t0, t1 = [], [], [], [], []
    for i, segment in enumerate(segments):
        t = flat_parameters(segment, FINE_MM)
        at = points_at(segment, t)
        at[0], at[-1] = segment.p0, segment.p3
        keep = at[:-1] != at[1:]
        starts.append(at[:-1][keep])
        ends.append(at[1:][keep])
        t0.append(t[:-1][keep])
        t1.append(t[1:][keep])
        owner.append(np.full(int(keep.sum()), i, dtype=np.intp))
    joined = [np.concatenate(part) for part in (starts, ends)]
    times = [np.concatenate(part) for part in (t0, t1)]
    return _Flat(segments, joined[0], joined[1], np.concatenate(owner), times[0], times[1])


def _winding(edges: NDArray[np.float64], x: float, y: float) -> int:
    """Return how many times edges wind round a point that lies on none of them."""
    (x0, y0), (x1, y1) = edges[:, 0].T, edges[:, 1].T
    side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
    up = (y0 <= y) & (y1 > y) & (side > 0)
    down = (y0 > y) & (y1 <= y) & (side < 0)
    return int(up.sum()) - int(down.sum())


def _overlaid(chains: list[Chain], result: shapely.Geometry) -> list[CurvedArea]:
    flat = _flatten([segment for chain in chains for segment in chain])
    parts = [p for p in shapely.get_parts(result) if isinstance(p, Polygon)]
    parts = sorted((p for p in parts if p.area > CRUMB_MM2), key=lambda p: -p.area)
    areas = []
    for part in parts:
        oriented: Polygon = shapely.orient_polygons(part)
        holes = [h for h in oriented.interiors if Polygon(h).area > CRUMB_MM2]
        rings = [_traced(np.asarray(r.coords), flat) for r in (oriented.exterior, *holes)]
        areas.append(CurvedArea(rings[0], tuple(rings[1:])))
    return areas


def _traced(coords: Points, flat: _Flat) -> Chain:
    """Return a ring of the result as stretches of the segments that it came from."""
    runs = _runs(coords, flat)
    _meet(runs, flat.segments)
    chain = [sub_segment(flat.segments[r.owner], r.t0, r.t1) for r in runs if r.t1 > r.t0]
    chain = [s for s in chain if length_of(s) > JOIN_MM / 10]
    return _closed_up(chain)


def _closed_up(chain: Chain) -> Chain:
    """Return the chain with ends that agree to rounding made one point."""
    return [
        _ending_at(s, following.p0)
        for s, following in zip(chain, [*chain[1:], chain[0]], strict=True)
    ]


def _ending_at(segment: Segment, end: complex) -> Segment:
    shift = end - segment.p3
    return replace(segment, p2=segment.p2 + shift, p3=end) if shift else segment


def _runs(coords: Points, flat: _Flat) -> list[_Run]:
    """Group the edges of a ring into stretches of one segment each."""
    edges = coords[:-1], coords[1:]
    theirs = _plane(flat.starts), _plane(flat.ends)
    found = match_segments(edges, theirs, only_split=False)
    a, b = (e[:, 0] + 1j * e[:, 1] for e in edges)
    t0, t1 = (_times(p, found, flat) for p in (a, b))
    owner = flat.owner[found]
    runs: list[_Run] = []
    for who, start, end in zip(owner, t0, t1, strict=True):
        last = runs[-1] if runs else None
        if last is not None and last.owner == who and abs(last.t1 - start) < 1e-6:
            last.t1 = max(float(end), last.t1)
        else:
            runs.append(_Run(int(who), float(start), float(end)))
    first, last = runs[0], runs[-1]
    if len(runs) > 1 and first.owner == last.owner and abs(last.t1 - first.t0) < 1e-6:
        first.t0 = runs.pop().t0
    return _started_first(runs)


def _started_first(runs: list[_Run]) -> list[_Run]:
    """Turn the list so that it starts with the first of the segments that were drawn."""
    start = min(range(len(runs)), key=lambda i: (runs[i].owner, runs[i].t0))
    return [*runs[start:], *runs[:start]]


def _times(points: Complex, found: Indices, flat: _Flat) -> Floats:
    """Return the parameters of points on the segments of the edges they were found on."""
    a, run = flat.starts[found], flat.ends[found] - flat.starts[found]
    share = (np.conj(run) * (points - a)).real / np.maximum(np.abs(run) ** 2, 1e-300)
    t: Floats = flat.t0[found] + np.clip(share, 0, 1) * (flat.t1[found] - flat.t0[found])
    t[np.abs(t) < 1e-9] = 0.0
    t[np.abs(t - 1) < 1e-9] = 1.0
    return t


def _meet(runs: list[_Run], segments: Sequence[Segment]) -> None:
    """Move the ends of neighbouring stretches to where their segments really meet."""
    for here, following in pairwise([*runs, runs[0]]):
        a, b = segments[here.owner], segments[following.owner]
        if abs(point_at(a, here.t1) - point_at(b, following.t0)) < 1e-9:
            continue
        met = meeting(a, here.t1, b, following.t0)
        if met is None:
            continue
        ta, tb = (min(max(t, 0.0), 1.0) for t in met)
        moved = abs(point_at(a, ta) - point_at(a, here.t1))
        if moved < 10 * FINE_MM + JOIN_MM:
            here.t1, following.t0 = ta, tb

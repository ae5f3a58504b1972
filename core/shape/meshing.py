"""An area of the map cut into triangles of even size, along its rim."""

import itertools
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay, QhullError
from shapely import Polygon

from core.errors import GeometryError
from core.shape.model import Points, Triangles

_CORNER_DEG = 20.0
_CLOSEST_CORNERS = 0.3
"""Of two corners nearer than this share of a triangle's side, one is left out."""
_CLEAR_OF_RIM = 0.6
_ROUNDS = 8
_SHORTEST = 0.2
"""Steps of the rim shorter than this share of a triangle's side are not split again: in a sharp
corner that would never end, and what is missed there is next to nothing."""


@dataclass(frozen=True, eq=False)
class RimRing:
    """A ring of an area, with the triangles' vertices along it.

    Attributes:
        points: shape (n, 2): the ring itself, not closed.
        lengths: shape (n + 1,): way along the ring to each point, and all round.
        vertex_lengths: way along the ring to each vertex, rising.
        is_corner: of each vertex.
        vertices: their numbers.
    """

    points: Points
    lengths: Points
    vertex_lengths: Points
    is_corner: NDArray[np.bool_]
    vertices: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class AreaMesh:
    """Triangles of an area: shape (n, 2) points, shape (m, 3) triangles, and its rings."""

    points: Points
    triangles: Triangles
    rings: tuple[RimRing, ...]


def mesh_area(area: Polygon, target_triangles: int) -> AreaMesh:
    """Cut an area into about so many triangles.

    The rim of the triangles has its vertices on the area's rim, at every corner and about a
    triangle's side apart.

    Raises:
        GeometryError: an area without width.

    Degenerate input: where an area touches itself, its triangles hang together in a point.
    """
    if area.is_empty or not area.is_valid or area.area < 1e-6:
        raise GeometryError("An area without width, or that crosses itself, cannot be laid.")
    side = float(np.sqrt(area.area / target_triangles * 4 / np.sqrt(3)))
    rings = [_divided(np.asarray(r.coords)[:-1], side) for r in _rings_of(area)]
    inner = _grid_points(area, side)
    points, numbers, triangles = _triangulated(rings, inner)
    for _ in range(_ROUNDS):
        finer = _split_missing(rings, numbers, triangles, _SHORTEST * side)
        if finer is None:
            break
        rings = finer
        points, numbers, triangles = _triangulated(rings, inner)
    used, compact = np.unique(triangles, return_inverse=True)
    renumbered = np.full(len(points), -1)
    renumbered[used] = np.arange(len(used))
    named = [_named(ring, renumbered[n]) for ring, n in zip(rings, numbers, strict=True)]
    return AreaMesh(points[used], compact.reshape(triangles.shape), tuple(named))


def _named(ring: RimRing, vertices: NDArray[np.int64]) -> RimRing:
    """Give a ring its vertices' numbers, without those that no triangle has."""
    kept = vertices >= 0
    if kept.sum() < 3:
        raise GeometryError("An area without width cannot be laid.")
    return replace(
        ring,
        vertex_lengths=ring.vertex_lengths[kept],
        is_corner=ring.is_corner[kept],
        vertices=vertices[kept],
    )


def _rings_of(area: Polygon) -> list[shapely.LinearRing]:
    area = shapely.orient_polygons(area)
    return [area.exterior, *area.interiors]


def _divided(points: Points, side: float) -> RimRing:
    """Place vertices on a ring: at its corners, and evenly between them."""
    closed = np.vstack((points, points[:1]))
    steps = np.diff(closed, axis=0)
    lengths = np.concatenate(([0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))))
    way = steps[:, 0] + 1j * steps[:, 1]
    turns = np.abs(np.angle(way / np.where(np.roll(way, 1) == 0, 1, np.roll(way, 1))))
    corners = lengths[:-1][turns > np.radians(_CORNER_DEG)]
    total = lengths[-1]
    kept: list[float] = []
    for corner in corners.tolist():
        near_first = kept and corner + _CLOSEST_CORNERS * side > total + kept[0]
        if not near_first and (not kept or corner - kept[-1] > _CLOSEST_CORNERS * side):
            kept.append(corner)
    breaks = kept or [0.0]
    at: list[float] = []
    for start, end in zip(breaks, [*breaks[1:], breaks[0] + total], strict=True):
        count = max(1 if len(breaks) > 2 else 3, round((end - start) / side))
        at += [start + (end - start) * i / count for i in range(count)]
    places = np.array(at)
    is_corner = np.isin(places, kept) if kept else np.zeros(len(places), dtype=bool)
    return RimRing(points, lengths, places, is_corner, np.empty(0, dtype=np.int64))


def _points_at(ring: RimRing) -> Points:
    closed = np.vstack((ring.points, ring.points[:1]))
    way = ring.vertex_lengths % ring.lengths[-1]
    return np.column_stack([np.interp(way, ring.lengths, closed[:, i]) for i in (0, 1)])


def _grid_points(area: Polygon, side: float) -> Points:
    """Return a grid of even triangles' corners, clear of the rim."""
    inner = area.buffer(-_CLEAR_OF_RIM * side, quad_segs=2)
    if inner.is_empty:
        return np.empty((0, 2))
    shapely.prepare(inner)
    x0, y0, x1, y1 = inner.bounds
    rise = side * np.sqrt(3) / 2
    rows = np.arange(y0, y1 + rise, rise)
    columns = np.arange(x0 - side / 2, x1 + side, side)
    x, y = np.meshgrid(columns, rows)
    x[1::2] += side / 2
    points = np.column_stack((x.ravel(), y.ravel()))
    return points[shapely.contains_xy(inner, points)]


def _merged(rim: list[Points], inner: Points) -> tuple[Points, list[NDArray[np.int64]]]:
    """Return all points, each place once, and the numbers of the rim's."""
    everything = np.vstack((*rim, inner))
    _, first, inverse = np.unique(
        np.round(everything, 6), axis=0, return_index=True, return_inverse=True
    )
    inverse = inverse.ravel()
    ends = np.cumsum([0, *(len(r) for r in rim)])
    numbers = [inverse[a:b] for a, b in itertools.pairwise(ends)]
    return everything[first], numbers


def _triangulated(
    rings: list[RimRing], inner: Points
) -> tuple[Points, list[NDArray[np.int64]], Triangles]:
    """Return all points, the numbers of each ring's vertices, and the triangles inside."""
    rim = [_points_at(ring) for ring in rings]
    points, numbers = _merged(rim, inner)
    try:
        triangles = Delaunay(points).simplices.astype(np.int64)
    except (QhullError, ValueError) as error:
        raise GeometryError("An area without width cannot be laid.") from error
    a, b, c = (points[triangles[:, i]] for i in range(3))
    u, v, w = b - a, c - a, c - b
    doubled = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    triangles[doubled < 0] = triangles[doubled < 0][:, [0, 2, 1]]
    longest = np.stack([(side**2).sum(axis=1) for side in (u, v, w)]).max(axis=0)
    inside = Polygon(rim[0], [r for r in rim[1:] if len(r) > 2])
    shapely.prepare(inside)
    kept = shapely.contains_xy(inside, (a + b + c) / 3) & (np.abs(doubled) > 1e-4 * longest)
    if not kept.any():
        raise GeometryError("An area without width cannot be laid.")
    return points, numbers, triangles[kept]


def _split_missing(
    rings: list[RimRing],
    numbers: list[NDArray[np.int64]],
    triangles: Triangles,
    shortest: float,
) -> list[RimRing] | None:
    """Put a vertex into the middle of each long step of the rim that no triangle runs along.

    Returns:
        The rings, or None where every step has its triangle.
    """
    ends = np.sort(triangles[:, ((0, 1), (1, 2), (2, 0))].reshape(-1, 2), axis=1)
    size = max(int(triangles.max()), *(int(n.max()) for n in numbers)) + 1
    present = np.unique(ends[:, 0] * size + ends[:, 1])
    result, was_split = [], False
    for ring, named in zip(rings, numbers, strict=True):
        pairs = np.sort(np.column_stack((named, np.roll(named, -1))), axis=1)
        places = ring.vertex_lengths
        nexts = np.append(places[1:], places[0] + ring.lengths[-1])
        missing = ~np.isin(pairs[:, 0] * size + pairs[:, 1], present)
        where = np.flatnonzero(
            missing & (pairs[:, 0] != pairs[:, 1]) & (nexts - places > shortest)
        )
        was_split |= len(where) > 0
        halfway = (places[where] + nexts[where]) / 2
        result.append(
            replace(
                ring,
                vertex_lengths=np.insert(places, where + 1, halfway),
                is_corner=np.insert(ring.is_corner, where + 1, values=False),
            )
        )
    return result if was_split else None

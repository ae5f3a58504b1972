"""Splitting a polygon by lines into faces whose every edge knows where it comes from.

All lines are noded once; the faces are polygonised, and each face edge finds its source by its
midpoint (``segment_match``), which costs no search for a segment that was not split.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon

from core.geometry.segment_match import match_segments, midpoint_keys

Points = NDArray[np.float64]
Codes = NDArray[np.intp]
Faces = NDArray[np.object_]

MICRO_WIDTH_MM = 0.02
"""A face thinner than this (2 · area / perimeter) is an accident of nearly equal lines."""

DUST_MM = 2.0
"""A micro face with less perimeter is rounding at a line's end, and nobody's business."""


@dataclass(frozen=True, slots=True)
class Cutter:
    """A line that splits: an open polyline or a closed ring.

    Attributes:
        points: shape (n, 2); a ring repeats its first point at the end.
        left, right: codes for the edge of a face that lies on that side.
    """

    points: Points
    left: int
    right: int


@dataclass(frozen=True, slots=True)
class FaceRing:
    """One ring of a face: points, not repeated at the end, and a code for each segment."""

    points: Points
    codes: Codes


@dataclass(frozen=True, slots=True)
class Border:
    """Edges of one cutter between two faces.

    Attributes:
        cutter: index of the cutter.
        left, right: indices of the faces on its two sides.
        starts, ends: the edges, in the cutter's direction, shape (k, 2) each, sorted along it.
    """

    cutter: int
    left: int
    right: int
    starts: Points
    ends: Points


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The faces of a split polygon.

    Attributes:
        faces: polygons, oriented.
        rings: for each face its rings, outer first.
        borders: where two faces meet; those of one cutter in its direction.
        idle: parts of cutters inside the polygon that divide nothing (loose ends, bridges).
        merged: places of faces of no width, longer than dust, that went to a neighbour.
    """

    faces: tuple[Polygon, ...]
    rings: tuple[tuple[FaceRing, ...], ...]
    borders: tuple[Border, ...]
    idle: tuple[LineString, ...]
    merged: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class _Segments:
    """Source segments: ends, codes for faces on either side, cutter (-1: the rim)."""

    starts: Points
    ends: Points
    left: Codes
    right: Codes
    cutter: Codes


@dataclass(frozen=True, slots=True)
class _Edges:
    """Edges of faces: ends, the face on whose boundary each lies, the segment it lies on."""

    starts: Points
    ends: Points
    face: Codes
    source: Codes


def split(base: Polygon, rim_codes: list[Codes], cutters: list[Cutter]) -> Arrangement:
    """Split a polygon by lines.

    Args:
        base: valid polygon, oriented (outer ring counter-clockwise, holes clockwise).
        rim_codes: a code for each segment, one array a ring, outer first.
        cutters: may cross each other and reach past the polygon.

    Degenerate input: cutters outside divide nothing; of cutters that coincide the first gives
        its
    codes; faces of no width are merged into the neighbour with the longest common edge.
    """
    segments = _gather(base, rim_codes, cutters)
    lines = [LineString(r.coords) for r in (base.exterior, *base.interiors)]
    lines += [LineString(c.points) for c in cutters]
    noded = shapely.union_all(lines) if cutters else shapely.multilinestrings(lines)
    made, bridges, dangles, _ = shapely.polygonize_full([noded])
    faces = shapely.orient_polygons(shapely.get_parts(made))
    inside = shapely.point_on_surface(faces)
    shapely.prepare(base)
    faces = faces[shapely.contains(base, inside)]
    faces, merged = _merge_micro(faces)
    rings, borders = _label(faces, segments)
    idle = _idle(base, [*shapely.get_parts(bridges), *shapely.get_parts(dangles)])
    return Arrangement(tuple(faces), rings, borders, idle, merged)


def _gather(base: Polygon, rim_codes: list[Codes], cutters: list[Cutter]) -> _Segments:
    runs = [np.asarray(ring.coords) for ring in (base.exterior, *base.interiors)]
    left = [*rim_codes]
    right = [*rim_codes]
    owner = [np.full(len(codes), -1, dtype=np.intp) for codes in rim_codes]
    for i, cutter in enumerate(cutters):
        count = len(cutter.points) - 1
        runs.append(cutter.points)
        left.append(np.full(count, cutter.left, dtype=np.intp))
        right.append(np.full(count, cutter.right, dtype=np.intp))
        owner.append(np.full(count, i, dtype=np.intp))
    return _Segments(
        np.concatenate([run[:-1] for run in runs]),
        np.concatenate([run[1:] for run in runs]),
        np.concatenate(left),
        np.concatenate(right),
        np.concatenate(owner),
    )


def _idle(base: Polygon, lines: list[LineString]) -> tuple[LineString, ...]:
    """Return what lies inside the polygon of lines that bound no face, ignoring run-ons."""
    if not lines:
        return ()
    # Noded lines lie wholly on one side of the rim, so their middles tell on which.
    middles = shapely.line_interpolate_point(
        np.array(lines, dtype=object), 0.5, normalized=True
    )
    inside = shapely.contains(base, middles)
    return tuple(
        line for line, is_in in zip(lines, inside, strict=True) if is_in and line.length > 0.5
    )


def _merge_micro(faces: Faces) -> tuple[Faces, tuple[Point, ...]]:
    """Merge faces of no width into the neighbour with which they share the most boundary."""
    widths = 2 * shapely.area(faces) / np.maximum(shapely.length(faces), 1e-12)
    micro = np.flatnonzero(widths < MICRO_WIDTH_MM)
    if len(micro) == 0 or len(micro) == len(faces):
        return faces, ()
    kept = [f for i, f in enumerate(faces) if i not in set(micro.tolist())]
    for i in micro:
        shared = shapely.length(shapely.intersection(np.array(kept, dtype=object), faces[i]))
        best = int(np.argmax(shared))
        merged = shapely.union(kept[best], faces[i])
        if isinstance(merged, Polygon):
            kept[best] = shapely.orient_polygons(merged)
    long = [faces[i] for i in micro if faces[i].length > DUST_MM]
    return np.array(kept, dtype=object), tuple(f.representative_point() for f in long)


def _label(
    faces: Faces, segments: _Segments
) -> tuple[tuple[tuple[FaceRing, ...], ...], tuple[Border, ...]]:
    """Give every face edge its code and gather the borders between faces."""
    rings, face_of_ring = shapely.get_rings(faces, return_index=True)
    coords, ring_of = shapely.get_coordinates(rings, return_index=True)
    is_edge = ring_of[1:] == ring_of[:-1]
    starts, ends = coords[:-1][is_edge], coords[1:][is_edge]
    ring_of_edge = ring_of[:-1][is_edge]
    source = match_segments((starts, ends), (segments.starts, segments.ends), only_split=True)
    edges = _Edges(starts, ends, face_of_ring[ring_of_edge], source)
    twins = _twins(starts, ends)
    _rim_first(edges, twins, segments)
    with_source = np.sum((ends - starts) * (segments.ends - segments.starts)[source], axis=1)
    is_left = with_source > 0
    codes = np.where(is_left, segments.left[source], segments.right[source])
    bounds = np.searchsorted(ring_of_edge, np.arange(len(rings) + 1))
    labelled: list[list[FaceRing]] = [[] for _ in faces]
    for i, face in enumerate(face_of_ring):
        part = slice(bounds[i], bounds[i + 1])
        labelled[face].append(FaceRing(starts[part], codes[part]))
    borders = _borders(edges, is_left, twins, segments)
    return tuple(tuple(r) for r in labelled), borders


def _twins(starts: Points, ends: Points) -> tuple[Codes, Codes]:
    """Pair the edges that two faces have in common."""
    middles = midpoint_keys(starts, ends)
    order = np.argsort(middles, kind="stable")
    same = np.flatnonzero(middles[order][1:] == middles[order][:-1])
    return order[same], order[same + 1]


def _rim_first(edges: _Edges, twins: tuple[Codes, Codes], segments: _Segments) -> None:
    """Make the rim the source of edges of one face only, whatever else runs there."""
    is_lone = segments.cutter[edges.source] >= 0
    is_lone[np.concatenate(twins)] = False
    if is_lone.any():
        rim = np.flatnonzero(segments.cutter < 0)
        lone = edges.starts[is_lone], edges.ends[is_lone]
        own = match_segments(lone, (segments.starts[rim], segments.ends[rim]), only_split=False)
        edges.source[is_lone] = rim[own]


def _borders(
    edges: _Edges, is_left: NDArray[np.bool_], twins: tuple[Codes, Codes], segments: _Segments
) -> tuple[Border, ...]:
    """Group the edges between two faces by cutter and face pair."""
    one, two = twins
    starts, ends, face, source = edges.starts, edges.ends, edges.face, edges.source
    left = np.where(is_left[one], one, two)
    right = np.where(is_left[one], two, one)
    inner = (segments.cutter[source[left]] >= 0) & (is_left[one] != is_left[two])
    left, right = left[inner], right[inner]
    key = np.stack([segments.cutter[source[left]], face[left], face[right]], axis=1)
    along = np.sum(
        (starts[left] - segments.starts[source[left]])
        * (segments.ends - segments.starts)[source[left]],
        axis=1,
    )
    rank = np.lexsort([along, source[left], key[:, 2], key[:, 1], key[:, 0]])
    key, left = key[rank], left[rank]
    if len(key) == 0:
        return ()
    breaks = np.flatnonzero(np.any(key[1:] != key[:-1], axis=1)) + 1
    groups = np.split(np.arange(len(key)), breaks)
    along, source = along[rank], source[left]
    groups.sort(key=lambda g: (int(key[g[0], 0]), int(source[g[0]]), float(along[g[0]])))
    made = []
    for group in groups:
        cutter, on_left, on_right = (int(k) for k in key[group[0]])
        own = left[group]
        made.append(Border(cutter, on_left, on_right, starts[own], ends[own]))
    return tuple(made)

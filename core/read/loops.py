"""Closed loops sorted into panels and openings, and turned into nodes.

A loop inside no other is a panel, one inside a panel is an opening of it, one inside an opening
is a panel again. Loops that cross one another are panels both.
"""

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from core.document.flatten import flatten
from core.document.path import Node, Path
from core.ids import NodeId
from core.progress import Progress, stop_if_cancelled
from core.read.joining import Loop
from core.read.strokes import Segment

SMOOTH_RAD = math.radians(0.5)
LEAST_MM2 = 1.0
"""Smaller loops are no panels and no openings."""
SAME_MM = 0.02
_DECIMALS = 7


@dataclass(frozen=True, slots=True)
class Ring:
    """A loop as nodes, counter-clockwise, with the area that it encloses.

    Attributes:
        shape: a sound polygon even where the drawn one crosses itself.
    """

    nodes: Path
    shape: Polygon
    is_crossing: bool
    layer: str
    name: str
    order: int

    @property
    def corner(self) -> tuple[float, float]:
        """The lower left corner of what it spans, curves and all."""
        return (
            min(_least(a, b, 0) for a, b in _pairs(self.nodes)),
            min(_least(a, b, 1) for a, b in _pairs(self.nodes)),
        )


@dataclass(frozen=True, slots=True)
class Nest:
    """A panel's outline with the openings in it."""

    outline: Ring
    openings: tuple[Ring, ...]


def to_ring(loop: Loop) -> Ring | None:
    """Return a loop as a ring; None when it encloses nothing to speak of."""
    nodes = to_nodes(list(loop.segments))
    points = flatten(nodes, closed=True)
    if len(points) < 3:
        return None
    shape = Polygon(points)
    is_crossing = not shape.is_valid
    whole = _sound(shape) if is_crossing else shape
    if whole is None or whole.area < LEAST_MM2:
        return None
    if not shapely.is_ccw(shapely.linearrings(points)):
        nodes = to_nodes([s.reversed() for s in reversed(loop.segments)])
    return Ring(nodes, whole, is_crossing, loop.layer, loop.name, loop.order)


def _sound(shape: Polygon) -> Polygon | None:
    """Return the largest part of what a ring that crosses itself encloses."""
    parts: list[BaseGeometry] = list(shapely.get_parts(shapely.make_valid(shape)))
    areas = [Polygon(part.exterior) for part in parts if isinstance(part, Polygon)]
    return max(areas, key=lambda part: part.area, default=None)


def to_nodes(segments: list[Segment]) -> Path:
    """Return the nodes of a closed loop; where tangents agree at a curve it runs through."""
    nodes = []
    for i, s in enumerate(segments):
        previous = segments[i - 1]
        nodes.append(
            Node(
                id=NodeId(f"n{i + 1}"),
                at=_pair(s.start),
                smooth=_is_smooth(previous, s),
                before=_handle(previous.end, previous.second),
                after=_handle(s.start, s.first),
            )
        )
    return tuple(nodes)


def _pairs(ring: Path) -> Iterator[tuple[Node, Node]]:
    return zip(ring, (*ring[1:], ring[0]), strict=True)


def _least(a: Node, b: Node, axis: int) -> float:
    """Return the least x (axis 0) or y (axis 1) on the way from a node to the next.

    A cubic Bezier curve has its extremes at its ends or where its derivative, a quadratic, is
    nothing.
    """
    p0, p3 = a.at[axis], b.at[axis]
    if a.after is None and b.before is None:
        return min(p0, p3)
    p1 = p0 + (a.after or (0.0, 0.0))[axis]
    p2 = p3 + (b.before or (0.0, 0.0))[axis]
    slopes = (p3 - 3 * p2 + 3 * p1 - p0, 2 * (p2 - 2 * p1 + p0), p1 - p0)
    values = [p0, p3]
    for t in np.roots(slopes):
        if abs(t.imag) < 1e-12 and 0 < t.real < 1:
            s, u = 1 - float(t.real), float(t.real)
            values.append(s**3 * p0 + 3 * s * s * u * p1 + 3 * s * u * u * p2 + u**3 * p3)
    return min(values)


def _handle(at: complex, control: complex | None) -> tuple[float, float] | None:
    """Return a handle; one of no length is none."""
    if control is None or abs(control - at) < 10.0**-_DECIMALS:
        return None
    return _pair(control - at)


def _pair(z: complex) -> tuple[float, float]:
    return round(z.real, _DECIMALS) + 0.0, round(z.imag, _DECIMALS) + 0.0


def _is_smooth(a: Segment, b: Segment) -> bool:
    if not (a.is_curve or b.is_curve):
        return False
    into = _direction(a.end, a.second, a.first, a.start)
    out = _direction(b.start, b.first, b.second, b.end)
    return into != 0 and out != 0 and abs(cmath.phase(-out / into)) < SMOOTH_RAD


def _direction(start: complex, *towards: complex | None) -> complex:
    """Return the way from a point to the first that is not there too."""
    for point in towards:
        if point is not None and abs(point - start) > 1e-6:
            return point - start
    return 0


def without_doubles(rings: list[Ring]) -> tuple[list[Ring], int]:
    """Drop rings that lie on an earlier one."""
    kept: list[Ring] = []
    seen: dict[tuple[int, ...], list[Ring]] = {}
    for ring in rings:
        key = tuple(round(v) for v in ring.shape.bounds)
        if not any(_is_same(ring, other) for other in seen.get(key, ())):
            kept.append(ring)
            # Bounds that are all but equal may round to different numbers.
            low, high = np.floor(ring.shape.bounds), np.ceil(ring.shape.bounds)
            for corner in np.ndindex(2, 2, 2, 2):
                near = tuple(int(v) for v in np.where(corner, high, low))
                seen.setdefault(near, []).append(ring)
    return kept, len(rings) - len(kept)


def _is_same(a: Ring, b: Ring) -> bool:
    if abs(a.shape.area - b.shape.area) > SAME_MM * a.shape.length:
        return False
    apart = shapely.hausdorff_distance(a.shape.exterior, b.shape.exterior, densify=0.1)
    return bool(apart < SAME_MM + 0.1)


def nest(rings: list[Ring], progress: Progress) -> list[Nest]:
    """Sort rings into panels with their openings, in the order in which they came."""
    if not rings:
        return []
    inside = _containers(rings, progress)
    openings: dict[int, list[Ring]] = {}
    for i, ring in enumerate(rings):
        if len(inside[i]) % 2:
            parents = [j for j in inside[i] if len(inside[j]) == len(inside[i]) - 1]
            nearest = min(parents or inside[i], key=lambda j: rings[j].shape.area)
            openings.setdefault(nearest, []).append(ring)
    return [
        Nest(ring, tuple(openings.get(i, ())))
        for i, ring in enumerate(rings)
        if len(inside[i]) % 2 == 0
    ]


def _containers(rings: list[Ring], progress: Progress) -> list[list[int]]:
    """Return for each ring those that it lies in."""
    shapes = [ring.shape for ring in rings]
    for shape in shapes:
        shapely.prepare(shape)
    tree = STRtree(shapes)
    inside: list[list[int]] = [[] for _ in rings]
    for j, outer in enumerate(shapes):
        stop_if_cancelled(progress)
        for i in tree.query(outer, predicate="covers"):
            if i != j and shapes[i].area < outer.area:
                inside[int(i)].append(j)
    return inside

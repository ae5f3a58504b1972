"""What was traced on a flat photo, and edits of it.

A *tracing* lies on the photo's ground, in mm. Its edits are pure functions; ids of nodes are
unique in their path, openings and marks are told by their place in the tracing until they get
ids of the job.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely import Point, Polygon

from core.document.edits.paths import translate_path
from core.document.flatten import flatten, flatten_owned
from core.document.panel import MarkKind
from core.document.path import Node, Path
from core.errors import EditRefused
from core.geometry.fitting import FittedNode, fit_ring
from core.ids import NodeId
from core.read.photo_flat import Bounds
from core.read.photo_outline import FoundShape

Points = NDArray[np.float64]
Place = tuple[float, float]

DEFAULT_TOLERANCE_MM = 0.5
OUTLINE = -1
"""Where a ring is named by its number among the openings, the outline."""


@dataclass(frozen=True, slots=True)
class TracedMark:
    """A mark on the photo: a spot, or a line of several points.

    Attributes:
        radius_mm: of a spot; of a line half its width.
    """

    kind: MarkKind
    path: tuple[Place, ...]
    radius_mm: float

    def moved(self, point: int | None, by: Place) -> "TracedMark":
        """Return the mark with one of its points moved; None moves it whole."""
        path = tuple(
            _plus(p, by) if point is None or i == point else p for i, p in enumerate(self.path)
        )
        return replace(self, path=path)


@dataclass(frozen=True, slots=True)
class Tracing:
    """What was traced so far.

    Attributes:
        outline: closed path, or () when there is none yet.
        openings: closed paths.
    """

    outline: Path = ()
    openings: tuple[Path, ...] = ()
    marks: tuple[TracedMark, ...] = ()

    @property
    def rings(self) -> tuple[Path, ...]:
        """The outline, where there is one, and the openings."""
        return ((self.outline,) if self.outline else ()) + self.openings


EMPTY = Tracing()


class Spot(NamedTuple):
    """A node or handle of a tracing that can be taken hold of.

    Attributes:
        ring: -1 the outline, else which opening.
        part: "node", "before" or "after".
    """

    ring: int
    node: str
    part: str


def fitted_tracing(found: FoundShape, tolerance_mm: float) -> Tracing:
    """Return the tracing of a found shape, with few nodes within a tolerance."""
    outline = path_of(fit_ring(found.rim, tolerance_mm))
    openings = tuple(path_of(fit_ring(hole, tolerance_mm)) for hole in found.holes)
    return Tracing(outline, openings)


def path_of(nodes: Sequence[FittedNode]) -> Path:
    """Return fitted nodes as a path."""
    return tuple(
        Node(id=NodeId(f"n{i}"), at=n.at, smooth=n.smooth, before=n.before, after=n.after)
        for i, n in enumerate(nodes, 1)
    )


def drawn_ring(nodes: Sequence[Node]) -> Path:
    """Return nodes that were placed by hand as a ring, counter-clockwise.

    Raises:
        EditRefused: fewer than three nodes, or all on one line.
    """
    path = tuple(nodes)
    area = ring_area(path) if len(path) >= 3 else 0.0
    if abs(area) < 1.0:
        raise EditRefused("An outline goes around an area.", mend="Place three nodes or more.")
    if area < 0:
        path = tuple(replace_handles(n) for n in reversed(path))
    return tuple(_renamed(n, f"n{i}") for i, n in enumerate(path, 1))


def replace_handles(node: Node) -> Node:
    """Return a node as seen when its path runs the other way."""
    return Node(
        id=node.id, at=node.at, smooth=node.smooth, before=node.after, after=node.before
    )


def pulled_node(node_id: str, at: Place, to: Place | None) -> Node:
    """Return a node at a place; pulled to another place it is smooth, its handles in line."""
    if to is None or math.dist(at, to) < 1e-6:
        return Node(id=NodeId(node_id), at=at)
    handle = (to[0] - at[0], to[1] - at[1])
    return Node(
        id=NodeId(node_id), at=at, smooth=True, before=(-handle[0], -handle[1]), after=handle
    )


def with_ring(tracing: Tracing, ring: int, path: Path | None) -> Tracing:
    """Return the tracing with a ring replaced, or taken out for None."""
    if ring < 0:
        return replace(tracing, outline=path or ())
    openings = [p if i != ring else path for i, p in enumerate(tracing.openings)]
    return replace(tracing, openings=tuple(p for p in openings if p))


def ring_at(tracing: Tracing, ring: int) -> Path:
    """Return a ring: -1 the outline, else an opening."""
    return tracing.outline if ring < 0 else tracing.openings[ring]


def find_spot(tracing: Tracing, at: Place, reach_mm: float, chosen: Spot | None) -> Spot | None:
    """Return what can be taken hold of near a place: handles of the chosen node, then nodes."""
    if chosen is not None:
        for node in ring_at(tracing, chosen.ring):
            if node.id != chosen.node:
                continue
            for part, handle in (("before", node.before), ("after", node.after)):
                if handle and math.dist(_plus(node.at, handle), at) <= reach_mm:
                    return Spot(chosen.ring, node.id, part)
    best: tuple[float, Spot] | None = None
    for ring, path in numbered_rings(tracing):
        for node in path:
            away = math.dist(node.at, at)
            if away <= reach_mm and (best is None or away < best[0]):
                best = away, Spot(ring, node.id, "node")
    return best[1] if best else None


def find_segment(tracing: Tracing, at: Place, reach_mm: float) -> tuple[int, str, float] | None:
    """Return ring, node and share of the stretch that passes near a place, or None."""
    best: tuple[float, tuple[int, str, float]] | None = None
    for ring, path in numbered_rings(tracing):
        line, owner = flatten_owned(path, closed=True)
        away, t = _away(line, np.roll(line, -1, axis=0), at)
        i = int(away.argmin())
        if away[i] > reach_mm or (best and away[i] >= best[0]):
            continue
        own = np.flatnonzero(owner == owner[i])
        share = (i - own[0] + float(t[i])) / len(own)
        best = float(away[i]), (ring, path[owner[i]].id, min(max(share, 0.02), 0.98))
    return best[1] if best else None


class MarkSpot(NamedTuple):
    """A mark that can be taken hold of.

    Attributes:
        mark: its place among the marks.
        point: which of a line's points; None the mark as a whole.
    """

    mark: int
    point: int | None = None


def find_mark(tracing: Tracing, at: Place, reach_mm: float) -> MarkSpot | None:
    """Return the mark at a place: points of lines first, then spots and stretches."""
    for i, mark in enumerate(tracing.marks):
        for k, point in enumerate(mark.path):
            if len(mark.path) > 1 and math.dist(point, at) <= reach_mm:
                return MarkSpot(i, k)
    for i, mark in enumerate(tracing.marks):
        line = np.array([*mark.path, mark.path[-1]])
        if _away(line[:-1], line[1:], at)[0].min() <= max(mark.radius_mm, reach_mm):
            return MarkSpot(i)
    return None


def find_opening(tracing: Tracing, at: Place) -> int | None:
    """Return the opening that a place lies in."""
    for i, path in enumerate(tracing.openings):
        if Polygon(flatten(path, closed=True)).contains(Point(at)):
            return i
    return None


def moved_ring(tracing: Tracing, ring: int, by: Place) -> Tracing:
    """Return the tracing with a ring moved whole."""
    return with_ring(tracing, ring, translate_path(ring_at(tracing, ring), *by))


def numbered_rings(tracing: Tracing) -> list[tuple[int, Path]]:
    """Return the rings with their numbers: -1 the outline, 0 and up the openings."""
    outline = [(-1, tracing.outline)] if tracing.outline else []
    return [*outline, *enumerate(tracing.openings)]


def ring_area(path: Path) -> float:
    """Return the area of a ring, mm², negative when it runs clockwise."""
    x, y = flatten(path, closed=True).T
    return float(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def ring_bounds(path: Path) -> Bounds:
    """Return left, bottom, right and top of a ring."""
    line = flatten(path, closed=True)
    (left, bottom), (right, top) = line.min(axis=0), line.max(axis=0)
    return float(left), float(bottom), float(right), float(top)


def _away(starts: Points, ends: Points, at: Place) -> tuple[Points, Points]:
    """Return how far each stretch is from a place, and at which share it is nearest."""
    run = ends - starts
    size = np.maximum((run**2).sum(axis=1), 1e-12)
    t = np.clip(((np.array(at) - starts) * run).sum(axis=1) / size, 0, 1)
    return np.hypot(*(starts + t[:, None] * run - np.array(at)).T), t


def _plus(a: Place, b: Place) -> Place:
    return a[0] + b[0], a[1] + b[1]


def _renamed(node: Node, name: str) -> Node:
    return Node(
        id=NodeId(name),
        at=node.at,
        smooth=node.smooth,
        before=node.before,
        after=node.after,
        turn_mm=node.turn_mm,
    )

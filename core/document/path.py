"""Node paths: the outlines, openings and lines that a person draws.

A path is a tuple of nodes; its owner knows whether it is closed. Between two nodes runs a
straight line, or a cubic Bézier curve when the first has an ``after`` handle or the second a
``before`` handle. Handles are stored relative to their node.
"""

from typing import Annotated

from msgspec import Meta, Struct

from core.ids import EdgeId, NodeId

Coord = Annotated[float, Meta(ge=-1e6, le=1e6)]
"""A coordinate in mm; the bounds also keep out infinities."""
Length = Annotated[float, Meta(ge=0, le=1e6)]
Positive = Annotated[float, Meta(gt=0, le=1e6)]
Percent = Annotated[float, Meta(ge=0, le=100)]
Name = Annotated[str, Meta(max_length=200)]
Id = Annotated[str, Meta(pattern=r"^[a-z][0-9]+$", max_length=12)]
Point = tuple[Coord, Coord]


class Node(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One node of a path.

    Attributes:
        id: unique in its path; an edge is named after the node that it starts from.
        at: position in the panel's frame, mm, y up.
        smooth: whether the path runs through without a corner.
        before: handle towards the previous node, relative to ``at``, or None for a straight
            line.
        after: handle towards the next node, relative to ``at``, or None.
        turn_mm: edge turn of the edge that starts here; None takes the panel's or opening's
            own. Read only on nodes that start an edge: corners, or the first node of a ring
            without any.
    """

    id: Id
    at: Point
    smooth: bool = False
    before: Point | None = None
    after: Point | None = None
    turn_mm: Length | None = None


Path = tuple[Node, ...]


def edge_starts(ring: Path) -> list[int]:
    """Return the positions of the nodes at which the edges of a closed ring start.

    Degenerate input: a ring without corners has one edge, which starts at its first node.
    """
    corners = [i for i, node in enumerate(ring) if not node.smooth]
    return corners or [0]


def edge_of_segments(ring: Path) -> list[EdgeId]:
    """Return, for each node of a closed ring, the edge that starts or runs on there."""
    starts = set(edge_starts(ring))
    first = min(starts)
    edges: list[EdgeId] = [EdgeId("")] * len(ring)
    current = EdgeId(ring[first].id)
    for step in range(len(ring)):
        i = (first + step) % len(ring)
        if i in starts:
            current = EdgeId(ring[i].id)
        edges[i] = current
    return edges


def straight_path(points: list[tuple[float, float]]) -> Path:
    """Return a path of corner nodes through the points, with ids n1, n2, ...

    >>> [node.id for node in straight_path([(0, 0), (5, 0)])]
    ['n1', 'n2']
    """
    return tuple(
        Node(id=NodeId(f"n{i}"), at=(float(x), float(y))) for i, (x, y) in enumerate(points, 1)
    )

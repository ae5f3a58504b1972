"""Carrying lines from one panel to another, and where they land there.

A line whose two ends lie on edges of its panel lands on the like edges of a panel with as many
edges, at the same share of each edge's length. Any other lands at the same place relative to
the panel's bounding box.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from msgspec.structs import replace
from numpy.typing import NDArray
from shapely import LineString

from core.document.edits.paths import translate_path
from core.document.flatten import flatten, flatten_owned
from core.document.hit import is_closed
from core.document.lines import Inlay, Line
from core.document.panel import Panel
from core.document.path import Path, Point, edge_starts
from core.tolerance import REACH_MM

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RimPlace:
    """A place on a panel's rim: which edge, counted from the first, and the share of it."""

    edge: int
    share: float


def carried(line: Line, source: Panel, target: Panel) -> Line:
    """Return a line of one panel as it lies on another, in that one's frame.

    Between its ends it is turned and scaled as they are; the widths of a stripe stay.

    Degenerate input: a line that ends where it starts is placed by the bounding box.
    """
    if source.outline == target.outline:
        return line
    if not is_closed(line):
        moved = _between_edges(line.nodes, source, target)
        if moved is not None:
            return replace(line, nodes=moved)
    return replace(line, nodes=_in_box(line, source, target))


def _between_edges(nodes: Path, source: Panel, target: Panel) -> Path | None:
    if len(edge_starts(source.outline)) != len(edge_starts(target.outline)):
        return None
    ends = []
    for node in (nodes[0], nodes[-1]):
        place = rim_place(source.outline, node.at)
        if place is None:
            return None
        ends.append(rim_point(target.outline, place))
    start, end = nodes[0].at, nodes[-1].at
    if math.dist(start, end) < REACH_MM:
        return None
    # A similarity in the complex plane: z -> first + turn * (z - start).
    turn = _z(_step(ends[0], ends[1])) / _z(_step(start, end))
    return _mapped(nodes, lambda p: _xy(_z(ends[0]) + turn * (_z(p) - _z(start))), turn)


def _in_box(line: Line, source: Panel, target: Panel) -> Path:
    """Move a line so that its middle is at the same share of the other panel's box."""
    points = flatten(line.nodes, closed=isinstance(line, Inlay))
    low, high = points.min(axis=0), points.max(axis=0)
    step = step_between(source, target, (*low.tolist(), *high.tolist()))
    return translate_path(line.nodes, *step)


def step_between(source: Panel, target: Panel, box: tuple[float, float, float, float]) -> Point:
    """Return the step that brings the middle of a box to the same share of another panel's box.

    Between panels of one outline it is none.
    """
    if source.outline == target.outline:
        return 0.0, 0.0
    middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
    low, size = _box_of(source)
    other_low, other_size = _box_of(target)
    wanted = other_low + (middle - low) / np.maximum(size, 1e-9) * other_size
    dx, dy = (wanted - middle).tolist()
    return dx, dy


def _box_of(panel: Panel) -> tuple[Points, Points]:
    ring = flatten(panel.outline, closed=True)
    low = ring.min(axis=0)
    return low, ring.max(axis=0) - low


def rim_place(outline: Path, at: Point) -> RimPlace | None:
    """Return where on a rim a point lies; None when it does not lie on it."""
    best: tuple[float, RimPlace] | None = None
    for k, edge in enumerate(_edges(outline)):
        away = float(shapely.distance(edge, shapely.points(*at)))
        if away <= REACH_MM and (best is None or away < best[0]):
            share = shapely.line_locate_point(edge, shapely.points(*at), normalized=True)
            best = away, RimPlace(k, float(share))
    return None if best is None else best[1]


def rim_point(outline: Path, place: RimPlace) -> Point:
    """Return the point at a place of a rim; KeyError when it has no such edge."""
    edges = _edges(outline)
    if not 0 <= place.edge < len(edges):
        raise KeyError(place.edge)
    at = shapely.line_interpolate_point(edges[place.edge], place.share, normalized=True)
    return float(at.x), float(at.y)


def _edges(outline: Path) -> list[LineString]:
    """Return the edges of a ring, each from its corner to the next one's."""
    ring, owner = flatten_owned(outline, closed=True)
    starts = edge_starts(outline)
    first = [int(np.flatnonzero(owner == i)[0]) for i in starts]
    ends = [*first[1:], first[0] + len(ring)]
    loop = np.vstack([ring, ring])
    return [LineString(loop[a : b + 1]) for a, b in zip(first, ends, strict=True)]


def _mapped(nodes: Path, move: Callable[[Point], Point], turn: complex) -> Path:
    def turned(handle: Point | None) -> Point | None:
        return None if handle is None else _xy(turn * _z(handle))

    return tuple(
        replace(n, at=move(n.at), before=turned(n.before), after=turned(n.after)) for n in nodes
    )


def _step(a: Point, b: Point) -> Point:
    return b[0] - a[0], b[1] - a[1]


def _z(p: Point) -> complex:
    return complex(*p)


def _xy(z: complex) -> Point:
    return z.real, z.imag

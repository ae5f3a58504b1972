"""A line that runs over several areas: how it is parted between them, and joined again.

Where two areas lie apart the line is parted in the middle of the gap, at a joint. A joint that
parting has made has an id of its own letter and goes again when the parts are joined, so that
a line stays as it was drawn however often it is parted.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from msgspec.structs import replace
from shapely import LineString, Polygon

from core.document.edits.paths import insert_node
from core.document.flatten import flatten, flatten_owned
from core.document.hit import nearest_on_path
from core.document.path import Node, Path, Point
from core.errors import EditRefused
from core.ids import NodeId, next_id
from core.tolerance import JOIN_MM

JOINT = "j"
"""First letter of the ids of joints."""
LEAST_CROSSING_MM = 1.0
"""A line that lies on an area for less than this does not cross it."""
_ALIGNED_RAD = 1e-6
_INSIDE = 1e-9


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a line lies on an area: lengths along it from first entering to last leaving."""

    area: int
    enters_mm: float
    leaves_mm: float


def crossings(path: Path, areas: Sequence[Polygon]) -> list[Crossing]:
    """Return where a line lies on areas, in the order in which it meets them.

    Degenerate input: an area that it only touches is left out.
    """
    line = LineString(flatten(path, closed=False))
    found = []
    for i, area in enumerate(areas):
        inner = shapely.intersection(line, area)
        if inner.length < LEAST_CROSSING_MM:
            continue
        ends = [
            shapely.line_locate_point(line, shapely.points(end))
            for part in shapely.get_parts(inner)
            for end in shapely.get_coordinates(part)
        ]
        found.append(Crossing(i, float(min(ends)), float(max(ends))))
    return sorted(found, key=lambda c: c.enters_mm + c.leaves_mm)


def part_path(path: Path, met: Sequence[Crossing]) -> list[Path]:
    """Part a line in the gaps between areas that it crosses.

    A node that lies in a gap is taken for the joint; else one is made in the middle.

    Args:
        path: the open line.
        met: as ``crossings`` gives it.

    Raises:
        EditRefused: two areas lie over each other along the line.
    """
    rest, parts, gone = path, [], 0.0
    for here, there in pairwise(met):
        low, high = sorted((here.leaves_mm, there.enters_mm))
        if not max(gone, here.enters_mm) < (low + high) / 2 < there.leaves_mm:
            raise EditRefused(
                "Two panels lie over each other along this line.",
                mend="Place the panels beside each other, as they sit on the vehicle.",
            )
        rest, joint = _with_joint(rest, low - gone, high - gone)
        part, rest = rest[: joint + 1], rest[joint:]
        gone += length_of(part)
        parts.append(_ended(part))
    return [*parts, _ended(rest)]


def _with_joint(path: Path, low: float, high: float) -> tuple[Path, int]:
    """Return the path with a node between two lengths along it, and that node's place."""
    line, owner = flatten_owned(path, closed=False)
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    middle = (low + high) / 2
    places = [along[int(np.flatnonzero(owner == i)[0])] for i in range(len(path) - 1)]
    between = [i for i in range(1, len(path) - 1) if low <= places[i] <= high]
    if between:
        return path, min(between, key=lambda i: abs(places[i] - middle))
    k = int(np.clip(np.searchsorted(along, middle) - 1, 0, len(steps) - 1))
    share = (middle - along[k]) / max(steps[k], 1e-12)
    x, y = line[k] + share * (line[k + 1] - line[k])
    i = int(owner[k])
    hit = nearest_on_path(path[i : i + 2], (float(x), float(y)), closed=False)
    assert hit is not None
    t = min(max(hit.t, _INSIDE), 1 - _INSIDE)
    longer = insert_node(path, path[i].id, t, closed=False)
    fresh = next_id(JOINT, (node.id for node in path))
    joint = replace(longer[i + 1], id=NodeId(fresh))
    return (*longer[: i + 1], joint, *longer[i + 2 :]), i + 1


def _ended(path: Path) -> Path:
    """Return a path whose ends are corners without outer handles."""
    first = replace(path[0], smooth=False, before=None)
    last = replace(path[-1], smooth=False, after=None)
    return (first, *path[1:-1], last)


def length_of(path: Path) -> float:
    """Return the length of an open path, as the plan measures it."""
    return float(LineString(flatten(path, closed=False)).length)


def join_paths(parts: Sequence[Path]) -> Path:
    """Join parts whose ends meet into one path; joints that parting made go again.

    Nodes keep their ids where they are all different, joints aside; else they are numbered
    anew.
    """
    nodes: list[Node] = list(parts[0])
    for part in parts[1:]:
        nodes[-1] = _joined(nodes[-1], part[0])
        nodes += part[1:]
    if len({node.id for node in nodes}) < len(nodes):
        nodes = [replace(n, id=_fresh(n.id, i)) for i, n in enumerate(nodes, 1)]
    path = tuple(nodes)
    for node in nodes:
        if node.id.startswith(JOINT):
            path = _without_joint(path, node.id)
    return path


def _fresh(old: str, number: int) -> NodeId:
    return NodeId(f"{JOINT if old.startswith(JOINT) else 'n'}{number}")


def _joined(last: Node, first: Node) -> Node:
    joint = replace(last, after=first.after, smooth=False)
    is_smooth = are_aligned(joint.before, joint.after)
    keeps = last.id if last.id == first.id or not last.id.startswith(JOINT) else first.id
    return replace(joint, id=keeps, smooth=is_smooth)


def are_aligned(before: Point | None, after: Point | None) -> bool:
    """Whether two handles lie in line on both sides of their node."""
    if before is None or after is None:
        return False
    size = math.hypot(*before) * math.hypot(*after)
    if size < 1e-12:
        return False
    cross = before[0] * after[1] - before[1] * after[0]
    dot = before[0] * after[0] + before[1] * after[1]
    return dot < 0 and abs(cross) <= max(_ALIGNED_RAD, JOIN_MM / math.sqrt(size)) * size


def _without_joint(path: Path, joint_id: str) -> Path:
    """Take a joint out, where the line without it is the same to a hundredth of a mm."""
    i = next(k for k, node in enumerate(path) if node.id == joint_id)
    before, joint, after = path[i - 1], path[i], path[i + 1]
    merged = _merged(before, joint, after)
    if merged is None:
        return path
    a, t, b = merged
    again = insert_node((a, b), a.id, t, closed=False)
    pairs = zip(again, (before, joint, after), strict=True)
    if any(_differ(new, old) for new, old in pairs):
        return path
    return (*path[: i - 1], a, b, *path[i + 2 :])


def _merged(before: Node, joint: Node, after: Node) -> tuple[Node, float, Node] | None:
    """Return the two ends of the line that the joint has split, and where it did."""
    if joint.before is None and joint.after is None:
        if before.after is not None or after.before is not None:
            return None
        whole, first = math.dist(before.at, after.at), math.dist(before.at, joint.at)
        return (before, first / whole, after) if 0 < first < whole else None
    if joint.before is None or joint.after is None:
        return None
    into, out = math.hypot(*joint.before), math.hypot(*joint.after)
    if not into or not out:
        return None
    t = into / (into + out)
    return (
        replace(before, after=_scaled(before.after, 1 / t)),
        t,
        replace(after, before=_scaled(after.before, 1 / (1 - t))),
    )


def _scaled(handle: Point | None, by: float) -> Point | None:
    return None if handle is None else (handle[0] * by, handle[1] * by)


def _differ(new: Node, old: Node) -> bool:
    pairs = (
        (new.at, old.at),
        (_tip(new.before), _tip(old.before)),
        (_tip(new.after), _tip(old.after)),
    )
    return any(math.dist(a, b) > JOIN_MM for a, b in pairs)


def _tip(handle: Point | None) -> Point:
    return handle or (0.0, 0.0)

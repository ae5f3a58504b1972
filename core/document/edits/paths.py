"""Edits of node paths: pure functions from a path to a new path.

``closed`` says whether the path is a ring; only its owner knows. Node ids are kept.
"""

import math
from typing import Literal

from msgspec.structs import replace

from core.document.path import Node, Path, edge_of_segments, edge_starts
from core.errors import EditRefused, InputError
from core.ids import next_id

Vector = tuple[float, float]


def move_node(path: Path, node_id: str, at: tuple[float, float]) -> Path:
    """Move a node, its handles with it."""
    i = _index(path, node_id)
    return _with(path, {i: replace(path[i], at=(float(at[0]), float(at[1])))})


def move_handle(
    path: Path,
    node_id: str,
    which: Literal["before", "after"],
    offset: tuple[float, float],
) -> Path:
    """Move a handle to an offset from its node; a smooth node keeps both in line.

    Degenerate input: an offset of zero leaves the other handle where it is.
    """
    i = _index(path, node_id)
    node = path[i]
    moved = (float(offset[0]), float(offset[1]))
    other = node.after if which == "before" else node.before
    length = math.hypot(*moved)
    if node.smooth and other is not None and length > 0:
        scale = -math.hypot(*other) / length
        other = (moved[0] * scale, moved[1] * scale)
    before, after = (moved, other) if which == "before" else (other, moved)
    return _with(path, {i: replace(node, before=before, after=after)})


def insert_node(path: Path, after_node_id: str, t: float, *, closed: bool) -> Path:
    """Split the segment that starts at a node; the shape stays exactly as it is.

    On a curve the new node is smooth; on a straight line it is a corner, with the turn of the
    edge that it splits. ``t`` says where on the segment, between 0 and 1 (the curve's own
    parameter).

    Raises:
        InputError: t is not between 0 and 1.
        KeyError: no such node, or the end of an open path.
    """
    if not 0 < t < 1:
        raise InputError("A node is inserted between two others.", mend="Choose 0 < t < 1.")
    i = _index(path, after_node_id)
    if not closed and i == len(path) - 1:
        raise KeyError(after_node_id)
    j = (i + 1) % len(path)
    a, b = path[i], path[j]
    fresh = next_id("n", (node.id for node in path))
    if a.after is None and b.before is None:
        node = Node(id=fresh, at=_lerp(a.at, b.at, t), turn_mm=_turn_at(path, i, closed=closed))
        return (*path[: i + 1], node, *path[i + 1 :])
    c1, c2 = _plus(a.at, a.after), _plus(b.at, b.before)
    p, q, r = _lerp(a.at, c1, t), _lerp(c1, c2, t), _lerp(c2, b.at, t)
    u, v = _lerp(p, q, t), _lerp(q, r, t)
    at = _lerp(u, v, t)
    node = Node(id=fresh, at=at, smooth=True, before=_minus(u, at), after=_minus(v, at))
    changed = {i: replace(a, after=None if a.after is None else _scaled(a.after, t))}
    end = changed.get(j, b)
    before = None if b.before is None else _scaled(b.before, 1 - t)
    changed[j] = replace(end, before=before)
    path = _with(path, changed)
    return (*path[: i + 1], node, *path[i + 1 :])


def delete_node(path: Path, node_id: str, *, closed: bool) -> Path:
    """Delete a node; its neighbours are joined.

    Where two curves run smoothly through the node, the handles of its neighbours grow so that a
    curve that was split there comes back.

    Raises:
        EditRefused: an open path would keep fewer than 2 nodes, a closed one fewer than 3.
    """
    i = _index(path, node_id)
    least = 3 if closed else 2
    if len(path) <= least:
        raise EditRefused(
            f"The path needs {least} nodes.", mend="Delete the whole shape instead."
        )
    node, count = path[i], len(path)
    if node.smooth and node.before and node.after and (closed or 0 < i < count - 1):
        path = _with_grown_handles(path, i)
    kept = path[:i] + path[i + 1 :]
    return _with_last_turn(path, kept) if closed else kept


def set_smooth(path: Path, node_id: str, smooth: bool, *, closed: bool) -> Path:  # noqa: FBT001 - the value set
    """Make a node smooth or a corner; a corner keeps its handles.

    A smooth node's handles are brought in line; missing ones are made, a third as long as the
    way to the neighbour. On a smooth node no edge starts, so a turn of its own is dropped.

    Raises:
        EditRefused: the end of an open path cannot be smooth.
    """
    i = _index(path, node_id)
    node = path[i]
    if not smooth:
        return _with(path, {i: replace(node, smooth=False)})
    if not closed and i in (0, len(path) - 1):
        raise EditRefused("The end of a line has nothing to run on to smoothly.")
    previous, following = path[i - 1].at, path[(i + 1) % len(path)].at
    before = node.before or _third(node.at, previous)
    after = node.after or _third(node.at, following)
    along = _direction(_minus(_unit(after), _unit(before))) or _direction(after)
    if along is not None:
        before = _scaled(along, -math.hypot(*before))
        after = _scaled(along, math.hypot(*after))
    made = replace(node, smooth=True, before=before, after=after, turn_mm=None)
    return _with_last_turn(path, _with(path, {i: made})) if closed else _with(path, {i: made})


def translate_path(path: Path, dx: float, dy: float) -> Path:
    """Move a whole path by a distance in mm."""
    return tuple(replace(n, at=(n.at[0] + dx, n.at[1] + dy)) for n in path)


def reverse_path(path: Path) -> Path:
    """Return the path run the other way.

    Edges are named after the node that they start from, so those of a ring get other names;
    each keeps its turn.
    """
    starts = edge_starts(path)
    turns: dict[str, float | None] = dict.fromkeys(n.id for n in path)
    ends = [*starts[1:], starts[0]] if any(not n.smooth for n in path) else [len(path) - 1]
    turns |= {
        path[end].id: path[start].turn_mm for start, end in zip(starts, ends, strict=True)
    }
    return tuple(
        replace(n, before=n.after, after=n.before, turn_mm=turns[n.id]) for n in reversed(path)
    )


def _index(path: Path, node_id: str) -> int:
    for i, node in enumerate(path):
        if node.id == node_id:
            return i
    raise KeyError(node_id)


def _with(path: Path, changed: dict[int, Node]) -> Path:
    return tuple(changed.get(i, node) for i, node in enumerate(path))


def _turn_at(path: Path, i: int, *, closed: bool) -> float | None:
    """Return the turn of the edge that the segment from node i is on."""
    if not closed:
        return None
    edge = edge_of_segments(path)[i]
    return path[_index(path, edge)].turn_mm


def _with_last_turn(old: Path, new: Path) -> Path:
    """Hand the turn of a ring's last corner on to the one edge that is left."""
    corners = [node for node in old if not node.smooth]
    if len(corners) != 1 or any(not node.smooth for node in new):
        return new
    return _with(new, {0: replace(new[0], turn_mm=corners[0].turn_mm)})


def _with_grown_handles(path: Path, i: int) -> Path:
    """Grow the outer handles of the two curves that meet at a smooth node."""
    node, count = path[i], len(path)
    h, j = (i - 1) % count, (i + 1) % count
    into, out = math.hypot(*(node.before or (0, 0))), math.hypot(*(node.after or (0, 0)))
    if into == 0 or out == 0:
        return path
    t = into / (into + out)
    first, last = path[h], path[j]
    changed = {}
    if first.after is not None:
        changed[h] = first = replace(first, after=_scaled(first.after, 1 / t))
    if last.before is not None:
        base = first if j == h else last
        changed[j] = replace(base, before=_scaled(last.before, 1 / (1 - t)))
    return _with(path, changed)


def _plus(at: Vector, handle: Vector | None) -> Vector:
    return at if handle is None else (at[0] + handle[0], at[1] + handle[1])


def _minus(a: Vector, b: Vector) -> Vector:
    return a[0] - b[0], a[1] - b[1]


def _scaled(v: Vector, k: float) -> Vector:
    return v[0] * k, v[1] * k


def _lerp(a: Vector, b: Vector, t: float) -> Vector:
    return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t


def _third(a: Vector, b: Vector) -> Vector:
    return _scaled(_minus(b, a), 1 / 3)


def _unit(v: Vector) -> Vector:
    return _direction(v) or (0.0, 0.0)


def _direction(v: Vector) -> Vector | None:
    length = math.hypot(*v)
    return _scaled(v, 1 / length) if length > 1e-12 else None

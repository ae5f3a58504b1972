"""Rings with an axis: nodes come in twins, each the image of the other about it.

A node on the axis is its own twin. An edit changes some nodes; their twins follow. Where it
makes other nodes, the half that was changed is mirrored whole.
"""

import math
from collections.abc import Iterable, Mapping

from msgspec.structs import replace

from core.document.edits.paths import delete_node, insert_node
from core.document.panel import Symmetry
from core.document.path import Node, Path, Point, edge_starts
from core.document.placing import Placing, mirrored, unit_at
from core.document.symmetry import symmetric_ring
from core.ids import next_id
from core.tolerance import JOIN_MM

_SAME_MM = 1e-9
_NO_STEP = (0.0, 0.0)
Twins = dict[str, str]


def mirror_of(axis: Symmetry) -> Placing:
    """Return the mirroring about an axis."""
    return mirrored(axis.through, axis.angle_deg)


def twins_of(ring: Path, other: Path, mirror: Placing, within_mm: float) -> Twins | None:
    """Return for each node of a ring its image in another (or the same) one; None without."""
    count = len(ring)
    if count != len(other):
        return None
    images = [_image(node, mirror) for node in ring]
    for c in range(count):
        if math.dist(images[0].at, other[c].at) > within_mm:
            continue
        partners = [other[(c - i) % count] for i in range(count)]
        if all(
            _is_near(image, twin, within_mm)
            for image, twin in zip(images, partners, strict=True)
        ):
            return {str(n.id): str(t.id) for n, t in zip(ring, partners, strict=True)}
    return None


def _image(node: Node, mirror: Placing) -> Node:
    """Return the image of a node; run the other way, its handles change over."""
    return replace(
        node,
        at=mirror.point(node.at),
        before=None if node.after is None else mirror.vector(node.after),
        after=None if node.before is None else mirror.vector(node.before),
    )


def _is_near(a: Node, b: Node, within_mm: float) -> bool:
    return (
        math.dist(a.at, b.at) <= within_mm
        and math.dist(a.before or _NO_STEP, b.before or _NO_STEP) <= within_mm
        and math.dist(a.after or _NO_STEP, b.after or _NO_STEP) <= within_mm
    )


class _Edit:
    """What an edit did to a ring, told by its nodes."""

    def __init__(self, before: Path, after: Path, axis: Symmetry) -> None:
        self.axis = axis
        self.mirror = mirror_of(axis)
        self.was = {str(n.id): n for n in before}
        self.now = {str(n.id): n for n in after}
        self.added = [str(n.id) for n in after if n.id not in self.was]
        self.gone = [str(n.id) for n in before if n.id not in self.now]
        self.changed = {i for i, n in self.now.items() if _is_changed(self.was.get(i), n)}
        sides = [self.side(self.now[i].at) for i in self.changed]
        sides += [self.side(self.was[i].at) for i in self.gone]
        self.leads_left = sides.count(1) >= sides.count(-1)

    def side(self, at: Point) -> int:
        """Return where a place lies: 1 left of the axis, -1 right of it, 0 on it."""
        along = unit_at(self.axis.angle_deg)
        gap = complex(*at) - complex(*self.axis.through)
        off = (along.conjugate() * gap).imag
        return 0 if abs(off) <= JOIN_MM else int(math.copysign(1, off))

    def leads(self, one: str) -> bool:
        """Whether a node is on the half that was changed most."""
        node = self.was.get(one) or self.now[one]
        return self.side(node.at) == (1 if self.leads_left else -1)


def _is_changed(was: Node | None, now: Node) -> bool:
    return was is None or replace(was, turn_mm=now.turn_mm) != now


def kept_ring(before: Path, after: Path, axis: Symmetry) -> Path:
    """Return a ring after an edit, symmetric again."""
    if after == before:
        return after
    mirror = mirror_of(axis)
    twins = twins_of(before, before, mirror, JOIN_MM)
    if twins is None:
        return after
    if _is_wholly_symmetric(after, mirror):
        return _with_turns(before, after, mirror)
    edit = _Edit(before, after, axis)
    if edit.gone and not edit.added:
        for one in edit.gone:
            if twins[one] in edit.now and twins[one] in {n.id for n in after}:
                after = delete_node(after, twins[one], closed=True)
    elif len(edit.added) == 1 and not edit.gone:
        after = _with_added_twin(after, twins, edit)
    elif edit.added:
        return _mirrored_whole(after, twins, edit)
    return _with_turns(before, _paired(after, twins, edit), mirror)


def _is_wholly_symmetric(ring: Path, mirror: Placing) -> bool:
    twins = twins_of(ring, ring, mirror, _SAME_MM)
    smooth = {str(n.id): n.smooth for n in ring}
    return twins is not None and all(smooth[a] == smooth[b] for a, b in twins.items())


def _with_added_twin(after: Path, twins: Twins, edit: _Edit) -> Path:
    """Insert the twin of a node that was inserted, and note both as twins."""
    fresh = edit.added[0]
    i = next(i for i, n in enumerate(after) if n.id == fresh)
    node, start, end = after[i], after[i - 1], after[(i + 1) % len(after)]
    t = min(max(_share(start, node, end), 1e-3), 1 - 1e-3)
    if twins[end.id] != start.id:
        longer = insert_node(after, twins[end.id], 1 - t, closed=True)
    elif edit.side(node.at) == 0:
        twins[fresh] = fresh
        return after
    elif t < 0.5:
        longer = insert_node(after, fresh, (1 - 2 * t) / (1 - t), closed=True)
    else:
        longer = insert_node(after, start.id, min((1 - t) / t, 1 - 1e-3), closed=True)
    twin = next(str(n.id) for n in longer if n.id not in edit.now)
    twins |= {fresh: twin, twin: fresh}
    edit.leads_left = edit.side(node.at) >= 0
    edit.now |= {str(n.id): n for n in longer}
    edit.changed |= {fresh, twin, str(start.id), str(end.id), twins[start.id], twins[end.id]}
    return longer


def _share(start: Node, node: Node, end: Node) -> float:
    """Return at which share of a segment a node was inserted."""
    into = math.hypot(*(node.before or _NO_STEP)) or math.dist(start.at, node.at)
    out = math.hypot(*(node.after or _NO_STEP)) or math.dist(node.at, end.at)
    return into / (into + out) if into + out > 0 else 0.5


def _paired(ring: Path, twins: Twins, edit: _Edit) -> Path:
    """Return a ring in which each node is the image of its twin; the changed one leads."""
    now = {str(n.id): n for n in ring}
    made: list[Node] = []
    for one, node in now.items():
        twin = twins[one]
        if twin == one:
            made.append(_on_axis(edit.was.get(one), node, edit))
            continue
        mine, theirs = one in edit.changed, twin in edit.changed
        if mine and not theirs:
            follows = False
        elif theirs and not mine:
            follows = True
        else:
            follows = edit.leads(twin) and not edit.leads(one)
        image = _image(now[twin], edit.mirror)
        image = replace(image, id=node.id, turn_mm=node.turn_mm)
        is_same = _is_near(image, node, _SAME_MM) and image.smooth == node.smooth
        made.append(image if follows and not is_same else node)
    return tuple(made)


def _on_axis(was: Node | None, node: Node, edit: _Edit) -> Node:
    """Return a node of the axis put back on it, its handles each other's image."""
    mirror = edit.mirror
    x, y = mirror.point(node.at)
    at = (node.at[0] + x) / 2, (node.at[1] + y) / 2
    held, other = node.after, node.before
    is_before = was is not None and _is_moved(was.before, other) and not _has_led(was, node)
    step = mirror.vector(other) if is_before and other else None if is_before else held
    if node.smooth and step is not None:
        square = 1j * unit_at(edit.axis.angle_deg)
        lean = (square.conjugate() * complex(*step)).real
        step = (lean * square.real, lean * square.imag)
    image = None if step is None else mirror.vector(step)
    made = replace(node, at=at, before=image, after=step)
    is_still = _is_near(made, node, _SAME_MM) and (made.after is None) == (held is None)
    return node if is_still else made


def _is_moved(was: Point | None, now: Point | None) -> bool:
    return math.dist(was or _NO_STEP, now or _NO_STEP) > _SAME_MM


def _has_led(was: Node, node: Node) -> bool:
    """Whether of two handles that have moved the one towards the next node was taken hold of.

    The other handle of a smooth node turns with it and keeps its length.
    """
    if not _is_moved(was.after, node.after):
        return False

    def grown(a: Point | None, b: Point | None) -> float:
        return abs(math.hypot(*(b or _NO_STEP)) - math.hypot(*(a or _NO_STEP)))

    return grown(was.after, node.after) >= grown(was.before, node.before)


def _mirrored_whole(after: Path, twins: Twins, edit: _Edit) -> Path:
    """Mirror the changed half of a ring with other nodes; those known keep their ids."""
    axis = edit.axis
    ring = symmetric_ring(after, axis.through, axis.angle_deg, keeps_left=edit.leads_left)
    pairs = twins_of(ring, ring, edit.mirror, JOIN_MM)
    if pairs is None:
        return ring
    kept_side = 1 if edit.leads_left else -1
    stays = {str(n.id) for n in ring if edit.side(n.at) in (0, kept_side)}
    wanted = {pairs[i]: twins[i] for i in stays if i in twins and twins[i] not in stays}
    return renamed(ring, stays, wanted)


def renamed(ring: Path, stays: Iterable[str], wanted: Mapping[str, str]) -> Path:
    """Give nodes the ids that are wanted, and new ones to those that are not named nor stay."""
    kept = set(stays)
    taken = kept | set(wanted.values())
    made = []
    for node in ring:
        name = str(node.id)
        if name not in kept:
            name = wanted.get(name) or next_id("n", taken)
            taken.add(name)
        made.append(node if name == node.id else replace(node, id=name))
    return tuple(made)


def _with_turns(before: Path, after: Path, mirror: Placing) -> Path:
    """Let an edge whose turn was set hand it to its image."""
    twins = twins_of(after, after, mirror, JOIN_MM)
    was = {n.id: n.turn_mm for n in before}
    starts = edge_starts(after)
    if twins is None or len(starts) < 2:
        return after
    now = {str(n.id): n.turn_mm for n in after}
    wanted: dict[str, float | None] = {}
    for k, i in enumerate(starts):
        one, end = after[i], after[starts[(k + 1) % len(starts)]]
        image = twins[end.id]
        is_set = one.id in was and was[one.id] != one.turn_mm
        is_free = image not in was or was[image] == now[image]
        if image != one.id and is_free and (is_set or image not in was):
            wanted[image] = one.turn_mm
    if all(now[i] == turn for i, turn in wanted.items()):
        return after
    return tuple(replace(n, turn_mm=wanted.get(n.id, n.turn_mm)) for n in after)

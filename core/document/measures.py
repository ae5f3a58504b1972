"""What can be measured on an outline with a tape, and outlines made to hold such measures."""

import math
from collections.abc import Callable

from msgspec.structs import replace

from core.document.edits.paths import move_node
from core.document.path import Path, Point, edge_of_segments
from core.document.shaping import chain_of, find_node, node_name
from core.errors import EditRefused
from core.geometry.bezier import bounds_of, length_of

_CLOSE_MM = 1e-11


def ring_size(ring: Path) -> tuple[float, float]:
    """Return width and height of a ring, mm, curves included."""
    x0, y0, x1, y1 = bounds_of(chain_of(ring))
    return x1 - x0, y1 - y0


def ring_middle(ring: Path) -> Point:
    """Return the middle of the rectangle round a ring."""
    x0, y0, x1, y1 = bounds_of(chain_of(ring))
    return (x0 + x1) / 2, (y0 + y1) / 2


def edge_at(ring: Path, node_id: str) -> str:
    """Return the edge that starts at a node or runs on there."""
    return str(edge_of_segments(ring)[find_node(ring, node_id)])


def edge_ends(ring: Path, edge: str) -> tuple[str, str]:
    """Return the nodes at which an edge starts and ends; one node when it goes all round.

    Raises:
        EditRefused: the outline runs smoothly through the node, so no edge starts there.
    """
    own = edge_of_segments(ring)
    if edge not in own:
        raise EditRefused(
            f"No edge starts at node {edge}.", mend="Choose a corner, or make the node one."
        )
    last = max(_order(ring, edge, i) for i in range(len(ring)) if own[i] == edge)
    start = find_node(ring, edge)
    return edge, ring[(start + last + 1) % len(ring)].id


def _order(ring: Path, edge: str, i: int) -> int:
    return (i - find_node(ring, edge)) % len(ring)


def edge_length(ring: Path, edge: str) -> float:
    """Return the length of an edge along its curve, mm. KeyError when it is none."""
    own = edge_of_segments(ring)
    if edge not in own:
        raise KeyError(edge)
    return sum(
        length_of(s) for s, name in zip(chain_of(ring), own, strict=True) if name == edge
    )


def length_between(ring: Path, first: str, last: str, *, is_along: bool) -> float:
    """Return the distance between two nodes, straight or along the ring from first to last."""
    i, j = find_node(ring, first), find_node(ring, last)
    if not is_along:
        return math.dist(ring[i].at, ring[j].at)
    count = len(ring)
    chain = chain_of(ring)
    return sum(length_of(chain[(i + k) % count]) for k in range((j - i) % count or count))


def set_edge_length(ring: Path, edge: str, length_mm: float) -> Path:
    """Give an edge a length by moving its end node along its direction; the rest stays.

    The end node of a straight edge moves along it; that of a curved one along the line from the
    edge's start to its end, its handles with it.

    Raises:
        EditRefused: the edge goes all round; or no place of the end node gives that length.
    """
    if not 0 < length_mm < 1e6:
        raise EditRefused("An edge has to be longer than nothing.")
    start, end = edge_ends(ring, edge)
    if start == end:
        raise EditRefused(
            "This edge goes all round, so no end of it can move.",
            mend="Scale the whole panel instead.",
        )
    a, b = (ring[find_node(ring, n)].at for n in (start, end))
    chord = math.dist(a, b)
    if chord < 1e-9:
        raise EditRefused("Both ends of this edge lie on one spot.")
    ahead = (b[0] - a[0]) / chord, (b[1] - a[1]) / chord

    def moved(step: float) -> Path:
        return move_node(ring, end, (b[0] + ahead[0] * step, b[1] + ahead[1] * step))

    def miss(step: float) -> float:
        return edge_length(moved(step), edge) - length_mm

    return moved(_root(miss, length_mm - edge_length(ring, edge), chord))


def _bracket(miss: Callable[[float], float], chord: float) -> tuple[float, float]:
    """Return two steps near to nought between which the length is met."""
    if miss(0.0) < 0:
        high = chord / 16
        while miss(high) < 0 and high < 1e7:
            high *= 2
        return 0.0, high
    for k in range(1, 65):
        low = -chord * k / 64
        if miss(low) < 0:
            return low, -chord * (k - 1) / 64
    raise EditRefused(
        "This edge cannot have that length by moving its end.",
        mend="Move its nodes, or scale the panel.",
    )


def _root(miss: Callable[[float], float], guess: float, chord: float) -> float:
    """Return where a growing length is met, by secants that stay around it (Illinois)."""
    low, high = _bracket(miss, chord)
    at_low, at_high = miss(low), miss(high)
    step, side = guess, 0
    if not low < step < high:
        step = (low + high) / 2
    for _ in range(200):
        off = miss(step)
        if abs(off) < _CLOSE_MM or high - low < _CLOSE_MM:
            break
        if off < 0:
            low, at_low = step, off
            at_high, side = (at_high / 2 if side < 0 else at_high), -1
        else:
            high, at_high = step, off
            at_low, side = (at_low / 2 if side > 0 else at_low), 1
        step = (low * at_high - high * at_low) / (at_high - at_low)
    return step


def align_nodes(ring: Path, nodes: list[str], *, is_level: bool) -> Path:
    """Put nodes on a level (or upright) line through the first of them, handles with them."""
    if len(set(nodes)) < 2:
        raise EditRefused("Two nodes at least are put in line.", mend="Choose two.")
    x, y = ring[find_node(ring, nodes[0])].at
    for node in nodes[1:]:
        at = ring[find_node(ring, node)].at
        ring = move_node(ring, node, (at[0], y) if is_level else (x, at[1]))
    return ring


def weld_nodes(ring: Path, first: str, second: str) -> Path:
    """Make two neighbouring nodes one, half-way between them; the line between them goes.

    The welded node has the first one's id and starts the second one's edge.

    Raises:
        EditRefused: they are no neighbours, or too little would be left.
    """
    i, j, count = find_node(ring, first), find_node(ring, second), len(ring)
    if (j + 1) % count == i and count > 2:
        i, j = j, i
    if (i + 1) % count != j:
        raise EditRefused(
            "Only neighbours can become one node.",
            where=f"{node_name(ring[i])} and {node_name(ring[j])}",
        )
    if count < 4:
        raise EditRefused("Too little of the outline would be left.")
    a, b, kept_id = ring[i], ring[j], first
    is_smooth = a.smooth and b.smooth and _in_line(a.before, b.after)
    welded = replace(
        a,
        id=kept_id,
        at=((a.at[0] + b.at[0]) / 2, (a.at[1] + b.at[1]) / 2),
        smooth=is_smooth,
        after=b.after,
        turn_mm=None if is_smooth else edge_turn(ring, j),
    )
    kept = [welded if k == i else node for k, node in enumerate(ring) if k != j]
    return tuple(kept)


def edge_turn(ring: Path, i: int) -> float | None:
    """Return the own turn of the edge on which the segment from node i lies."""
    return ring[find_node(ring, edge_of_segments(ring)[i])].turn_mm


def _in_line(before: Point | None, after: Point | None) -> bool:
    if before is None or after is None:
        return False
    cross = before[0] * after[1] - before[1] * after[0]
    along = before[0] * after[0] + before[1] * after[1]
    return along < 0 and abs(cross) <= 1e-6 * math.hypot(*before) * math.hypot(*after)

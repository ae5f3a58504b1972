"""Operations on rings of nodes, in the document's terms: round, offset, simplify, split.

Each takes a ring and returns a ring. Nodes that stay keep their ids, edges keep their turns,
and curves stay the drawn curves wherever the shape allows it.
"""

import cmath
import dataclasses
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from msgspec.structs import replace
from shapely import LineString, Polygon

from core.document.edits.paths import reverse_path
from core.document.path import Node, Path, Point, edge_of_segments, edge_starts
from core.errors import EditRefused
from core.geometry.bezier import Chain, Segment, area_of, direction_at, length_of, straight
from core.geometry.boolean_paths import flat_ring
from core.geometry.fillet import LEAST_TURN_RAD, fillet, turn_rad
from core.geometry.path_offset import Corners, offset_ring
from core.geometry.simplify import simplified
from core.ids import NodeId, next_id
from core.tolerance import JOIN_MM
from core.units import Units, format_length

_SMOOTH_RAD = 1e-5


@dataclass(frozen=True, slots=True)
class Drawn:
    """The nodes that the segments of a chain were drawn from; a source is a place in them.

    Attributes:
        turns: the turn of the edge that each segment is on, as its edge says it.
        following: the source that each one runs into.
    """

    nodes: tuple[Node, ...]
    turns: tuple[float | None, ...]
    following: tuple[int, ...]


def drawn(*rings: Path) -> Drawn:
    """Return what chains made of the segments of these rings refer to."""
    nodes: list[Node] = []
    turns: list[float | None] = []
    following: list[int] = []
    for ring in rings:
        first = len(nodes)
        nodes += ring
        turns += edge_turns(ring)
        following += [first + (i + 1) % len(ring) for i in range(len(ring))]
    return Drawn(tuple(nodes), tuple(turns), tuple(following))


def edge_turns(ring: Path) -> list[float | None]:
    """Return for each segment of a ring the turn that its edge has of its own."""
    own = {node.id: node.turn_mm for node in ring}
    return [own[edge] for edge in edge_of_segments(ring)]


def chain_of(ring: Path, first_source: int = 0) -> Chain:
    """Return a ring's segments, numbered from ``first_source``."""
    chain = []
    for i, a in enumerate(ring):
        b = ring[(i + 1) % len(ring)]
        p0, p3 = complex(*a.at), complex(*b.at)
        if a.after is None and b.before is None:
            chain.append(straight(p0, p3, first_source + i))
            continue
        p1, p2 = p0 + complex(*(a.after or (0, 0))), p3 + complex(*(b.before or (0, 0)))
        chain.append(Segment(p0, p1, p2, p3, source=first_source + i))
    return chain


def ring_of(chain: Sequence[Segment], source: Drawn | None = None) -> Path:
    """Return a closed chain as a ring of nodes.

    The first stretch of a drawn segment keeps its node's id. A node runs smoothly where it was
    drawn so, or where a cut or an arc made it so; where the turn changes it is a corner.
    """
    known = source or Drawn((), (), ())
    kept = [s for s in chain if length_of(s) > JOIN_MM / 10]
    if source is None:
        kept = [dataclasses.replace(s, source=-1) for s in kept]
    merged = _merged(kept)
    turns = _turns_of(merged, known)
    smooth = [_runs_smoothly(merged, i, turns, known) for i in range(len(merged))]
    starts = {i for i, is_smooth in enumerate(smooth) if not is_smooth} or {0}
    ids = _ids_of(merged, known)
    nodes = []
    for i, s in enumerate(merged):
        before = merged[i - 1]
        nodes.append(
            Node(
                id=ids[i],
                at=(float(s.p0.real), float(s.p0.imag)),
                smooth=smooth[i],
                before=None if before.is_straight else _handle(before.p2 - before.p3),
                after=None if s.is_straight else _handle(s.p1 - s.p0),
                turn_mm=turns[i] if i in starts else None,
            )
        )
    return tuple(nodes)


def _handle(step: complex) -> Point | None:
    return (float(step.real), float(step.imag)) if abs(step) > 1e-9 else None


def _merged(chain: Chain) -> Chain:
    """Join neighbouring straight stretches of one drawn line that run on in one direction."""
    result: Chain = []
    for s in chain:
        last = result[-1] if result else None
        if (
            last is not None
            and s.source >= 0
            and last.is_straight
            and s.is_straight
            and last.source == s.source
            and abs(_angle(last, s)) < _SMOOTH_RAD
        ):
            joined = straight(last.p0, s.p3, s.source)
            result[-1] = dataclasses.replace(joined, t0=last.t0, t1=s.t1)
        else:
            result.append(s)
    return result


def _angle(before: Segment, after: Segment) -> float:
    a, b = direction_at(before, 1.0), direction_at(after, 0.0)
    return cmath.phase(a.conjugate() * b) if a and b else 0.0


def _turns_of(chain: Chain, known: Drawn) -> list[float | None]:
    """Return each segment's turn; a new one has that of the drawn one before it."""
    turns: list[float | None] = []
    fallback = next((known.turns[s.source] for s in reversed(chain) if s.source >= 0), None)
    for s in chain:
        fallback = known.turns[s.source] if s.source >= 0 else fallback
        turns.append(fallback)
    return turns


def _runs_smoothly(chain: Chain, i: int, turns: list[float | None], known: Drawn) -> bool:
    before, s = chain[i - 1], chain[i]
    if turns[i] != turns[i - 1]:
        return False
    is_whole = before.source >= 0 and s.source >= 0 and before.t1 == 1 and s.t0 == 0
    if is_whole and known.following[before.source] == s.source:
        return known.nodes[s.source].smooth
    if before.is_straight and s.is_straight:
        return False
    return abs(_angle(before, s)) < _SMOOTH_RAD


def _ids_of(chain: Chain, known: Drawn) -> list[NodeId]:
    """Return an id for the node at the start of each segment, kept ones first."""
    kept: dict[int, str] = {}
    used: set[str] = set()
    for i in sorted(range(len(chain)), key=lambda k: (chain[k].source, chain[k].t0)):
        source = chain[i].source
        if source >= 0 and known.nodes[source].id not in used:
            kept[i] = known.nodes[source].id
            used.add(kept[i])
    taken = used | {node.id for node in known.nodes}
    ids = []
    for i in range(len(chain)):
        if i not in kept:
            kept[i] = next_id("n", taken)
            taken.add(kept[i])
        ids.append(NodeId(kept[i]))
    return ids


def edge_start_ids(ring: Path) -> list[str]:
    """Return the nodes of a ring at which edges start."""
    return [ring[i].id for i in edge_starts(ring)]


def find_node(ring: Path, node_id: str) -> int:
    """Return a node's place in its ring; KeyError when there is none of that id."""
    for i, node in enumerate(ring):
        if node.id == node_id:
            return i
    raise KeyError(node_id)


def counter_clockwise(ring: Path) -> Path:
    """Return the ring run counter-clockwise."""
    return ring if area_of(chain_of(ring)) >= 0 else reverse_path(ring)


def round_corners(
    ring: Path, nodes: Collection[str] | None, radius_mm: float, units: Units = Units.MM
) -> Path:
    """Round corners by a radius, with an arc that is tangent to both sides.

    Args:
        ring: the ring.
        nodes: which corners; None rounds all that there are.
        radius_mm: of the arcs, within 0.03 % of it.
        units: for what is said when a radius does not fit.

    Two edges that have different turns stay two: the arc belongs to the first.

    Raises:
        EditRefused: the arc does not fit; says the largest radius that does.
        GeometryError: there is no corner at a node.
    """
    _positive(radius_mm, "radius")
    chain = chain_of(ring)
    if nodes is None:
        wanted = [i for i in range(len(chain)) if _is_corner(ring, chain, i)]
        if not wanted:
            raise EditRefused("This outline has no corners to round.")
    else:
        wanted = sorted(find_node(ring, node) for node in nodes)
    fresh = _rounded(chain, wanted, radius_mm)
    if fresh is None:
        most = format_length(_largest_radius(chain, wanted, radius_mm), units)
        raise EditRefused("This radius does not fit.", mend=f"There is room for about {most}.")
    return ring_of(fresh, drawn(ring))


def _rounded(chain: Chain, wanted: Sequence[int], radius: float) -> Chain | None:
    """Return the chain with corners rounded; None when the arcs do not fit."""
    chain = list(chain)
    for i in wanted:
        k = next(k for k, s in enumerate(chain) if s.source == i)
        found = fillet(chain[k - 1], chain[k], radius)
        if found is None:
            return None
        chain[k - 1], chain[k] = found.before, found.after
        # At the ring's first node the arc goes to the end, so that the ring starts as before.
        if k:
            chain[k:k] = found.rounding
        else:
            chain += found.rounding
    return chain


def _largest_radius(chain: Chain, wanted: Sequence[int], limit: float) -> float:
    """Return about the largest radius up to a limit by which all those corners round."""
    low, high = 0.0, limit
    for _ in range(16):
        middle = (low + high) / 2
        low, high = (low, middle) if _rounded(chain, wanted, middle) is None else (middle, high)
    return low


def _is_corner(ring: Path, chain: Chain, i: int) -> bool:
    return not ring[i].smooth and abs(turn_rad(chain[i - 1], chain[i])) > LEAST_TURN_RAD


def node_name(node: Node) -> str:
    """Return what a node is called in sentences and lists.

    >>> node_name(Node(id="n4", at=(0, 0)))
    'node 4'
    """
    return f"node {node.id[1:]}"


def offset_path(ring: Path, distance_mm: float, corners: Corners) -> Path:
    """Move a ring outward by a distance; negative moves it inward.

    Raises:
        EditRefused: nothing is left, or it would fall into parts or close round a hole.
    """
    if distance_mm == 0:
        raise EditRefused("An offset of nothing changes nothing.")
    sense = counter_clockwise(ring)
    areas = offset_ring(chain_of(sense), distance_mm, corners)
    if not areas:
        raise EditRefused("Nothing is left of the outline.", mend="Choose a smaller distance.")
    if len(areas) > 1 or areas[0].holes:
        raise EditRefused(
            "The outline would fall into parts, or close round a gap.",
            mend="Choose a smaller distance.",
        )
    fresh = ring_of(areas[0].outer, drawn(sense))
    return fresh if sense is ring else reverse_path(fresh)


def simplify_ring(ring: Path, tolerance_mm: float) -> tuple[Path, float]:
    """Return the ring with fewer nodes, and how far it strays from the old one, mm.

    Nodes at which the edge turn changes stay. Degenerate input: a ring that cannot be made
    simpler comes back as it is.
    """
    _positive(tolerance_mm, "tolerance")
    turns = edge_turns(ring)
    kept = [i for i in range(len(ring)) if turns[i] != turns[i - 1]]
    result = simplified(chain_of(ring), tolerance_mm, kept)
    if not result.deviation and len(result.chain) >= len(ring):
        return ring, 0.0
    return ring_of(result.chain, drawn(ring)), result.deviation


def straighten(ring: Path, first: str, last: str) -> Path:
    """Make the stretch from one node to another straight; the nodes between go.

    Raises:
        EditRefused: too little of the ring would be left.
    """
    i, j = find_node(ring, first), find_node(ring, last)
    if i == j:
        raise EditRefused("A stretch has two different ends.")
    turns = edge_turns(ring)
    count = len(ring)
    between = {(i + k) % count for k in range(1, (j - i) % count)}
    nodes = []
    for k, node in enumerate(ring):
        if k in between:
            continue
        made = node
        if k == i:
            made = replace(node, after=None, smooth=False, turn_mm=turns[i])
        elif k == j:
            made = replace(node, before=None, smooth=False, turn_mm=turns[j])
        nodes.append(made)
    return _with_area(tuple(nodes))


def split_ring(
    ring: Path, first: str, last: str, cut_turn_mm: float | None
) -> tuple[Path, Path]:
    """Cut a ring in two along the straight line between two nodes.

    Returns:
        The ring from the first to the last node, and the other one; each closed by the cut,
        which is an edge with the given turn.

    Raises:
        EditRefused: the line does not run inside the ring from node to node.
    """
    i, j = find_node(ring, first), find_node(ring, last)
    if i == j:
        raise EditRefused("A cut runs between two different nodes.")
    points = flat_ring(chain_of(ring), 0.05)
    shape = Polygon(points) if len(points) > 2 else Polygon()
    if shape.is_empty or not shape.is_valid:
        raise EditRefused("The outline crosses itself or has no area.", mend="Mend it first.")
    cut = LineString([ring[i].at, ring[j].at])
    inner = shapely.difference(cut, shapely.boundary(shape).buffer(JOIN_MM))
    if inner.length < 1.0 or not shape.covers(inner) or len(shapely.get_parts(inner)) > 1:
        raise EditRefused(
            "The straight cut between these nodes does not run inside the outline.",
            mend="Choose two nodes that see each other, or insert a node where it should end.",
        )
    turns = edge_turns(ring)
    return _half(ring, i, j, turns, cut_turn_mm), _half(ring, j, i, turns, cut_turn_mm)


def _half(
    ring: Path, i: int, j: int, turns: list[float | None], cut_turn_mm: float | None
) -> Path:
    count = len(ring)
    run = [ring[(i + k) % count] for k in range((j - i) % count + 1)]
    run[0] = replace(run[0], before=None, smooth=False, turn_mm=turns[i])
    run[-1] = replace(run[-1], after=None, smooth=False, turn_mm=cut_turn_mm)
    return _with_area(tuple(run))


def _with_area(ring: Path) -> Path:
    if len(ring) < 2 or abs(area_of(chain_of(ring))) < 1.0:
        raise EditRefused("Too little of the outline would be left.")
    return ring


def _positive(value: float, word: str) -> None:
    if not value > 0 or not np.isfinite(value):
        raise EditRefused(f"The {word} has to be more than nothing.")

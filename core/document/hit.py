"""What lies under a point of a drawing: on which path, at which parameter, between which nodes.

Pure questions about node paths and stripes, asked by gestures; nothing here changes a job.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from msgspec import structs
from numpy.typing import NDArray

from core.document.edits.paths import reverse_path
from core.document.lines import Inlay, Line, Relief, Side, Stripe
from core.document.path import Node, Path, Point
from core.document.variant import Scheme
from core.errors import InputError
from core.ids import NodeId

Points = NDArray[np.float64]
End = Literal["start", "end"]
_SAMPLES = 33


@dataclass(frozen=True, slots=True)
class PathHit:
    """The point of a path that is nearest to a given one.

    Attributes:
        after: the node before it, from which its segment starts.
        t: parameter on that segment, 0 to 1.
    """

    after: NodeId
    t: float
    at: Point
    distance_mm: float


@dataclass(frozen=True, slots=True)
class StripeEnd:
    """One end of a stripe: its middle, its two corners, and its width."""

    end: End
    at: Point
    left: Point
    right: Point
    width_mm: float


def iter_segments(path: Path, *, closed: bool) -> Iterator[tuple[Node, Node]]:
    """Yield the pairs of nodes between which the path runs."""
    yield from pairwise(path)
    if closed and len(path) > 1:
        yield path[-1], path[0]


def control_points(a: Node, b: Node) -> Points:
    """Return a segment as a cubic Bézier, shape (4, 2); a straight one is linear in t."""
    p0, p3 = np.array(a.at), np.array(b.at)
    if a.after is None and b.before is None:
        return np.stack([p0, p0 + (p3 - p0) / 3, p0 + (p3 - p0) * 2 / 3, p3])
    return np.stack(
        [p0, p0 + np.array(a.after or (0, 0)), p3 + np.array(b.before or (0, 0)), p3]
    )


def _bezier_weights(t: Points) -> Points:
    u = 1 - t
    return np.stack([u**3, 3 * u**2 * t, 3 * u * t**2, t**3], axis=-1)


def _sampled(path: Path, *, closed: bool) -> tuple[Points, Points, list[Node]]:
    """Return controls (m, 4, 2), points (m, samples, 2) and the first node of each segment."""
    pairs = list(iter_segments(path, closed=closed))
    if not pairs:
        return np.empty((0, 4, 2)), np.empty((0, _SAMPLES, 2)), []
    controls = np.stack([control_points(a, b) for a, b in pairs])
    points = np.einsum("sk,mkd->msd", _bezier_weights(np.linspace(0, 1, _SAMPLES)), controls)
    return controls, points, [a for a, _ in pairs]


def nearest_on_path(path: Path, at: Point, *, closed: bool) -> PathHit | None:
    """Return the nearest point of a path, exact to about a micrometre.

    Degenerate input: a path of fewer than two nodes has no segment and gives None.
    """
    controls, points, firsts = _sampled(path, closed=closed)
    if not firsts:
        return None
    away = np.hypot(points[..., 0] - at[0], points[..., 1] - at[1])
    segment, sample = np.unravel_index(int(np.argmin(away)), away.shape)
    low = max(int(sample) - 1, 0) / (_SAMPLES - 1)
    high = min(int(sample) + 1, _SAMPLES - 1) / (_SAMPLES - 1)
    t, best = 0.0, controls[segment, 0]
    for _ in range(5):
        ts = np.linspace(low, high, 17)
        near = _bezier_weights(ts) @ controls[segment]
        k = int(np.argmin(np.hypot(near[:, 0] - at[0], near[:, 1] - at[1])))
        t, best = float(ts[k]), near[k]
        low, high = float(ts[max(k - 1, 0)]), float(ts[min(k + 1, 16)])
    where = (float(best[0]), float(best[1]))
    return PathHit(NodeId(firsts[segment].id), t, where, math.dist(where, at))


def segment_middles(path: Path, *, closed: bool) -> Points:
    """Return the middle by length of each segment, shape (m, 2)."""
    _, points, firsts = _sampled(path, closed=closed)
    if not firsts:
        return np.empty((0, 2))
    steps = np.hypot(*np.moveaxis(np.diff(points, axis=1), -1, 0))
    along = np.concatenate([np.zeros((len(points), 1)), np.cumsum(steps, axis=1)], axis=1)
    half = along[:, -1:] / 2
    k = np.clip((along < half).sum(axis=1), 1, _SAMPLES - 1)
    rows = np.arange(len(points))
    before, after = along[rows, k - 1], along[rows, k]
    t = (half[:, 0] - before) / np.maximum(after - before, 1e-12)
    start, end = points[rows, k - 1], points[rows, k]
    return np.asarray(start + t[:, None] * (end - start))


def node_positions(path: Path) -> Points:
    """Return the nodes' places, shape (n, 2)."""
    return np.array([n.at for n in path], dtype=float).reshape(-1, 2)


def is_closed(line: Line) -> bool:
    """Whether a line's path closes on itself."""
    return isinstance(line, Inlay)


def find_line_near(scheme: Scheme, at: Point, reach_mm: float) -> Line | None:
    """Return the line whose drawn path passes nearest within reach; later ones win ties."""
    best: Line | None = None
    best_mm = reach_mm
    for line in scheme.lines:
        hit = nearest_on_path(line.nodes, at, closed=is_closed(line))
        if hit is not None and hit.distance_mm <= best_mm:
            best, best_mm = line, hit.distance_mm
    return best


def stripe_ends(stripe: Stripe) -> tuple[StripeEnd, StripeEnd]:
    """Return where a stripe's ends and their corners are, along its drawn centre line."""
    nodes = stripe.nodes
    first = control_points(nodes[0], nodes[1])
    last = control_points(nodes[-2], nodes[-1])
    return (
        _stripe_end("start", first[0], _tangent(first), stripe.start_width_mm),
        _stripe_end("end", last[3], -_tangent(last[::-1]), stripe.end_width_mm),
    )


def _tangent(controls: Points) -> Points:
    """Return the unit tangent at the first point, by the first control that differs from it."""
    for other in controls[1:]:
        run = other - controls[0]
        size = math.hypot(*run)
        if size > 1e-9:
            return np.asarray(run / size)
    return np.array([1.0, 0.0])


def _stripe_end(end: End, at: Points, tangent: Points, width: float) -> StripeEnd:
    normal = np.array([-tangent[1], tangent[0]])
    left, right = at + normal * width / 2, at - normal * width / 2
    return StripeEnd(
        end,
        (float(at[0]), float(at[1])),
        (float(left[0]), float(left[1])),
        (float(right[0]), float(right[1])),
        width,
    )


def stripe_width_through(stripe: Stripe, end: End, at: Point) -> float:
    """Return the width that lets a side of a stripe's end run through a point."""
    wide = structs.replace(stripe, start_width_mm=2.0, end_width_mm=2.0)
    here = stripe_ends(wide)[0 if end == "start" else 1]
    nx, ny = here.left[0] - here.at[0], here.left[1] - here.at[1]
    return 2 * abs((at[0] - here.at[0]) * nx + (at[1] - here.at[1]) * ny)


def width_through(path: Path, at: Point) -> float:
    """Return the even width that a stripe along a path must have to reach a point."""
    hit = nearest_on_path(path, at, closed=False)
    return 2 * hit.distance_mm if hit else 0.0


def point_from(origin: Point, length_mm: float, angle_deg: float) -> Point:
    """Return the point at a distance and direction, degrees counter-clockwise from x."""
    angle = math.radians(angle_deg)
    return origin[0] + length_mm * math.cos(angle), origin[1] + length_mm * math.sin(angle)


def bearing_deg(a: Point, b: Point) -> float:
    """Return the direction from a to b, degrees counter-clockwise from x, 0 up to 360."""
    return math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 360


def parse_angle(text: str) -> float:
    """Read an angle in degrees; the sign for degrees may follow.

    >>> parse_angle("22,5°")
    22.5
    """
    try:
        angle = float(text.replace(",", ".").rstrip("° "))
    except ValueError:
        angle = math.nan
    if not math.isfinite(angle):
        raise InputError(f"“{text}” is no angle.", mend="Type degrees, such as 45.")
    return angle


def distance_mm(a: Point, b: Point) -> float:
    """Return the distance of two points."""
    return math.dist(a, b)


def offset_between(a: Point, b: Point) -> Point:
    """Return the step from a to b."""
    return b[0] - a[0], b[1] - a[1]


def moved_by(a: Point, step: Point) -> Point:
    """Return a point moved by a step."""
    return a[0] + step[0], a[1] + step[1]


def drawn_node(node_id: str, at: Point, pulled_to: Point | None = None) -> Node:
    """Return a corner, or a smooth node whose handles lie in line, when it was pulled out."""
    if pulled_to is None:
        return Node(id=node_id, at=at)
    dx, dy = offset_between(at, pulled_to)
    return Node(id=node_id, at=at, smooth=True, before=(-dx, -dy), after=(dx, dy))


def previous_nodes(path: Path, node_id: str, *, closed: bool) -> Path:
    """Return the nodes by which a node's place is judged: one or two before it, nearest last.

    The first node of an open path is judged by those after it.
    """
    ids = [n.id for n in path]
    i = ids.index(NodeId(node_id))
    if closed:
        return (path[i - 2], path[i - 1])
    return path[max(i - 2, 0) : i] if i else path[2:0:-1]


def drawn_path(nodes: Sequence[Node], *, closed: bool) -> Path:
    """Return drawn nodes as a path; an open one ends in corners without outer handles."""
    path = [structs.replace(n, id=f"n{i}") for i, n in enumerate(nodes, 1)]
    if not closed and path:
        path[0] = structs.replace(path[0], smooth=False, before=None)
        path[-1] = structs.replace(path[-1], smooth=False, after=None)
    return tuple(path)


def reversed_line(line: Line) -> Line:
    """Return a line run the other way: what lies on top stays, and a taper stays in place.

    An inlay keeps its inside on its left, whatever its direction, so only an open line's sides
    change over.
    """
    nodes = reverse_path(line.nodes)
    if isinstance(line, Stripe):
        return structs.replace(
            line,
            nodes=nodes,
            start_width_mm=line.end_width_mm,
            end_width_mm=line.start_width_mm,
        )
    if isinstance(line, Inlay | Relief) or line.rule.on_top is None:
        return structs.replace(line, nodes=nodes)
    other = Side.RIGHT if line.rule.on_top is Side.LEFT else Side.LEFT
    return structs.replace(line, nodes=nodes, rule=structs.replace(line.rule, on_top=other))

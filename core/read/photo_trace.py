"""What was traced on a flat photo, edits of it, and the panel that it becomes.

A *tracing* lies on the photo's ground, in mm. Its edits are pure functions; ids of nodes are
unique in their path, openings and marks are told by their place in the tracing until they get
ids of the job.
"""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace as changed
from numpy.typing import NDArray

from core.document.edits.ids import free_id, taken_ids
from core.document.edits.panels import add_panel
from core.document.edits.paths import translate_path
from core.document.edits.photos import add_photo
from core.document.flatten import flatten, flatten_owned
from core.document.job import Job
from core.document.panel import Mark, MarkKind, Opening, Panel
from core.document.path import Node, Path
from core.document.photo import Photo
from core.errors import EditRefused
from core.geometry.fitting import FittedNode, fit_ring
from core.ids import NodeId, next_id
from core.read.photo import stored_bytes
from core.read.photo_flat import Bounds, FlatPhoto
from core.read.photo_outline import FoundShape
from core.read.photo_scale import PhotoScale

Points = NDArray[np.float64]
Place = tuple[float, float]

DEFAULT_TOLERANCE_MM = 0.5
_ROUND = 4 * (math.sqrt(2) - 1) / 3
"""Handle length of a quarter of a unit circle (error 0.027 %)."""
_AROUND_MM = 60.0
"""So much of the photo around the panel is kept."""


@dataclass(frozen=True, slots=True)
class TracedMark:
    """A mark on the photo, a spot."""

    kind: MarkKind
    at: Place
    radius_mm: float


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


def round_ring(at: Place, radius_mm: float) -> Path:
    """Return a circle of four nodes. EditRefused below half a millimetre."""
    if radius_mm < 0.5:
        raise EditRefused("The round opening has no size.", mend="Drag from its middle out.")
    k, r = _ROUND * radius_mm, radius_mm
    around = (((r, 0.0), (0.0, k)), ((0.0, r), (-k, 0.0)), ((-r, 0.0), (0.0, -k)))
    nodes = (*around, ((0.0, -r), (k, 0.0)))
    return tuple(
        Node(
            id=NodeId(f"n{i}"),
            at=(at[0] + dx, at[1] + dy),
            smooth=True,
            before=(-hx, -hy),
            after=(hx, hy),
        )
        for i, ((dx, dy), (hx, hy)) in enumerate(nodes, 1)
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
    for ring, path in _numbered(tracing):
        for node in path:
            away = math.dist(node.at, at)
            if away <= reach_mm and (best is None or away < best[0]):
                best = away, Spot(ring, node.id, "node")
    return best[1] if best else None


def find_segment(tracing: Tracing, at: Place, reach_mm: float) -> tuple[int, str, float] | None:
    """Return ring, node and share of the stretch that passes near a place, or None."""
    best: tuple[float, tuple[int, str, float]] | None = None
    for ring, path in _numbered(tracing):
        line, owner = flatten_owned(path, closed=True)
        ends = np.roll(line, -1, axis=0)
        run = ends - line
        size = np.maximum((run**2).sum(axis=1), 1e-12)
        t = np.clip(((np.array(at) - line) * run).sum(axis=1) / size, 0, 1)
        away = np.hypot(*(line + t[:, None] * run - np.array(at)).T)
        i = int(away.argmin())
        if away[i] > reach_mm or (best and away[i] >= best[0]):
            continue
        own = np.flatnonzero(owner == owner[i])
        share = (i - own[0] + float(t[i])) / len(own)
        best = float(away[i]), (ring, path[owner[i]].id, min(max(share, 0.02), 0.98))
    return best[1] if best else None


def find_mark(tracing: Tracing, at: Place, reach_mm: float) -> int | None:
    """Return which mark is at a place."""
    for i, mark in enumerate(tracing.marks):
        if math.dist(mark.at, at) <= max(mark.radius_mm, reach_mm):
            return i
    return None


def _numbered(tracing: Tracing) -> list[tuple[int, Path]]:
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


# Into the job


@dataclass(frozen=True, slots=True)
class PanelWish:
    """What a person says of the panel that a tracing becomes."""

    name: str
    base_film: str
    edge_turn_mm: float = 10.0
    is_pair: bool = False
    at: Place = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class TracedPanel:
    """A job with the traced panel, and the photo's name and bytes for its file."""

    job: Job
    panel: str
    file: str
    data: bytes


def add_traced_panel(
    job: Job,
    tracing: Tracing,
    flat: FlatPhoto,
    scale: PhotoScale,
    wish: PanelWish,
    *,
    title: str = "",
) -> TracedPanel:
    """Return the job with a panel of the tracing and the photo as its ground.

    Args:
        job: the job.
        tracing: with an outline.
        flat: the photo that it was traced on.
        scale: of that photo.
        wish: what the panel is called and made of.
        title: name of the photo's file.

    Raises:
        EditRefused: there is no outline, or the job refuses the panel.
        KeyError: the job has no film of that id.
    """
    if not tracing.outline:
        raise EditRefused("There is no outline yet.", mend="Find it, or draw it on the photo.")
    left, bottom, right, top = ring_bounds(tracing.outline)
    panel_id = free_id(job, "p")
    taken = [*taken_ids(job), panel_id]
    panel = Panel(
        id=panel_id,
        name=wish.name,
        outline=translate_path(tracing.outline, -left, -bottom),
        base_film=wish.base_film,
        openings=_openings(tracing, taken, (left, bottom)),
        marks=_marks(tracing, taken, (left, bottom)),
        edge_turn_mm=wish.edge_turn_mm,
        is_pair=wish.is_pair,
        at=wish.at,
    )
    m = _AROUND_MM
    ground = flat.cropped((left - m, bottom - m, right + m, top + m))
    added = add_panel(job, panel)
    data = stored_bytes(ground.pixels)
    photo = _photo(added, panel_id, ground, (left, bottom), title)
    # Its name tells it from a photo that undo may bring back under the same id.
    photo = changed(photo, file=f"{photo.id}-{hashlib.sha256(data).hexdigest()[:8]}.jpg")
    error = outline_error_mm(scale, tracing.outline)
    photo = _with_error(photo, error, math.hypot(right - left, top - bottom))
    return TracedPanel(add_photo(added, photo), panel_id, photo.file, data)


def outline_error_mm(scale: PhotoScale, outline: Path) -> float:
    """Return the largest error, with 95 % certainty, of lengths across an outline."""
    left, bottom, right, top = ring_bounds(outline)
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    return scale.worst_error_mm(corners)


def _photo(job: Job, panel: str, ground: FlatPhoto, origin: Place, title: str) -> Photo:
    height, width = ground.pixels.shape[:2]
    one = free_id(job, "g")
    s = ground.mm_px
    return Photo(
        id=one,
        file=f"{one}.jpg",
        title=title[:200],
        width_px=width,
        height_px=height,
        to_mm=(
            *(s, 0.0, ground.left_mm - origin[0]),
            *(0.0, -s, ground.top_mm - origin[1]),
            *(0.0, 0.0, 1.0),
        ),
        error_mm=0.0,
        error_over_mm=0.0,
        panel=panel,
    )


def _with_error(photo: Photo, error_mm: float, over_mm: float) -> Photo:
    return changed(photo, error_mm=round(error_mm, 3), error_over_mm=round(over_mm, 1))


def _openings(tracing: Tracing, taken: list[str], origin: Place) -> tuple[Opening, ...]:
    made = []
    for path in tracing.openings:
        one = next_id("o", taken)
        taken.append(one)
        made.append(Opening(id=one, nodes=translate_path(path, -origin[0], -origin[1])))
    return tuple(made)


def _marks(tracing: Tracing, taken: list[str], origin: Place) -> tuple[Mark, ...]:
    made = []
    for mark in tracing.marks:
        one = next_id("m", taken)
        taken.append(one)
        at = (mark.at[0] - origin[0], mark.at[1] - origin[1])
        made.append(Mark(id=one, kind=mark.kind, path=(at,), radius_mm=mark.radius_mm))
    return tuple(made)


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

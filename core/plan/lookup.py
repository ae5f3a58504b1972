"""What lies where on a planned panel: regions, stretches, places for labels, tracks to snap to.

Questions that a window asks of a plan; nothing here decides anything.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from core.document.flatten import flatten
from core.document.hit import is_closed, moved_by, node_positions, segment_middles
from core.document.lines import Side, Stripe, line_name
from core.document.panel import Mark, Panel
from core.document.path import Path, Point
from core.document.variant import Scheme
from core.geometry.snapping import SnapField, Track, build_field
from core.ids import CopyId, PanelId, RegionId
from core.plan.model import JobPlan, PanelPlan, Region, Stretch
from core.tolerance import JOIN_MM

Points = NDArray[np.float64]
LabelPlaces = Mapping[RegionId, tuple[Point, float]]
LABEL_ROOM_MM = 6.0
"""Kept free around marks, so that labels do not lie on them."""
RIM = "rim"
"""Name under which a panel's outline is caught."""


def drawn_plans(plan: JobPlan) -> Mapping[PanelId, PanelPlan]:
    """Return, for each panel of the job, the plan of its first copy as drawn."""
    found: dict[PanelId, PanelPlan] = {}
    for panel in plan.panels:
        if not panel.is_mirrored:
            found.setdefault(panel.of, panel)
    return found


def find_panel_at(plan: JobPlan, at: Point, reach_mm: float = 0.0) -> Panel | None:
    """Return the panel under a point of the canvas; later ones lie above earlier ones.

    Hidden panels are not there.

    Args:
        plan: the plan whose panels stand on the canvas.
        at: in the canvas's frame.
        reach_mm: how far outside a panel still counts.
    """
    plans = drawn_plans(plan)
    for panel in reversed(plan.job.panels):
        own = None if panel.is_hidden else plans.get(PanelId(panel.id))
        if own is not None and _is_near(panel, own, to_panel(panel, at), reach_mm):
            return panel
    return None


def panel_bounds(panel: Panel, plan: PanelPlan) -> tuple[float, float, float, float]:
    """Return the bounds of the extended panel; of its nodes while its outline is no shape."""
    if not plan.extended.is_empty:
        x0, y0, x1, y1 = plan.extended.bounds
        return x0, y0, x1, y1
    nodes = node_positions(panel.outline)
    (x0, y0), (x1, y1) = nodes.min(axis=0), nodes.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _is_near(panel: Panel, plan: PanelPlan, at: Point, reach_mm: float) -> bool:
    x0, y0, x1, y1 = panel_bounds(panel, plan)
    x, y = at
    if not (x0 - reach_mm <= x <= x1 + reach_mm and y0 - reach_mm <= y <= y1 + reach_mm):
        return False
    if plan.extended.is_empty:
        return True
    whole = shapely.polygons(shapely.get_exterior_ring(plan.extended))
    return bool(shapely.distance(whole, shapely.points(x, y)) <= reach_mm)


def to_panel(panel: Panel, at: Point) -> Point:
    """Return a point of the canvas in the panel's frame."""
    return at[0] - panel.at[0], at[1] - panel.at[1]


def to_canvas(panel: Panel, at: Point) -> Point:
    """Return a point of the panel in the canvas's frame."""
    return moved_by(at, panel.at)


def find_region_at(plan: PanelPlan, at: Point) -> Region | None:
    """Return the region that a point of the panel lies in."""
    for region in plan.regions:
        x0, y0, x1, y1 = region.polygon.bounds
        if x0 <= at[0] <= x1 and y0 <= at[1] <= y1 and shapely.contains_xy(region.polygon, *at):
            return region
    return None


def spots_in(region: Region, scheme: Scheme) -> tuple[str, ...]:
    """Return the ids of the paint spots that lie in a region."""
    return tuple(
        s.id for s in scheme.spots if shapely.contains_xy(region.polygon, s.at[0], s.at[1])
    )


def find_stretch_near(plan: PanelPlan, at: Point, reach_mm: float) -> Stretch | None:
    """Return the stretch that passes nearest within reach."""
    if not plan.stretches:
        return None
    paths = np.array([s.path for s in plan.stretches], dtype=object)
    distances = shapely.distance(paths, shapely.points(*at))
    i = int(np.argmin(distances))
    return plan.stretches[i] if distances[i] <= reach_mm else None


def is_on_rim(plan: PanelPlan, at: Point, reach_mm: float) -> bool:
    """Whether a point lies on the panel's outline or an opening's."""
    return bool(shapely.distance(plan.outline.boundary, shapely.points(*at)) <= reach_mm)


def label_places(plan: PanelPlan, marks: Sequence[Mark]) -> LabelPlaces:
    """Return a point inside each region with its distance to the border.

    It is clear of marks and relief cuts.
    """
    if not plan.regions:
        return {}
    polygons = spare = np.array([r.polygon for r in plan.regions], dtype=object)
    taken = [_ground(mark) for mark in marks]
    taken += [
        cut.path.buffer(LABEL_ROOM_MM, quad_segs=2)
        for piece in plan.pieces
        for cut in piece.relief_cuts
    ]
    if taken:
        free = shapely.difference(polygons, shapely.union_all(taken))
        spare = np.where(shapely.is_empty(free), polygons, free)
    points = shapely.get_coordinates(shapely.point_on_surface(spare))
    room = shapely.distance(shapely.boundary(polygons), shapely.points(points))
    return {
        region.id: ((float(x), float(y)), float(width))
        for region, (x, y), width in zip(plan.regions, points, room, strict=True)
    }


@lru_cache(maxsize=1000)
def _ground(mark: Mark) -> shapely.Geometry:
    points = shapely.points(mark.path) if len(mark.path) == 1 else LineString(mark.path)
    return shapely.union_all(
        shapely.buffer(points, mark.radius_mm + LABEL_ROOM_MM, quad_segs=2)
    )


def scale_marks(stretch: Stretch, spacing_mm: float, size_mm: float) -> Points:
    """Return small triangles, like scales, along a stretch on the side that lies on top.

    Returns:
        Shape (n, 3, 2); each stands with its base on the stretch.

    Degenerate input: a stretch shorter than the spacing gets one in its middle.
    """
    sign = 1.0 if stretch.top_side is Side.LEFT else -1.0
    triangles = [np.empty((0, 3, 2))]
    for part in shapely.get_parts(stretch.path):
        coords = shapely.get_coordinates(part)
        run = np.diff(coords, axis=0)
        size = np.hypot(run[:, 0], run[:, 1])
        along = np.concatenate([[0.0], np.cumsum(size)])
        count = max(1, int(along[-1] / spacing_mm))
        at = (np.arange(count) + 0.5) * along[-1] / count
        k = np.clip(np.searchsorted(along, at) - 1, 0, len(size) - 1)
        unit = run[k] / np.maximum(size[k], 1e-12)[:, None]
        foot = coords[k] + unit * (at - along[k])[:, None]
        rise = np.stack([-unit[:, 1], unit[:, 0]], axis=1) * (sign * 1.3 * size_mm)
        base = unit * size_mm
        triangles.append(np.stack([foot - base, foot + rise, foot + base], axis=1))
    return np.concatenate(triangles)


def snap_field(
    panel: Panel, scheme: Scheme, plan: PanelPlan | None, without: Collection[str] = ()
) -> SnapField:
    """Return all that can be caught on a panel: its rim, openings and lines.

    Args:
        panel: what is drawn on.
        scheme: what is drawn on it.
        plan: gives the sides of stripes, which are not drawn themselves; None leaves them out.
        without: ids of lines, openings or the panel itself that are not to be caught.
    """
    rings = [(RIM, panel.outline)] if panel.id not in without else []
    rings += [(o.id, o.nodes) for o in panel.openings if o.id not in without]
    tracks = [_track(name, path, closed=True) for name, path in rings]
    tracks += [
        _track(line.id, line.nodes, closed=is_closed(line))
        for line in scheme.lines
        if line.id not in without and not isinstance(line, Stripe)
    ]
    stripes = {s.id for s in scheme.stripes} - set(without)
    for stretch in plan.stretches if plan else ():
        if stretch.line in stripes:
            tracks += _side_tracks(stretch)
    return build_field([t for t in tracks if len(t.points) > 1])


def _track(name: str, path: Path, *, closed: bool) -> Track:
    points = flatten(path, closed=closed)
    return Track(
        name, points, closed, node_positions(path), segment_middles(path, closed=closed)
    )


def _side_tracks(stretch: Stretch) -> list[Track]:
    tracks = []
    for part in shapely.get_parts(stretch.path):
        points = shapely.get_coordinates(part)
        ends, no_middles = points[[0, -1]], np.empty((0, 2))
        tracks.append(Track(stretch.line, points, closed=False, nodes=ends, middles=no_middles))
    return tracks


def find_node_at(panel: Panel, scheme: Scheme, at: Point) -> tuple[str, str] | None:
    """Return the owner and id of the node that lies at a point of a panel; None for none.

    The owner is the panel for its outline, else an opening or a line.
    """
    owners = [(panel.id, panel.outline), *((o.id, o.nodes) for o in panel.openings)]
    owners += [(line.id, line.nodes) for line in scheme.lines]
    for owner, path in owners:
        for node in path:
            if math.dist(node.at, at) <= JOIN_MM:
                return owner, node.id
    return None


def name_of_track(track: str, panel: Panel, scheme: Scheme) -> str:
    """Return what a caught track is called: the rim, an opening, or a line by its name."""
    if track == RIM:
        return "rim"
    for opening in panel.openings:
        if opening.id == track:
            return opening.name or "opening"
    return next((line_name(line) for line in scheme.lines if line.id == track), track)


def find_place(plan: JobPlan, where: str, at: Point) -> Point | None:
    """Return where a place of a panel, or of any copy of one, is on the canvas.

    A mirrored copy is not drawn; its places are shown on the one that is.
    """
    copies = {p.id: p for p in plan.panels}
    copy = copies.get(CopyId(where))
    known = {p.id: p for p in plan.job.panels}
    panel = known.get(copy.of if copy else where)
    if panel is None:
        return None
    x, y = at
    return to_canvas(panel, (-x, y) if copy and copy.is_mirrored else (x, y))


def is_same_shape(a: shapely.Geometry, b: shapely.Geometry) -> bool:
    """Whether two shapes have the very same points, so that one drawing serves both."""
    return a is b or bool(shapely.equals_identical(a, b))


def drawn_id(plan: JobPlan, what: str) -> str:
    """Return the id that a region or piece of any copy has on the copy that is drawn.

    Copies have the same regions and pieces in the same order. Any other id is returned as it
    is.
    """
    plans = drawn_plans(plan)
    for copy in plan.panels:
        if not what.startswith(f"{copy.id}."):
            continue
        drawn = plans[copy.of]
        for own, twin in zip(copy.regions, drawn.regions, strict=False):
            if own.id == what:
                return twin.id
        for piece, twin_piece in zip(copy.pieces, drawn.pieces, strict=False):
            if piece.id == what:
                return twin_piece.id
    return what

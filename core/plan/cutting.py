"""From a final shape to what is cut: rounded inside corners, relief cuts, blanks, ticks."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Point, Polygon, box
from shapely.affinity import rotate

from core.ids import LineId
from core.tolerance import QUANTUM_MM

DUST_MM2 = 2e-3
"""A filled corner smaller than this is the flattening of a curve and left as it is."""

GRID_MM = 1e-6

TICK_HALF_MM = 4.0
"""Half the length of a match tick."""


@dataclass(frozen=True, slots=True)
class CutSpec:
    """What a piece's cut shape and match ticks are made by.

    Attributes:
        is_blank: cut off the roll as a rectangle and trimmed on the part.
        inside_radius_mm: radius to which inside corners of a pre-cut shape are rounded.
        grain_deg: direction along which a blank's sides lie, in the frame of the shape.
    """

    is_blank: bool
    inside_radius_mm: float
    grip_mm: float
    blank_step_mm: float
    grain_deg: float
    tick_spacing_mm: float


@dataclass(frozen=True, slots=True)
class ReliefCut:
    """A relief cut as it runs through a piece.

    Attributes:
        line: what was drawn; ``name`` is what it is called.
        path: from the piece's own edge to the inner end, in the panel's map.
        seen_mm: how much of it runs through film that is seen.
        start: what it starts at: "the rear rim", an opening or a line by its name.
        hole_mm: across, of the round hole at the inner end; 0 for none.
    """

    line: LineId
    name: str
    path: LineString
    seen_mm: float
    start: str
    hole_mm: float


@dataclass(frozen=True, eq=False)
class FilmRelief:
    """A relief cut in the flat film of a piece.

    Attributes:
        path: from the edge to the inner end, in the middle of what opens.
        notch: what is taken out where it opens; None where it has no width.
        opening_mm: how far it opens where it opens most.
    """

    cut: ReliefCut
    path: LineString
    notch: Polygon | None = None
    opening_mm: float = 0.0

    @property
    def hole(self) -> Polygon | None:
        """The round hole at the inner end."""
        if self.cut.hole_mm <= 0:
            return None
        end: Polygon = Point(self.path.coords[-1]).buffer(self.cut.hole_mm / 2, quad_segs=8)
        return end

    @property
    def line(self) -> LineString | None:
        """What is cut as a line without width, up to the hole; None where it is a notch."""
        if self.notch is not None:
            return None
        rest = self.path if self.hole is None else self.path.difference(self.hole)
        return rest if isinstance(rest, LineString) and not rest.is_empty else None


def cut_shape(final: Polygon, spec: CutSpec, reliefs: tuple[FilmRelief, ...] = ()) -> Polygon:
    """Return the shape that is cut off the roll for a final shape.

    Notches of relief cuts and the holes at their ends stay as they are, however narrow. A blank
    has none of either: it is cut and trimmed on the part.
    """
    whole = without_notches(final, reliefs)
    if spec.is_blank:
        return blank_around(whole, spec)
    rounded = round_inside_corners(whole, spec.inside_radius_mm)
    taken = [part for r in reliefs for part in (r.notch, r.hole) if part is not None]
    if not taken:
        return rounded
    cut = _largest(shapely.difference(rounded, shapely.union_all(taken)))
    oriented: Polygon = shapely.orient_polygons(cut)
    return oriented


def without_notches(final: Polygon, reliefs: tuple[FilmRelief, ...]) -> Polygon:
    """Return a shape with the notches of its relief cuts filled."""
    notches = [r.notch for r in reliefs if r.notch is not None]
    return _largest(shapely.union_all([final, *notches])) if notches else final


def _largest(shape: shapely.Geometry) -> Polygon:
    part: Polygon = max(shapely.get_parts(shape), key=lambda p: float(p.area))
    return part


def blank_around(final: Polygon, spec: CutSpec) -> Polygon:
    """Return the rectangle that encloses the shape with grip on each side.

    Its sides lie along and across the grain and are rounded up to the step, the surplus shared
    between both ends.
    """
    level = rotate(final, -spec.grain_deg, origin=(0, 0))
    x0, y0, x1, y1 = level.bounds
    width = _round_up(x1 - x0 + 2 * spec.grip_mm, spec.blank_step_mm)
    height = _round_up(y1 - y0 + 2 * spec.grip_mm, spec.blank_step_mm)
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    around = box(cx - width / 2, cy - height / 2, cx + width / 2, cy + height / 2)
    return shapely.orient_polygons(rotate(around, spec.grain_deg, origin=(0, 0)))


def _round_up(length: float, step: float) -> float:
    """Round up to whole steps; over a step by no more than inputs are rounded is that step."""
    return max(1, math.ceil((length - 3 * QUANTUM_MM) / step)) * step


def round_inside_corners(shape: Polygon, radius: float) -> Polygon:
    """Fill inside (reflex) corners with arcs of the radius; outside corners stay sharp.

    This is a morphological closing, so holes and notches narrower than twice the radius close.
    Degenerate input: radius 0 or a convex shape is returned as it is.
    """
    if radius <= 0 or (not shape.interiors and shape.convex_hull.area - shape.area < 1e-9):
        return shape
    closed = shape.buffer(radius, quad_segs=16).buffer(-radius, quad_segs=16)
    # Only what is really filled is added, so that the rest keeps its points.
    filled = shapely.get_parts(shapely.difference(closed, shape))
    patches = filled[shapely.area(filled) > DUST_MM2]
    if not len(patches):
        return shape
    joined = shapely.union_all([shape, *patches], grid_size=GRID_MM)
    largest: Polygon = max(shapely.get_parts(joined), key=lambda p: p.area)
    oriented: Polygon = shapely.orient_polygons(largest)
    return oriented


def match_ticks(
    paths: Iterable[LineString | MultiLineString], shape: Polygon, spec: CutSpec
) -> tuple[LineString, ...]:
    """Return short ticks across the paths, evenly spaced, clipped to the shape.

    Both pieces of a seam get theirs from the same path, so the ticks line up when it is laid.
    """
    ticks = []
    for path in paths:
        for part in shapely.get_parts(path):
            ticks += _ticks_across(part, spec.tick_spacing_mm)
    clipped = shapely.get_parts(shapely.intersection(np.array(ticks, dtype=object), shape))
    return tuple(c for c in clipped if isinstance(c, LineString) and c.length > 0.5)


def _ticks_across(part: LineString, spacing: float) -> list[LineString]:
    count = max(1, math.ceil(part.length / spacing) - 1) if part.length > 20 else 0
    ticks = []
    for i in range(1, count + 1):
        s = part.length * i / (count + 1)
        p = part.interpolate(s)
        a, b = part.interpolate(max(s - 0.5, 0)), part.interpolate(min(s + 0.5, part.length))
        dx, dy = b.x - a.x, b.y - a.y
        size = math.hypot(dx, dy) or 1.0
        nx, ny = -dy / size * TICK_HALF_MM, dx / size * TICK_HALF_MM
        ticks.append(LineString([(p.x - nx, p.y - ny), (p.x + nx, p.y + ny)]))
    return ticks

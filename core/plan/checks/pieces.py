"""Checks on regions and pieces: slivers, laps that do not fit, corners that cannot be cut."""

from collections.abc import Iterator

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon
from shapely.ops import polylabel

from core.document.lines import line_name
from core.plan.checks.context import Review
from core.plan.model import Finding, Severity, Side, Stretch
from core.tolerance import SLIVER_MM


def check_slivers(review: Review) -> Iterator[Finding]:
    """Tell of regions that are nowhere wide enough to be laid."""
    polygons = np.array([r.polygon for r in review.mapped.regions], dtype=object)
    # Area over perimeter is at most the inradius, so a wide region is passed without more work.
    sure = shapely.area(polygons) / np.maximum(shapely.length(polygons), 1e-9) >= SLIVER_MM / 2
    for i in np.flatnonzero(~sure):
        if polygons[i].buffer(-SLIVER_MM / 2).is_empty:
            at = polygons[i].representative_point()
            text = (
                f"A region here is nowhere {SLIVER_MM:.0f} mm wide and cannot be laid. Move a line,"
                " or let one end at the other."
            )
            yield Finding("S204", Severity.WARNING, text, where=(at.x, at.y))
    if review.mapped.arrangement.has_merged:
        text = "Two lines lie on each other but for a hair. Delete one, or move them apart."
        yield Finding("S209", Severity.WARNING, text)


def check_laps(review: Review) -> Iterator[Finding]:
    """Tell where the top region is too narrow to cover the lap beneath it."""
    number = {r.id: i for i, r in enumerate(review.mapped.regions)}
    cover: dict[int, Polygon] = {}
    for group, above in zip(review.stacking.groups, review.stacking.above, strict=True):
        if above:
            area = shapely.union_all([review.mapped.regions[i].polygon for i in above])
            shapely.prepare(area)
            cover.update(dict.fromkeys(group, area))
    shapely.prepare(review.shape.extended)
    names = {t.line.id: line_name(t.line) for t in review.traced}
    for stretch in review.stacking.stretches:
        if stretch.is_full or stretch.lap_mm <= 0 or number[stretch.under] not in cover:
            continue
        reach = lap_reach_points(stretch, stretch.lap_mm - 0.1)
        bare = shapely.contains_xy(review.shape.extended, reach[:, 0], reach[:, 1])
        area = cover[number[stretch.under]]
        bare &= ~shapely.intersects_xy(area, reach[:, 0], reach[:, 1])
        if bare.any():
            x, y = reach[np.flatnonzero(bare)[0]]
            text = (
                f"At {names[stretch.line]} the film on top is narrower than the lap of"
                f" {stretch.lap_mm:g} mm, so the lap is cut short here. Make the lap smaller, or"
                " move the line."
            )
            where = (float(x), float(y))
            yield Finding(
                "A303", Severity.WARNING, text, where=where, lines=(stretch.line,)
            )


def lap_reach_points(stretch: Stretch, distance: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Return points at the distance from the border, on the top side, along its whole length."""
    sign = 1.0 if stretch.top_side is Side.LEFT else -1.0
    points = []
    parts = [stretch.path] if isinstance(stretch.path, LineString) else stretch.path.geoms
    for part in parts:
        ends = np.asarray(part.coords)
        along = np.diff(ends, axis=0)
        size = np.hypot(along[:, 0], along[:, 1])[:, None]
        normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / size
        points.append((ends[:-1] + ends[1:]) / 2 + sign * distance * normal)
    return np.concatenate(points)


def check_corners(review: Review) -> Iterator[Finding]:
    """Tell of openings that the film's inside radius would close when it is cut beforehand."""
    radii = {p.spec.inside_radius_mm for p in review.pieces if not p.spec.is_blank}
    if not radii:
        return
    for hole in review.shape.extended.interiors:
        area = Polygon(hole)
        width = 2 * area.area / area.length
        if width >= max(radii):
            continue
        at = area.representative_point()
        if polylabel(area, 0.1).distance(area.exterior) < max(radii):
            text = (
                f"This opening is smaller than the film's inside radius of {max(radii):g} mm and"
                " is not cut beforehand. Cut it out on the part."
            )
            yield Finding("F403", Severity.NOTE, text, where=(at.x, at.y))

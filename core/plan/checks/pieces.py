"""Checks on regions and pieces: slivers, laps that do not fit, corners that cannot be cut."""

import math
from collections.abc import Iterator
from functools import partial
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.ops import polylabel, substring

from core.document.lines import Side, line_name
from core.plan.checks.context import Review
from core.plan.memory import Memory
from core.plan.model import Finding, Severity, Stretch
from core.tolerance import SLIVER_MM

SAMPLE_MM = 10.0
"""So far apart a lap is looked at along its seam."""

SLACK_MM = 0.1
"""By so little a lap may fall short."""

CORNER_DEG = 30.0
"""A seam that turns by more than this has a corner."""


def check_slivers(review: Review) -> Iterator[Finding]:
    """Tell of regions that are nowhere wide enough to be laid."""
    polygons = np.array([r.polygon for r in review.mapped.regions], dtype=object)
    # Area over perimeter is at most the inradius, so a wide region is passed without more work.
    sure = shapely.area(polygons) / np.maximum(shapely.length(polygons), 1e-9) >= SLIVER_MM / 2
    for i in np.flatnonzero(~sure):
        if polygons[i].buffer(-SLIVER_MM / 2).is_empty:
            at = polygons[i].representative_point()
            text = (
                f"A region here is nowhere {SLIVER_MM:.0f} mm wide and cannot be laid. Move a"
                " line, or let one end at the other."
            )
            yield Finding("S204", Severity.WARNING, text, where=(at.x, at.y))
    for at in review.mapped.arrangement.merged:
        text = "Two lines lie on each other but for a hair. Delete one, or move them apart."
        yield Finding("S209", Severity.WARNING, text, where=(at.x, at.y))


def check_laps(review: Review) -> Iterator[Finding]:
    """Tell where the top region is too narrow to cover the lap beneath it."""
    number = {r.id: i for i, r in enumerate(review.mapped.regions)}
    above_of: dict[int, tuple[int, ...]] = {}
    for group, above in zip(review.stacking.groups, review.stacking.above, strict=True):
        above_of.update(dict.fromkeys(group, tuple(sorted(above))))
    shapely.prepare(review.shape.extended)
    names = {t.line.id: line_name(t.line) for t in review.traced}
    polygons = np.array([r.polygon for r in review.mapped.regions], dtype=object)
    wkb = shapely.to_wkb(polygons)
    for stretch in review.stacking.stretches:
        covering = above_of.get(number[stretch.under], ())
        if stretch.is_full or stretch.lap_mm <= SLACK_MM or not covering:
            continue
        spot = _bare_spots.recall(
            (review.shape,),
            (stretch.path.wkb, stretch.lap_mm, frozenset(wkb[i] for i in covering)),
            partial(_bare_spot, stretch, polygons[list(covering)], review.shape.extended),
        )
        if spot:
            text = (
                f"At {names[stretch.line]} the film on top is narrower than the lap of"
                f" {stretch.lap_mm:g} mm, so the lap is cut short here. Make the lap smaller,"
                " or move the line."
            )
            yield Finding("A303", Severity.WARNING, text, where=spot, lines=(stretch.line,))


_bare_spots: Memory[tuple[float, float] | None] = Memory(4000)


def _bare_spot(
    stretch: Stretch, above: NDArray[np.object_], extended: Polygon
) -> tuple[float, float] | None:
    """Return a place a lap's width from the border that nothing on top covers, or None."""
    reach = lap_reach_points(stretch, stretch.lap_mm - SLACK_MM)
    cover = shapely.union_all(above)
    shapely.prepare(cover)
    bare = shapely.contains_xy(extended, reach[:, 0], reach[:, 1])
    bare &= ~shapely.intersects_xy(cover, reach[:, 0], reach[:, 1])
    if not bare.any():
        return None
    x, y = reach[np.flatnonzero(bare)[0]]
    return float(x), float(y)


def lap_reach_points(stretch: Stretch, distance: float) -> NDArray[np.float64]:
    """Return points at the distance from the border, on the top side, all along it.

    Near its ends and corners there are none: there the lap cannot help being cut short.
    """
    sign = 1.0 if stretch.top_side is Side.LEFT else -1.0
    points = [np.empty((0, 2))]
    margin = 2 * distance
    for run in _runs_between_corners(stretch):
        if run.length <= 2 * margin:
            continue
        inner = substring(run, margin, run.length - margin)
        ends = shapely.get_coordinates(shapely.segmentize(inner, SAMPLE_MM))
        along = np.diff(ends, axis=0)
        size = np.hypot(along[:, 0], along[:, 1])[:, None]
        normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / size
        points.append((ends[:-1] + ends[1:]) / 2 + sign * distance * normal)
    return np.concatenate(points)


def _runs_between_corners(stretch: Stretch) -> Iterator[LineString]:
    for part in shapely.get_parts(stretch.path):
        ends = shapely.get_coordinates(part)
        along = np.diff(ends, axis=0)
        along /= np.hypot(along[:, 0], along[:, 1])[:, None]
        is_corner = np.sum(along[1:] * along[:-1], axis=1) < math.cos(math.radians(CORNER_DEG))
        places = [0, *(np.flatnonzero(is_corner) + 1).tolist(), len(ends) - 1]
        for start, end in pairwise(places):
            yield LineString(ends[start : end + 1])


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
                f"This opening is smaller than the film's inside radius of {max(radii):g} mm"
                " and is not cut beforehand. Cut it out on the part."
            )
            yield Finding("F403", Severity.NOTE, text, where=(at.x, at.y))

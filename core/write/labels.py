"""Where a label fits: inside its shape, as large as it may be, level or along the shape."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate, translate

_STEPS = 12
_LEVEL_IS_FINE = 0.75
"""A level label is taken when it can be this share of the largest one."""


@dataclass(frozen=True, slots=True)
class LabelSpot:
    """Where a block of text stands.

    Attributes:
        centre: middle of the block.
        angle_deg: along which its lines run, from -80 to 100: upright ones read upwards.
        height_mm: height of its capitals.
    """

    centre: tuple[float, float]
    angle_deg: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class BlockSize:
    """A block of text at capital height 1: its width and its height."""

    width: float
    height: float


def inner_point(polygon: Polygon) -> tuple[tuple[float, float], float]:
    """Return a point well inside a polygon, and the greatest distance from its boundary.

    The point is the centroid where that is nearly as roomy as the roomiest point there is.

    Degenerate input: a polygon without area gives a point of it and 0.
    """
    if polygon.area <= 0:
        p = polygon.representative_point()
        return (p.x, p.y), 0.0
    tolerance = max(math.sqrt(polygon.area) / 200, 1e-3)
    radius = shapely.maximum_inscribed_circle(polygon, tolerance=tolerance)
    x, y = shapely.get_coordinates(radius)[0]
    middle = polygon.centroid
    if polygon.contains(middle) and polygon.boundary.distance(middle) > 0.9 * radius.length:
        x, y = middle.x, middle.y
    return (float(x), float(y)), float(radius.length)


def fit_block(
    polygon: Polygon, block: BlockSize, least_mm: float, most_mm: float
) -> LabelSpot | None:
    """Return the best spot for a block inside a polygon, or None when it fits nowhere.

    Args:
        polygon: where it shall stand, openings left free.
        block: its size at capital height 1.
        least_mm: smallest capital height that is still read.
        most_mm: largest one that is wanted.
    """
    if polygon.is_empty or block.width <= 0:
        return None
    shapely.prepare(polygon)
    best: LabelSpot | None = None
    for angle in _angles(polygon):
        found = _largest_along(polygon, block, angle, (least_mm, most_mm))
        if found is None:
            continue
        if angle == 0 and found.height_mm >= most_mm:
            return found
        share = _LEVEL_IS_FINE if best and best.angle_deg == 0 else 1.0
        if best is None or found.height_mm * share > best.height_mm:
            best = found
    return best


def _largest_along(
    polygon: Polygon, block: BlockSize, angle: float, bounds_mm: tuple[float, float]
) -> LabelSpot | None:
    least, most = bounds_mm
    best: LabelSpot | None = None
    for centre in _centres(polygon, angle):
        for height in np.geomspace(most, least, _STEPS):
            if best is not None and height <= best.height_mm:
                break
            if polygon.contains(block_box(block, LabelSpot(centre, angle, float(height)))):
                best = LabelSpot(centre, angle, float(height))
                break
    return best


def block_box(block: BlockSize, spot: LabelSpot) -> Polygon:
    """Return the rectangle that a block covers at a spot."""
    w, h = block.width * spot.height_mm / 2, block.height * spot.height_mm / 2
    turned = rotate(box(-w, -h, w, h), spot.angle_deg, origin=(0, 0))
    return translate(turned, *spot.centre)


def _angles(polygon: Polygon) -> Iterator[float]:
    """Yield the directions to try: level, then along the polygon's longer side."""
    yield 0.0
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(polygon))
    if len(corners) < 4:
        return
    sides = np.diff(corners[:3], axis=0)
    dx, dy = sides[int(np.argmax(np.hypot(sides[:, 0], sides[:, 1])))]
    angle = math.degrees(math.atan2(dy, dx))
    angle = (angle + 80) % 180 - 80
    if abs(angle) > 1e-6:
        yield angle


def _centres(polygon: Polygon, angle: float) -> Iterator[tuple[float, float]]:
    """Yield points well inside: the roomiest one, then middles of chords across the angle."""
    yield inner_point(polygon)[0]
    level = rotate(polygon, -angle, origin=(0, 0))
    x0, y0, x1, y1 = level.bounds
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        x = x0 + (x1 - x0) * share
        chord = level.intersection(shapely.LineString([(x, y0 - 1), (x, y1 + 1)]))
        parts = [p for p in shapely.get_parts(chord) if p.length > 0]
        if parts:
            middle = max(parts, key=lambda p: p.length).interpolate(0.5, normalized=True)
            yield (c * middle.x - s * middle.y, s * middle.x + c * middle.y)

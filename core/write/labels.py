"""Where a label fits: inside its shape, as large as it may be, level or along the shape."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, box
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

Points = NDArray[np.float64]

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
    polygon: Polygon,
    block: BlockSize,
    least_mm: float,
    most_mm: float,
    enough_mm: float | None = None,
) -> LabelSpot | None:
    """Return the best spot for a block inside a polygon, or None when it fits nowhere.

    Args:
        polygon: where it shall stand, openings left free.
        block: its size at capital height 1.
        least_mm: smallest capital height that is still read.
        most_mm: largest one that is wanted.
        enough_mm: a level label this high in the roomiest place is taken without looking for
            a larger one elsewhere; None looks for the largest.
    """
    if polygon.is_empty or block.width <= 0:
        return None
    shapely.prepare(polygon)
    inner = np.array([inner_point(polygon)[0]])
    best: LabelSpot | None = None
    if enough_mm is not None:
        best = _largest_along(polygon, block, 0.0, [inner], (least_mm, most_mm))
        if best is not None and best.height_mm >= enough_mm:
            return best
    for angle in _angles(polygon):
        centres = chain([inner], _chord_middles(polygon, angle))
        found = _largest_along(polygon, block, angle, centres, (least_mm, most_mm))
        if found is None:
            continue
        if angle == 0 and found.height_mm >= most_mm:
            return found
        share = _LEVEL_IS_FINE if best and best.angle_deg == 0 else 1.0
        if best is None or found.height_mm * share > best.height_mm:
            best = found
    return best


def _largest_along(
    polygon: Polygon,
    block: BlockSize,
    angle: float,
    centres: Iterable[Points],
    bounds_mm: tuple[float, float],
) -> LabelSpot | None:
    least, most = bounds_mm
    heights = np.geomspace(most, least, _STEPS)
    best: LabelSpot | None = None
    for some in centres:
        found = _largest_at(polygon, block, angle, some, heights)
        if found is not None and (best is None or found.height_mm > best.height_mm):
            best = found
        if best is not None and best.height_mm >= most:
            break
    return best


def _largest_at(
    polygon: Polygon, block: BlockSize, angle: float, centres: Points, heights: Points
) -> LabelSpot | None:
    """Return the largest block that the polygon contains about one of some centres."""
    corners = shapely.get_coordinates(block_box(block, LabelSpot((0.0, 0.0), angle, 1.0)))
    boxes = shapely.polygons(centres[:, None, None] + heights[:, None, None] * corners)
    fits = np.asarray(shapely.contains(polygon, boxes))
    found = np.where(fits.any(axis=1), heights[fits.argmax(axis=1)], 0.0)
    best = int(found.argmax())
    if found[best] == 0.0:
        return None
    x, y = centres[best].tolist()
    return LabelSpot((x, y), angle, float(found[best]))


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


def _chord_middles(polygon: Polygon, angle: float) -> Iterator[Points]:
    """Yield the middles of some chords across the angle, if there are any, all at once."""
    level = rotate(polygon, -angle, origin=(0, 0))
    x0, y0, x1, y1 = level.bounds
    x = x0 + (x1 - x0) * np.array([0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8])
    across = np.stack([x, np.full(len(x), y0 - 1), x, np.full(len(x), y1 + 1)], axis=1)
    lines = shapely.linestrings(across.reshape(-1, 2, 2))
    chords = np.asarray(shapely.intersection(level, lines))
    middles = [_middle(chord) for chord in chords if chord.length > 0]
    if middles:
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        yield np.array(middles) @ np.array([[c, s], [-s, c]])


def _middle(chord: BaseGeometry) -> tuple[float, float]:
    """Return the middle of a chord's longest part."""
    longest = max(shapely.get_parts(chord), key=lambda part: float(part.length))
    middle = longest.interpolate(0.5, normalized=True)
    return middle.x, middle.y

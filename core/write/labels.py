"""Where a label fits: inside its shape, as large as it may be, level or along the shape."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, box
from shapely.affinity import rotate, translate

from core.write.label_room import Room, room_of

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
    room, bounds = room_of(polygon), (least_mm, most_mm)
    best: LabelSpot | None = None
    if enough_mm is not None:
        best = _largest_about(room, room.inner, 0.0, block, bounds)
        if best is not None and best.height_mm >= enough_mm:
            return best
    for angle in room.angles:
        found = _largest_about(room, room.inner, angle, block, bounds)
        if found is None or found.height_mm < most_mm:
            other = _largest_about(room, room.chord_middles(angle), angle, block, bounds)
            if found is None or (other is not None and other.height_mm > found.height_mm):
                found = other
        if found is None:
            continue
        if angle == 0 and found.height_mm >= most_mm:
            return found
        share = _LEVEL_IS_FINE if best and best.angle_deg == 0 else 1.0
        if best is None or found.height_mm * share > best.height_mm:
            best = found
    return best


def _largest_about(
    room: Room,
    centres: Points,
    angle: float,
    block: BlockSize,
    bounds_mm: tuple[float, float],
) -> LabelSpot | None:
    """Return the largest block that fits about one of some points, in steps of height."""
    if not len(centres):
        return None
    least, most = bounds_mm
    fits = room.heights(centres, angle, (block.width, block.height))
    step = math.log(most / least) / (_STEPS - 1) or 1.0
    steps = np.minimum(np.floor(np.log(np.maximum(fits, 1e-9) / least) / step), _STEPS - 1)
    best = int(steps.argmax())
    if steps[best] < 0:
        return None
    x, y = centres[best].tolist()
    height = most if steps[best] == _STEPS - 1 else least * math.exp(step * steps[best])
    return LabelSpot((x, y), angle, float(height))


def block_box(block: BlockSize, spot: LabelSpot) -> Polygon:
    """Return the rectangle that a block covers at a spot."""
    w, h = block.width * spot.height_mm / 2, block.height * spot.height_mm / 2
    turned = rotate(box(-w, -h, w, h), spot.angle_deg, origin=(0, 0))
    return translate(turned, *spot.centre)

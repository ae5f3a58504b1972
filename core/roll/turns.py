"""Which turns an item may take, and how wide it is across the roll at each."""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.plan.memory import Memory
from core.roll.model import Item

_SLANT_WORTH = 0.97
"""A piece is laid along its narrowest rectangle when that is this much smaller than its box."""
_ROUNDING_MM = 1e-8
"""An item this much wider than the sheet is not wider."""
_HAIR_MM = 1e-9
_QUARTERS_DEG = (0.0, 90.0, 180.0, 270.0)
_EDGE_MM = 0.5
"""Curves count as straight sides where they bend less than this."""
_SIDES_TRIED = 6
_ALIKE_DEG = 3.0
"""Turns nearer than this lay a piece alike."""


def candidate_turns(
    items: Sequence[Item], outlines: NDArray[np.object_], width_mm: float
) -> list[tuple[float, ...]]:
    """Return the turns to try for each item; an item that may lie any way gets four.

    Where it is wider than ``width_mm`` at those, the four are taken from its narrowest turn.
    """
    free = [i for i, item in enumerate(items) if item.angles_deg is None]
    slants = dict(zip(free, _slants(outlines[free]), strict=True)) if free else {}
    for i, slant in slants.items():
        shape = items[i].polygon
        if _reach(shape) <= width_mm:
            continue
        if min(_width_at(shape, slant), _width_at(shape, slant + 90.0)) > width_mm:
            slants[i] = narrowest_turn(items[i])[1]
    turns: list[tuple[float, ...]] = []
    for i, item in enumerate(items):
        if item.angles_deg is None:
            turns.append(tuple((slants[i] + quarter) % 360.0 for quarter in _QUARTERS_DEG))
        else:
            turns.append(tuple(a % 360.0 for a in dict.fromkeys(item.angles_deg)))
    return turns


def with_edge_turns(item: Item, turns_deg: tuple[float, ...]) -> tuple[float, ...]:
    """Return turns with four more at which the longest side lies along or across the roll.

    Where an item may not lie any way, or has those turns already, they are returned as they
    are. On odd offcuts these turns fill 1 to 9 % more.
    """
    if item.angles_deg is not None:
        return turns_deg
    corners = shapely.get_coordinates(item.polygon.simplify(_EDGE_MM).convex_hull)
    sides = corners[1:] - corners[:-1]
    angles = -np.degrees(np.arctan2(sides[:, 1], sides[:, 0])) % 90.0
    for k in np.argsort(-np.hypot(sides[:, 0], sides[:, 1]), kind="stable")[:_SIDES_TRIED]:
        angle = float(angles[k])
        off = abs(angle - turns_deg[0]) % 90.0
        if min(off, 90.0 - off) > _ALIKE_DEG:
            return (*turns_deg, *((angle + quarter) % 360.0 for quarter in _QUARTERS_DEG))
    return turns_deg


def turns_within(
    item: Item, turns_deg: tuple[float, ...], width_mm: float
) -> tuple[float, ...]:
    """Return those of an item's turns at which it is no wider than ``width_mm``."""
    if _reach(item.polygon) <= width_mm:
        return turns_deg
    most = width_mm + _ROUNDING_MM
    return tuple(a for a in turns_deg if _width_at(item.polygon, a) <= most)


def fits_across(item: Item, width_mm: float) -> bool:
    """Return whether an item is no wider than ``width_mm`` at some turn that it may take."""
    x0, y0, x1, y1 = item.polygon.bounds
    if item.angles_deg != () and math.hypot(x1 - x0, y1 - y0) <= width_mm:
        return True
    if item.angles_deg is None and min(x1 - x0, y1 - y0) <= width_mm:
        return True
    return narrowest_turn(item)[0] <= width_mm + _HAIR_MM


def narrowest_turn(item: Item) -> tuple[float, float]:
    """Return the least width across the roll that an item needs, and the turn that gives it.

    Degenerate input: an item that may not lie at all is infinitely wide.
    """
    return _narrowest.recall(
        (item.polygon,), item.angles_deg, lambda: _narrowest_turn(item.polygon, item.angles_deg)
    )


def may_lie_within(item: Item, length_mm: float, width_mm: float) -> bool:
    """Return False where an item lies in no rectangle of a length and width, however turned.

    It is quick, and for items that may lie any way it may say True of some that do not fit.
    """
    if item.polygon.area > length_mm * width_mm:
        return False
    least, most = min(length_mm, width_mm) + _ROUNDING_MM, math.hypot(length_mm, width_mm)
    if item.angles_deg is None:
        # No way of turning makes it narrower than its least width, or longer than the corner
        # to corner of the rectangle allows.
        x0, y0, x1, y1 = item.polygon.bounds
        is_short = max(x1 - x0, y1 - y0) <= most + _ROUNDING_MM
        return is_short and narrowest_turn(item)[0] <= least
    corners = shapely.get_coordinates(item.polygon.convex_hull)
    turns = np.radians(np.array(item.angles_deg))
    along = np.ptp(corners @ np.array((np.cos(turns), -np.sin(turns))), axis=0)
    across = np.ptp(corners @ np.array((np.sin(turns), np.cos(turns))), axis=0)
    fits = (along <= length_mm + _ROUNDING_MM) & (across <= width_mm + _ROUNDING_MM)
    return bool(fits.any())


def _narrowest_turn(
    polygon: Polygon, angles_deg: tuple[float, ...] | None
) -> tuple[float, float]:
    corners = shapely.get_coordinates(polygon.convex_hull)
    if angles_deg is None:
        # The least width of a convex shape is found with one of its sides laid along the roll.
        sides = corners[1:] - corners[:-1]
        turns = -np.degrees(np.arctan2(sides[:, 1], sides[:, 0]))
    else:
        turns = np.array(angles_deg)
    if not len(turns):
        return math.inf, 0.0
    across = corners @ np.array((np.sin(np.radians(turns)), np.cos(np.radians(turns))))
    widths = across.max(axis=0) - across.min(axis=0)
    best = int(np.argmin(widths))
    return float(widths[best]), float(turns[best]) % 360.0


_narrowest: Memory[tuple[float, float]] = Memory(4000)


def _slants(outlines: NDArray[np.object_]) -> list[float]:
    """Return the turn that levels each outline's narrowest rectangle; 0 where little is won."""
    boxes = shapely.oriented_envelope(outlines)
    around = shapely.area(shapely.envelope(outlines))
    is_worth = shapely.area(boxes) < _SLANT_WORTH * around
    angles = []
    for box, worth in zip(boxes, is_worth, strict=True):
        if not worth:
            angles.append(0.0)
            continue
        (x0, y0), (x1, y1) = box.exterior.coords[:2]
        angles.append(-math.degrees(math.atan2(y1 - y0, x1 - x0)) % 90.0)
    return angles


def _reach(polygon: Polygon) -> float:
    """Return a length that a polygon is no wider than, however turned."""
    x0, y0, x1, y1 = polygon.bounds
    return math.hypot(x1 - x0, y1 - y0)


def _width_at(polygon: Polygon, turn_deg: float) -> float:
    """Return the width across the roll at one turn."""
    turn = math.radians(turn_deg)
    across = shapely.get_coordinates(polygon) @ (math.sin(turn), math.cos(turn))
    return float(across.max() - across.min())

"""Where numbers in discs stand on a panel: apart from each other, from marks and from its rim.

A disc keeps all others off its surroundings. Only what is near a place is looked at, so that
many hundred discs are placed as readily as a few.
"""

import math
from collections.abc import Hashable

import shapely
from shapely import Point, Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from core.write.label_room import inner_point, roomy_point

_APART = 1.1
"""How far discs stay from other things, in radii."""


class BadgeWall:
    """A panel on which discs are hung one after the other.

    Args:
        outline: where discs should stay inside.
        radius_mm: of all discs.
    """

    def __init__(self, outline: BaseGeometry, radius_mm: float) -> None:
        self._margin = _APART * radius_mm
        self._roomy = outline.buffer(-self._margin)
        disc = Point(0, 0).buffer(radius_mm, quad_segs=4)
        self._kept_by_disc = disc.buffer(self._margin, quad_segs=4)
        self._kept: list[BaseGeometry] = []
        self._free: dict[Hashable, tuple[BaseGeometry, int]] = {}

    def keep_off(self, area: BaseGeometry) -> None:
        """Let no disc come near an area."""
        self._kept.append(area.buffer(self._margin, quad_segs=4))

    def hang(self, area: BaseGeometry, name: Hashable) -> tuple[float, float]:
        """Return the best point of an area for a disc, and keep others off it.

        It is the roomiest point of what is free of other discs and marks and where a disc stays
        inside the panel; when there is no such place, of what comes nearest to that.

        Args:
            area: where the disc belongs.
            name: the area's; several discs may hang on one.
        """
        free = self._free_of(area, name)
        spot = None
        for place in (free, area):
            inside = shapely.intersection(place, self._roomy)
            spot = _roomiest(inside) or (_roomiest(free) if place is free else None)
            if spot is not None:
                break
        if spot is None:
            spot = roomy_point(max(shapely.get_parts(area), key=lambda part: part.area))
        self._kept.append(translate(self._kept_by_disc, *spot))
        return spot

    def _free_of(self, area: BaseGeometry, name: Hashable) -> BaseGeometry:
        """Return an area without what is kept free; what was taken off before stays off."""
        free, count = self._free.get(name, (area, 0))
        near = [kept for kept in self._kept[count:] if _is_near(kept.bounds, area.bounds)]
        if near:
            free = shapely.difference(free, shapely.union_all(near))
        self._free[name] = (free, len(self._kept))
        return free


Bounds = tuple[float, float, float, float]


def _is_near(one: Bounds, other: Bounds) -> bool:
    return (
        one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]
    )


def _roomiest(place: BaseGeometry) -> tuple[float, float] | None:
    """Return the roomiest point of a place; None when it has no area."""
    parts = [p for p in shapely.get_parts(place) if isinstance(p, Polygon) and p.area > 0]
    if len(parts) == 1:
        return roomy_point(parts[0])
    best, reach = None, 0.0
    for part in sorted(parts, key=lambda part: -part.area):
        if best is not None and math.sqrt(part.area / math.pi) <= reach:
            break  # no circle is larger than the part that it lies in
        spot, away = inner_point(part)
        if best is None or away > reach:
            best, reach = spot, away
    return best

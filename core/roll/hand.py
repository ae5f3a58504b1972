"""Laying a piece by hand: moved, turned, and what it runs into on its sheet."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import shapely

from core.document.film import Film
from core.document.job import Settings
from core.roll.model import FilmRolls, Item, ItemKey, Placement, Sheet, SheetPlan
from core.roll.stock import stock_sheets

_HAIR_MM = 1e-6
_OPEN_MM = 1e6
"""Stands in for the length of film that is as long as it must be."""
_FULL_TURN = 360.0


@dataclass(frozen=True, slots=True)
class Touch:
    """What a piece runs into where it is held.

    Attributes:
        is_off_film: it does not lie on usable film.
        pinned: pieces nearer than the gap that stay where they are.
        loose: those that would make room for it.
    """

    is_off_film: bool
    pinned: tuple[ItemKey, ...]
    loose: tuple[ItemKey, ...]

    @property
    def is_lawful(self) -> bool:
        """Whether it may be laid down there: all else is laid around it."""
        return not self.is_off_film and not self.pinned


def with_unused(rolls: FilmRolls, film: Film, settings: Settings) -> FilmRolls:
    """Return a film's rolls with the sheets in stock on which nothing lies yet behind them."""
    known = {plan.sheet.id for plan in rolls.sheets}
    unused = tuple(
        SheetPlan(sheet, settings.gap_mm, (), 0.0, "")
        for sheet in stock_sheets(film, settings)
        if sheet.id not in known
    )
    return replace(rolls, sheets=(*rolls.sheets, *unused)) if unused else rolls


def moved(placement: Placement, dx_mm: float, dy_mm: float) -> Placement:
    """Return a placement moved along and across its sheet."""
    return replace(placement, dx_mm=placement.dx_mm + dx_mm, dy_mm=placement.dy_mm + dy_mm)


def turned(placement: Placement, by_deg: float) -> Placement:
    """Return a placement turned about its middle, as far as its grain allows.

    Args:
        placement: to be turned.
        by_deg: wished turn, counter-clockwise; where the grain allows some angles only, the
            next one in that direction is taken.
    """
    angle = _next_angle(placement.item, placement.angle_deg, by_deg)
    about = _middle(placement)
    fresh = replace(placement, angle_deg=angle)
    now = _middle(fresh)
    return moved(fresh, about[0] - now[0], about[1] - now[1])


def slid_onto_film(placement: Placement, sheet: Sheet, reach_mm: float) -> Placement:
    """Return a placement moved to the edge of the usable film where it stands off it a little.

    Args:
        placement: where the piece is held.
        sheet: under it.
        reach_mm: it is moved by no more than this along or across, and drawn to an edge from
            as far within.
    """
    x0, y0, x1, y1 = placement.polygon.bounds
    left, low, right, high = sheet.usable(_OPEN_MM).bounds
    dx = _to_edge(x0, x1, left, right, reach_mm)
    dy = _to_edge(y0, y1, low, high, reach_mm)
    return moved(placement, dx, dy) if dx or dy else placement


def touch_of(
    placement: Placement,
    sheet: Sheet,
    others: Iterable[Placement],
    pinned: frozenset[ItemKey],
    gap_mm: float,
) -> Touch:
    """Return what a piece runs into.

    Args:
        placement: where it is held.
        sheet: under it.
        others: what lies on the sheet; the piece itself is passed over.
        pinned: which of these stay.
        gap_mm: kept between pieces.
    """
    shape = placement.polygon
    near = [
        other.item.key
        for other in others
        if other.item.key != placement.item.key and _is_near(shape, other.polygon, gap_mm)
    ]
    free = sheet.free(_OPEN_MM).buffer(_HAIR_MM)
    return Touch(
        is_off_film=not free.covers(shape),
        pinned=tuple(key for key in near if key in pinned),
        loose=tuple(key for key in near if key not in pinned),
    )


def _is_near(a: shapely.Polygon, b: shapely.Polygon, gap_mm: float) -> bool:
    if gap_mm > 2 * _HAIR_MM:
        return bool(shapely.dwithin(a, b, gap_mm - _HAIR_MM))
    return bool(a.intersection(b).area > _HAIR_MM)


def _next_angle(item: Item, angle_deg: float, by_deg: float) -> float:
    if item.angles_deg is None:
        return (angle_deg + by_deg) % _FULL_TURN
    way = math.copysign(1.0, by_deg)
    steps = sorted(
        ((a - angle_deg) * way % _FULL_TURN, a % _FULL_TURN) for a in item.angles_deg
    )
    further = [a for step, a in steps if _HAIR_MM < step < _FULL_TURN - _HAIR_MM]
    return further[0] if further else angle_deg


def _middle(placement: Placement) -> tuple[float, float]:
    x0, y0, x1, y1 = placement.polygon.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def _to_edge(start: float, end: float, low: float, high: float, reach: float) -> float:
    """Return the shift along one axis that brings a stretch to the nearer edge in reach."""
    shifts = [shift for shift in (low - start, high - end) if abs(shift) <= reach]
    return min(shifts, key=abs, default=0.0)

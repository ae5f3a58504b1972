"""A layout of one sheet, and the room it leaves."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from core.roll.model import Item, Placement, Sheet, SheetPlan
from core.roll.turns import fits_across


@dataclass(frozen=True, slots=True)
class Layout:
    """What an engine laid on one sheet.

    Attributes:
        left: items that found no room.
        length_mm: of the usable part, from its start to the farthest item.
        engine: what laid it out.
        least_mm: a length that nothing beats, where the engine knows one.
    """

    placements: tuple[Placement, ...]
    left: tuple[Item, ...]
    length_mm: float
    engine: str = "quick"
    least_mm: float = 0.0

    @property
    def rank(self) -> tuple[float, float]:
        """The lower the better: area left over first, then length."""
        return round(sum(i.polygon.area for i in self.left), 3), self.length_mm


def usable_size(sheet: Sheet) -> tuple[float, float]:
    """Return usable length (infinite for film to buy) and width; 0 when margins eat it all."""
    ends = sheet.start_mm + sheet.end_mm
    length = math.inf if sheet.length_mm is None else sheet.length_mm - ends
    return max(length, 0.0), max(sheet.width_mm - 2 * sheet.margin_mm, 0.0)


def split_by_room(
    items: Sequence[Item], length_mm: float, width_mm: float
) -> tuple[list[Item], tuple[Item, ...]]:
    """Split items into those that go across the sheet at some turn, and those that never do."""
    has_room = length_mm > 0 and width_mm > 0
    fitting: list[Item] = []
    too_wide: list[Item] = []
    for item in items:
        fits = has_room and fits_across(item, width_mm)
        (fitting if fits else too_wide).append(item)
    return fitting, tuple(too_wide)


def sheet_plan(
    sheet: Sheet, gap_mm: float, placements: tuple[Placement, ...], engine: str
) -> SheetPlan:
    """Return the plan of a sheet, its used length measured on the placements."""
    reach = shapely.total_bounds([p.polygon for p in placements])[2] if placements else 0.0
    used = float(reach) + sheet.end_mm if placements else 0.0
    return SheetPlan(sheet, gap_mm, placements, used, engine)

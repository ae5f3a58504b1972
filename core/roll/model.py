"""The words of a roll plan: items, sheets, placements.

A sheet lies with x along the roll from its free end and y across it. A placement turns an
item's polygon about the origin, then moves it.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from shapely import Polygon, box
from shapely.affinity import affine_transform

from core.ids import CopyId, FilmId, PieceId, StockId


@dataclass(frozen=True, slots=True)
class Item:
    """One try of one piece, to be placed.

    Attributes:
        polygon: the piece's cut shape in its panel's frame (mirrored already where the panel
            is).
        angles_deg: the turns its grain allows, or None when it may lie any way.
    """

    piece: PieceId
    attempt: int
    panel: CopyId
    label: str
    polygon: Polygon
    angles_deg: tuple[float, ...] | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One piece of stock of a film.

    Attributes:
        id: stock id, or ``buy`` for film that is still to be bought.
        kind: "roll" or "offcut".
        length_mm: None for the film to buy, which is as long as it must be.
        margin_mm: kept clear along all edges.
    """

    id: StockId
    kind: str
    width_mm: float
    length_mm: float | None
    margin_mm: float

    def usable(self, length_mm: float | None = None) -> Polygon:
        """Return the rectangle that may be used; ``length_mm`` stands in for an open length."""
        length = self.length_mm if self.length_mm is not None else (length_mm or 0.0)
        m = self.margin_mm
        return box(m, m, max(length - m, m), max(self.width_mm - m, m))


@dataclass(frozen=True)
class Placement:
    """Where one item lies on its sheet."""

    item: Item
    angle_deg: float
    dx_mm: float
    dy_mm: float

    @cached_property
    def polygon(self) -> Polygon:
        """The item's polygon on the sheet."""
        return affine_transform(self.item.polygon, self.matrix)

    @cached_property
    def matrix(self) -> tuple[float, float, float, float, float, float]:
        """The placement as shapely's (a, b, d, e, x, y)."""
        c, s = _cos_sin(self.angle_deg)
        return (c, -s, s, c, self.dx_mm, self.dy_mm)


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """What lies on one sheet.

    Attributes:
        used_length_mm: from the sheet's end to the farthest piece, margin included.
        engine: what laid it out: "quick", "strip" or "kept".
    """

    sheet: Sheet
    gap_mm: float
    placements: tuple[Placement, ...]
    used_length_mm: float
    engine: str

    @property
    def utilisation(self) -> float:
        """Area of the pieces over the used length times the sheet's width; 0 when empty."""
        used = self.used_length_mm * self.sheet.width_mm
        return sum(p.item.polygon.area for p in self.placements) / used if used else 0.0


@dataclass(frozen=True, slots=True)
class Missing:
    """Film that the stock does not give.

    Attributes:
        length_mm: how much more of the roll is needed for pieces that fit on no sheet in stock;
            None for a piece that fits on no roll of the film at all.
    """

    text: str
    length_mm: float | None = None
    items: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class FilmRolls:
    """One film's sheets with what lies on them, stock first, then what is to be bought."""

    film: FilmId
    sheets: tuple[SheetPlan, ...]
    missing: tuple[Missing, ...]

    @property
    def used_length_mm(self) -> float:
        """Length used of rolls, those to be bought included; offcuts are not counted."""
        return sum(s.used_length_mm for s in self.sheets if s.sheet.kind == "roll")


@dataclass(frozen=True, slots=True)
class RollPlan:
    """All films of one job plan."""

    films: tuple[FilmRolls, ...]


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine, exact at quarter turns."""
    quarter, rest = divmod(angle_deg % 360.0, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter)]
    return math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))

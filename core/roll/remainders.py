"""What is left of a sheet when its pieces are cut: what stays on the roll, offcuts, waste.

What lies between and beside the pieces is worth keeping where a disc of a given breadth fits;
the rest is waste. Pieces, waste and what is kept add up to the sheet.
"""

from dataclasses import dataclass

import shapely
from shapely import Polygon
from shapely.affinity import translate

from core.document.film import Offcut
from core.ids import StockId
from core.roll.model import SheetPlan
from core.roll.stock import film_of, stock_area_mm2

_SIMPLE_MM = 1.0
"""Outlines of offcuts are drawn with fewer points, inwards, so nothing is promised twice."""
_MITRE = 2.0
_HAIR = 1e-3
_PLAIN_SHARE = 1e-6


@dataclass(frozen=True, slots=True)
class Remains:
    """The film of one sheet, accounted for.

    Attributes:
        stock_mm2: all film of the sheet; of a roll to buy, what is bought.
        pieces_mm2, retakes_mm2: what is cut out of it.
        roll_left_mm: length that stays on the roll; 0 for an offcut.
        roll_left_mm2: its area.
        kept: what is worth keeping, in the sheet's frame, largest first.
    """

    sheet: StockId
    stock_mm2: float
    pieces_mm2: float
    retakes_mm2: float
    roll_left_mm: float
    roll_left_mm2: float
    kept: tuple[Polygon, ...]

    @property
    def kept_mm2(self) -> float:
        """Area of the offcuts that are kept."""
        return sum(p.area for p in self.kept)

    @property
    def waste_mm2(self) -> float:
        """Area that is neither piece nor kept nor still on the roll."""
        given = self.pieces_mm2 + self.retakes_mm2 + self.roll_left_mm2 + self.kept_mm2
        return self.stock_mm2 - given

    @property
    def consumed_mm2(self) -> float:
        """Area that is gone when all is cut: pieces, retakes and waste."""
        return self.stock_mm2 - self.roll_left_mm2 - self.kept_mm2


def remains_of(
    plan: SheetPlan, keep_from_mm: float, *, has_retakes: bool = True, bought_mm: float = 0.0
) -> Remains:
    """Return what is left of a sheet after its pieces are cut.

    Args:
        plan: the sheet with what lies on it.
        keep_from_mm: what is narrower than this, or on a roll shorter, is waste.
        has_retakes: whether the retakes are cut too; else their film stays.
        bought_mm: length of a roll to buy; at least what is used counts.
    """
    sheet = plan.sheet
    used = plan.used_length_mm if has_retakes else plan.job_length_mm
    length = max(bought_mm, used) if sheet.length_mm is None else sheet.length_mm
    cut = [p for p in plan.placements if has_retakes or p.item.attempt == 1]
    is_roll = sheet.kind == "roll"
    end = min(used, length) if is_roll and length - used >= keep_from_mm else length
    pieces = sum(p.item.polygon.area for p in cut if p.item.attempt == 1)
    retakes = sum(p.item.polygon.area for p in cut if p.item.attempt > 1)
    rest = shapely.difference(
        film_of(sheet, end), shapely.union_all([*(p.polygon for p in cut), *sheet.blocked])
    )
    return Remains(
        sheet=sheet.id,
        stock_mm2=stock_area_mm2(sheet, length),
        pieces_mm2=pieces,
        retakes_mm2=retakes,
        roll_left_mm=length - end,
        roll_left_mm2=(length - end) * sheet.width_mm,
        kept=useful_parts(rest, keep_from_mm) if end > 0 else (),
    )


def useful_parts(area: shapely.Geometry, breadth_mm: float) -> tuple[Polygon, ...]:
    """Return the parts of an area into which a disc of a breadth fits, largest first.

    They lie within the area and do not overlie each other. Necks narrower than the breadth part
    an area in two.

    Degenerate input: an empty area gives nothing.
    """
    half = breadth_mm / 2 * (1 - _HAIR)
    cores = shapely.get_parts(
        shapely.buffer(area, -half, join_style="mitre", mitre_limit=_MITRE)
    )
    found: list[Polygon] = []
    left = area
    for core in sorted(cores, key=lambda c: -c.area):
        grown = core.buffer(half, join_style="mitre", mitre_limit=_MITRE)
        part = _largest(shapely.intersection(grown, left))
        if part is None:
            continue
        simple = _fewer_points(part)
        if simple is not None and simple.area >= breadth_mm**2:
            found.append(simple)
            left = shapely.difference(left, simple)
    return tuple(sorted(found, key=lambda p: -p.area))


def offcut_of(shape: Polygon, stock_id: str, note: str = "") -> Offcut:
    """Return a shape of film as an offcut: a plain rectangle where it is one."""
    x0, y0, x1, y1 = shape.bounds
    length, width = x1 - x0, y1 - y0
    if length * width - shape.area <= _PLAIN_SHARE * length * width:
        return Offcut(id=stock_id, length_mm=length, width_mm=width, note=note)
    moved = translate(shape, -x0, -y0)
    outline, *openings = (
        tuple((float(x), float(y)) for x, y in ring.coords[:-1])
        for ring in (moved.exterior, *moved.interiors)
    )
    return Offcut(
        id=stock_id,
        length_mm=length,
        width_mm=width,
        outline=outline,
        openings=tuple(openings),
        note=note,
    )


def _fewer_points(part: Polygon) -> Polygon | None:
    """Return an outline with fewer points that lies within the part."""
    if shapely.get_num_coordinates(part) <= 9:
        return part
    inner = _largest(part.buffer(-_SIMPLE_MM, join_style="mitre", mitre_limit=_MITRE))
    simple = None if inner is None else _largest(inner.simplify(_SIMPLE_MM * 0.99))
    return simple if simple is not None and part.covers(simple) else part


def _largest(shape: shapely.Geometry) -> Polygon | None:
    parts = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon) and p.area > 0]
    return max(parts, key=lambda p: p.area, default=None)

"""A film's stock as sheets: what of each roll and offcut may be used."""

import shapely
from shapely import Polygon, box

from core.document.film import DamagedStretch, Film, Offcut, Roll, Stock
from core.document.job import Settings
from core.ids import StockId
from core.roll.model import Sheet


def stock_sheets(film: Film, settings: Settings) -> tuple[Sheet, ...]:
    """Return the film's stock as sheets; what can hold nothing is left out."""
    return tuple(sheet_of(s, film, settings) for s in film.stock if stock_fault(s) is None)


def sheet_of(stock: Stock, film: Film, settings: Settings) -> Sheet:
    """Return one roll or offcut as a sheet; a roll is as wide as its film unless it says so."""
    is_roll = isinstance(stock, Roll)
    width = stock_width_mm(stock, film)
    return Sheet(
        id=StockId(stock.id),
        kind="roll" if is_roll else "offcut",
        width_mm=width,
        length_mm=stock.length_mm,
        margin_mm=film.edge_margin_mm,
        lead_mm=settings.lead_mm if is_roll else 0.0,
        trail_mm=settings.trail_mm if is_roll else 0.0,
        section_mm=settings.longest_feed_mm if is_roll else None,
        outline=None if isinstance(stock, Roll) else outline_of(stock),
        blocked=tuple(_area(d, width) for d in stock.damaged if d.start_mm < stock.length_mm),
    )


def sheet_to_buy(stock_id: StockId, film: Film, settings: Settings) -> Sheet:
    """Return the open roll that stands for film still to be bought."""
    return Sheet(
        id=stock_id,
        kind="roll",
        width_mm=film.roll_width_mm,
        length_mm=None,
        margin_mm=film.edge_margin_mm,
        lead_mm=settings.lead_mm,
        trail_mm=settings.trail_mm,
        section_mm=settings.longest_feed_mm,
    )


def stock_width_mm(stock: Stock, film: Film) -> float:
    """Return how wide a roll or offcut is."""
    return stock.width_mm if stock.width_mm is not None else film.roll_width_mm


def outline_of(offcut: Offcut) -> Polygon | None:
    """Return an offcut's own outline with its openings; None for a plain rectangle."""
    if offcut.outline is None:
        return None
    return Polygon(offcut.outline, offcut.openings)


def stock_fault(stock: Stock) -> str | None:
    """Say why a roll or offcut cannot be used at all, or None when it can."""
    if isinstance(stock, Roll) or stock.outline is None:
        return None
    shape = Polygon(stock.outline, stock.openings)
    if not shape.is_valid:
        return "its outline crosses or touches itself"
    return None if shape.area > 0 else "its outline has no area"


def stock_area_mm2(sheet: Sheet, length_mm: float | None = None) -> float:
    """Return the film that there is of a sheet, damage included.

    Args:
        sheet: a roll, offcut, or film to buy.
        length_mm: how much of a roll counts; None for all of it.
    """
    if sheet.outline is not None:
        return float(sheet.outline.area)
    length = sheet.length_mm if length_mm is None else length_mm
    return (length or 0.0) * sheet.width_mm


def film_of(sheet: Sheet, length_mm: float | None = None) -> Polygon:
    """Return the film of a sheet as a shape, damage and margins included."""
    if sheet.outline is not None:
        return sheet.outline
    length = sheet.length_mm if length_mm is None else length_mm
    return box(0.0, 0.0, length or 0.0, sheet.width_mm)


def _area(damage: DamagedStretch, width_mm: float) -> Polygon:
    high = width_mm if damage.high_mm is None else damage.high_mm
    ring = box(damage.start_mm, damage.low_mm or 0.0, damage.end_mm, high)
    return shapely.orient_polygons(ring)

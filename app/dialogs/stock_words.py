"""How a roll or an offcut is named in lists."""

from core.document.film import Offcut, Roll, Stock
from core.roll.wording import length_on_hand
from core.units import Units, format_length


def stock_text(stock: Stock, units: Units, roll_width_mm: float) -> str:
    """Return what a roll or offcut is, with its size.

    >>> stock_text(Roll(id="r1", length_mm=4200.0, is_opened=True), Units.MM, 1520.0)
    'Opened roll, 4.20 m × 1520 mm'
    """
    width = stock.width_mm if stock.width_mm is not None else roll_width_mm
    across = format_length(width, units)
    damage = ", damaged" if stock.damaged else ""
    if isinstance(stock, Roll):
        kind = "Opened roll" if stock.is_opened else "Roll"
        return f"{kind}, {length_on_hand(stock.length_mm, units)} × {across}{damage}"
    along = format_length(stock.length_mm, units, decimals=1 if units is Units.IN else 0)
    across = format_length(width, units, decimals=1 if units is Units.IN else 0)
    return f"{kind_of(stock)}, {along} × {across}{damage}"


def kind_of(stock: Stock) -> str:
    """Return what a roll or offcut is.

    >>> kind_of(Roll(id="r1", length_mm=4200.0))
    'Roll'
    """
    if isinstance(stock, Offcut):
        return "Offcut" if stock.outline is None else "Shaped offcut"
    return "Opened roll" if stock.is_opened else "Roll"

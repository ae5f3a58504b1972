"""Lengths and sheets of film as findings tell them: runs in metres or inches."""

import math
from collections.abc import Callable

from core.roll.model import Sheet
from core.units import MM_PER_INCH, Units, format_length


def length_to_buy(length_mm: float, units: Units) -> str:
    """Return a length rounded up, to whole centimetres or tenths of an inch.

    >>> length_to_buy(2341.0, Units.MM), length_to_buy(2341.0, Units.IN)
    ('2.35 m', '92.2 in')
    """
    return _run(length_mm, units, math.ceil, -1e-9)


def length_on_hand(length_mm: float, units: Units) -> str:
    """Return a length rounded down, to whole centimetres or tenths of an inch.

    >>> length_on_hand(2349.0, Units.CM)
    '2.34 m'
    """
    return _run(length_mm, units, math.floor, 1e-9)


def width_text(width_mm: float, units: Units) -> str:
    """Return a width in the job's units, no finer than a tape measure shows."""
    return format_length(width_mm, units, decimals=1 if units is not Units.MM else 0)


def sheet_name(sheet: Sheet) -> str:
    """Return what a roll or offcut is called: its id, or that it is still to be bought."""
    return "film to buy" if sheet.length_mm is None else str(sheet.id)


def _run(length_mm: float, units: Units, to_whole: Callable[[float], int], hair: float) -> str:
    if units is Units.IN:
        return f"{to_whole(length_mm * 10 / float(MM_PER_INCH) + hair) / 10:.1f} in"
    return f"{to_whole(length_mm / 10 + hair) / 100:.2f} m"

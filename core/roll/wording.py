"""Lengths and sheets of film as they are told everywhere: runs in metres or inches.

There is one rule. What is taken or to be bought is rounded up, what is there or left over is
rounded down, to whole centimetres or tenths of an inch; a total is the sum of what is told of
its parts (``told_mm``).
"""

import math
from collections.abc import Callable, Iterable

from core.roll.model import Item, Sheet
from core.units import MM_PER_INCH, Units, format_length

_HAIR = 1e-6
_STEP_MM = {Units.MM: 10.0, Units.CM: 10.0, Units.IN: float(MM_PER_INCH) / 10}


def length_to_buy(length_mm: float, units: Units) -> str:
    """Return a length that is taken or to be bought: never less than is needed.

    >>> length_to_buy(2341.0, Units.MM), length_to_buy(2341.0, Units.IN)
    ('2.35 m', '92.2 in')
    """
    return _run(length_mm, units, math.ceil, -_HAIR)


def told_mm(lengths_mm: Iterable[float], units: Units) -> float:
    """Return a total in mm: the sum of lengths, each rounded up as it is told alone.

    >>> length_to_buy(told_mm((2431.4, 779.7, 1215.6), Units.MM), Units.MM)
    '4.44 m'
    """
    step = _STEP_MM[units]
    return sum(math.ceil(length / step - _HAIR) for length in lengths_mm) * step


def length_on_hand(length_mm: float, units: Units) -> str:
    """Return a length that is there or left over: never more than there is.

    >>> length_on_hand(2349.0, Units.CM)
    '2.34 m'
    """
    return _run(length_mm, units, math.floor, _HAIR)


def width_text(width_mm: float, units: Units) -> str:
    """Return a width in the job's units, no finer than a tape measure shows."""
    return format_length(width_mm, units, decimals=1 if units is not Units.MM else 0)


def sheet_name(sheet: Sheet) -> str:
    """Return what a roll or offcut is called: its id, or that it is still to be bought."""
    return "film to buy" if sheet.length_mm is None else str(sheet.id)


def try_name(item: Item) -> str:
    """Return what one try of a piece is called."""
    return f"{item.label}, try {item.attempt}"


def _run(length_mm: float, units: Units, to_whole: Callable[[float], int], hair: float) -> str:
    steps = to_whole(length_mm / _STEP_MM[units] + hair)
    return f"{steps / 10:.1f} in" if units is Units.IN else f"{steps / 100:.2f} m"

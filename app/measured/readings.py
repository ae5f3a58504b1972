"""Readings as people write them: one length, or several of the same, parted by semicolons."""

from core.document.job import Units
from core.errors import InputError
from core.units import format_length, parse_length

MOST_REPEATS = 12


def parse_readings(text: str, units: Units, *, may_be_zero: bool = False) -> tuple[float, ...]:
    """Return the lengths in mm that were typed for one reading; none for an empty text.

    Raises:
        InputError: a part is not a length, is out of range, or there are too many.

    >>> parse_readings("412; 414", Units.MM)
    (412.0, 414.0)
    """
    parts = [part for part in text.split(";") if part.strip()]
    values = tuple(parse_length(part, units) for part in parts)
    if any(v < 0 or (v == 0 and not may_be_zero) for v in values):
        what = "not below" if may_be_zero else "above"
        raise InputError(f"A reading is {what} zero.", mend="Leave it empty until it is taken.")
    if len(values) > MOST_REPEATS:
        raise InputError(f"At most {MOST_REPEATS} repeats are taken.", mend="Drop some.")
    return values


def format_readings(values: tuple[float, ...], units: Units) -> str:
    """Return readings as they are typed, without units.

    >>> format_readings((412.0, 414.5), Units.MM)
    '412; 414.5'
    """
    return "; ".join(format_length(v, units).rpartition(" ")[0] for v in values)

"""Damaged stretches of film as a person writes them: ``1200–1300; 2000–2050 across 0–300``."""

import re

from core.document.film import DamagedStretch
from core.errors import InputError
from core.units import Units, format_length, parse_length

_TO = re.compile(r"\s*(?:–|—|-|\bto\b)\s*")
_ACROSS = re.compile(r"\s*(?:\bacross\b|×|\bx\b)\s*")
_SLACK_MM = 0.5
_MEND = "Write it like 1200–1300, or 1200–1300 across 0–300."


def damage_text(damaged: tuple[DamagedStretch, ...], units: Units) -> str:
    """Return damaged stretches as text.

    >>> damage_text((DamagedStretch(start_mm=1200, end_mm=1300, high_mm=300),), Units.MM)
    '1200 mm–1300 mm across 0 mm–300 mm'
    """
    return "; ".join(_one_text(d, units) for d in damaged)


def read_damage(
    text: str, units: Units, length_mm: float, width_mm: float
) -> tuple[DamagedStretch, ...]:
    """Return the damaged stretches that a text names, of film so long and wide.

    Raises:
        InputError: says what was not understood, or lies beyond the film.

    >>> read_damage("2 m to 2.1 m", Units.MM, 5000.0, 1000.0)[0].end_mm
    2100.0
    """
    parts = [part.strip() for part in text.split(";") if part.strip()]
    return tuple(_read_one(part, units, length_mm, width_mm) for part in parts)


def _one_text(damage: DamagedStretch, units: Units) -> str:
    along = _span(damage.start_mm, damage.end_mm, units)
    if damage.low_mm is None and damage.high_mm is None:
        return along
    high = None if damage.high_mm is None else damage.high_mm
    return f"{along} across {_span(damage.low_mm or 0.0, high, units)}"


def _span(start: float, end: float | None, units: Units) -> str:
    last = "edge" if end is None else format_length(end, units)
    return f"{format_length(start, units)}–{last}"


def _read_one(part: str, units: Units, length_mm: float, width_mm: float) -> DamagedStretch:
    along, *across = _ACROSS.split(part)
    if len(across) > 1:
        raise InputError(f'"{part}" is not understood.', mend=_MEND)
    start, end = _read_span(along, units, None)
    if end > length_mm + _SLACK_MM:
        long = format_length(length_mm, units)
        raise InputError(
            f'"{along.strip()}" lies beyond the film: it is {long} long.',
            mend=f"Measure from the free end, to {long} at most.",
        )
    if not across:
        return DamagedStretch(start_mm=start, end_mm=end)
    low, high = _read_span(across[0], units, width_mm)
    if high > width_mm + _SLACK_MM:
        wide = format_length(width_mm, units)
        raise InputError(
            f'"{across[0].strip()}" lies beyond the film: it is {wide} wide.',
            mend=f'Measure from one edge, to {wide} at most; "edge" is the far one.',
        )
    return DamagedStretch(
        start_mm=start, end_mm=end, low_mm=low, high_mm=None if high >= width_mm else high
    )


def _read_span(text: str, units: Units, edge_mm: float | None) -> tuple[float, float]:
    ends = _TO.split(text.strip())
    if len(ends) != 2:
        raise InputError(f'"{text.strip() or "…"}" is no stretch.', mend=_MEND)
    start = parse_length(ends[0], units)
    is_edge = edge_mm is not None and ends[1].strip() == "edge"
    end = edge_mm if is_edge and edge_mm is not None else parse_length(ends[1], units)
    if not 0 <= start < end:
        raise InputError(f'"{text.strip()}" ends where it starts, or before.', mend=_MEND)
    return start, end

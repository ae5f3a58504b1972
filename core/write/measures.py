"""Areas, and lengths as captions give them; exact lengths are core.units' work."""

from core.document.job import Units
from core.units import format_length

_SQUARE_FOOT_MM2 = 304.8**2


def area_text(area_mm2: float, units: Units) -> str:
    """Return an area with its unit: square metres, or square feet where inches are shown.

    >>> area_text(2_500_000, Units.MM)
    '2.50 m²'
    """
    if units is Units.IN:
        return f"{area_mm2 / _SQUARE_FOOT_MM2:.1f} sq ft"
    return f"{area_mm2 / 1e6:.2f} m²"


def about_text(length_mm: float, units: Units) -> str:
    """Return a length as a caption gives it: inches to a tenth.

    >>> about_text(980, Units.IN), about_text(980.5, Units.MM)
    ('38.6 in', '980.5 mm')
    """
    return format_length(length_mm, units, decimals=1 if units is Units.IN else None)


def size_text(width_mm: float, height_mm: float, units: Units) -> str:
    """Return a size with one unit.

    >>> size_text(612, 418, Units.MM)
    '612 × 418 mm'
    """
    width, height = (about_text(v, units) for v in (width_mm, height_mm))
    number, _, name = width.rpartition(" ")
    return f"{number} × {height}" if number and height.endswith(name) else f"{width} × {height}"

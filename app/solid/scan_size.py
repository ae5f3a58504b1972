"""Whether a scan's unit can be right, by the size that it gives."""

import math

from core.shape.scanned import MAX_SIZE_MM

UNITS: tuple[tuple[str, float], ...] = (
    ("millimetres", 1.0),
    ("centimetres", 10.0),
    ("metres", 1000.0),
    ("inches", 25.4),
)
LEAST_MM = 15.0
"""Nothing smaller is covered with film."""
USUAL_MM = 1500.0
"""About what parts measure that film is laid on."""
FROM_M = 1000.0


def size_doubt(size: float, factor: float) -> str:
    """Return why a scan cannot be so large, with the unit that may be meant; "" if it can.

    Args:
        size: the longest side of the box round it, in the file's numbers.
        factor: millimetres for each of them.
    """
    size_mm = size * factor
    if not size > 0 or LEAST_MM <= size_mm <= MAX_SIZE_MM:
        return ""
    large = size_mm >= FROM_M
    words = f"{size_mm / FROM_M:,.0f} m" if large else f"{size_mm:.2g} mm"
    unit = next((f" in {name}" for name, k in UNITS if math.isclose(k, factor)), "")
    likely = min(UNITS, key=lambda u: abs(math.log(size * u[1] / USUAL_MM)))
    return f"{words} wide{unit}: is the file in {likely[0]}?"

"""Sheets of paper: their sizes, and what of them a printer reaches.

Source: ISO 216 (A sizes); ANSI/ASME Y14.1 (Letter is its A, 8 1/2 by 11 inches, Tabloid its B,
11 by 17 inches).
"""

from dataclasses import dataclass
from enum import StrEnum

from core.errors import ExportFailed

MARGIN_MM = 10.0
"""Kept free at the left, right and upper edge: more than home printers need (common practice,
no source)."""
FOOT_MM = 20.0
"""Kept free for the lines at the foot of each page, its margin included."""
LONGEST_PAGE_MM = 5080.0
"""A PDF page has at most 14,400 points a side (ISO 32000-1, annex C)."""


class Paper(StrEnum):
    """What is printed on; ``LONG`` is one page as large as it must be."""

    A4 = "A4"
    A3 = "A3"
    LETTER = "Letter"
    TABLOID = "Tabloid"
    LONG = "long"


SIZES_MM = {
    Paper.A4: (210.0, 297.0),
    Paper.A3: (297.0, 420.0),
    Paper.LETTER: (215.9, 279.4),
    Paper.TABLOID: (279.4, 431.8),
}
"""Width and height upright."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page of paper and the window on it in which is drawn.

    Attributes:
        window: lower left and upper right corner, in mm from the page's lower left corner.
    """

    width_mm: float
    height_mm: float

    @property
    def window(self) -> tuple[float, float, float, float]:
        """What may be drawn on, above the foot."""
        return (MARGIN_MM, FOOT_MM, self.width_mm - MARGIN_MM, self.height_mm - MARGIN_MM)

    @property
    def window_size(self) -> tuple[float, float]:
        """Width and height of the window."""
        x0, y0, x1, y1 = self.window
        return x1 - x0, y1 - y0


def upright(paper: Paper) -> Sheet:
    """Return a paper that has a size, upright."""
    return Sheet(*SIZES_MM[paper])


def on_its_side(paper: Paper) -> Sheet:
    """Return a paper that has a size, with its long side level."""
    width, height = SIZES_MM[paper]
    return Sheet(height, width)


def sheet_for_window(width_mm: float, height_mm: float, where: str = "") -> Sheet:
    """Return a sheet whose window has at least that size; ``where`` names what is on it.

    Raises:
        ExportFailed: it would be longer than a PDF page may be.
    """
    sheet = Sheet(width_mm + 2 * MARGIN_MM, height_mm + MARGIN_MM + FOOT_MM)
    if max(sheet.width_mm, sheet.height_mm) > LONGEST_PAGE_MM:
        longest = max(sheet.width_mm, sheet.height_mm) / 1000
        raise ExportFailed(
            f"One page would be {longest:.2f} m long; a PDF page may be 5.08 m.",
            where=where,
            mend="Choose a paper with several pages.",
        )
    return sheet

"""The marker board as a one-page PDF, true to size, with a line to check the printer by."""

import io
from typing import TYPE_CHECKING, Any

from core.errors import InputError
from core.read.photo_board_layout import (
    CHECK_LINE_MM,
    HEIGHT_MM,
    MARKER_MM,
    MARKERS_A_SHEET,
    SHEETS,
    SQUARE_MM,
    WIDTH_MM,
    dark_cells,
    light_cells,
    marker_dictionary,
)

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height in mm (ISO 216; ANSI/ASME Y14.1, 8 1/2 by 11 inches)."""
_TOP_MM = 12.0
_POINTS_MM = 72 / 25.4


def board_pdf(paper: str = "A4", sheet: int = 1) -> bytes:
    """Return the PDF of one sheet. The same sheet gives the same bytes.

    Args:
        paper: A4 or Letter; the board is the same on both.
        sheet: which of the four boards that can lie in one photo.

    Raises:
        InputError: no such paper or sheet.
    """
    if paper not in PAPERS or sheet not in SHEETS:
        raise InputError(
            f"There is no marker board {sheet} on {paper}.",
            mend="Choose a sheet from 1 to 4, on A4 or Letter.",
        )
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - heavy, seldom needed

    width, height = PAPERS[paper]
    buffer = io.BytesIO()
    page = Canvas(buffer, pagesize=(width * _POINTS_MM, height * _POINTS_MM), invariant=True)
    page.setTitle(f"Lapline marker board {sheet}, {paper}")
    page.setAuthor("")
    page.setViewerPreference("PrintScaling", "None")
    page.scale(_POINTS_MM, _POINTS_MM)  # all below is in mm
    left = (width - WIDTH_MM) / 2
    bottom = height - _TOP_MM - HEIGHT_MM
    _draw_board(page, sheet, left, bottom)
    _draw_foot(page, paper, sheet, (left, bottom))
    page.showPage()
    page.save()
    return buffer.getvalue()


def _draw_board(page: "Canvas", sheet: int, left: float, bottom: float) -> None:
    """Fill the black squares and the cells of the markers, as one path without seams."""
    page.setFillGray(0)
    path = page.beginPath()
    top = bottom + HEIGHT_MM
    for column, row in dark_cells():
        path.rect(left + column * SQUARE_MM, top - (row + 1) * SQUARE_MM, SQUARE_MM, SQUARE_MM)
    for k, (column, row) in enumerate(light_cells()):
        inset = (SQUARE_MM - MARKER_MM) / 2
        x = left + column * SQUARE_MM + inset
        y = top - row * SQUARE_MM - inset
        _add_marker(path, (sheet - 1) * MARKERS_A_SHEET + k, x, y)
    page.drawPath(path, stroke=0, fill=1)


def _add_marker(path: Any, marker: int, x: float, y: float) -> None:
    """Add a marker's black cells, joined along each row, by its upper left corner."""
    cells = marker_dictionary().markerSize + 2
    bits = marker_dictionary().generateImageMarker(marker, cells)
    side = MARKER_MM / cells
    for row in range(cells):
        column = 0
        while column < cells:
            run = column
            while run < cells and bits[row, run] < 128:
                run += 1
            if run > column:
                path.rect(x + column * side, y - (row + 1) * side, (run - column) * side, side)
            column = max(run, column + 1)


def _draw_foot(page: "Canvas", paper: str, sheet: int, corner: tuple[float, float]) -> None:
    """Draw the check line and what to do."""
    left, bottom = corner
    plain, bold = "Helvetica", "Helvetica-Bold"  # every PDF reader has them
    y = bottom - 11
    page.setStrokeGray(0)
    page.setLineWidth(0.2)
    page.line(left, y, left + CHECK_LINE_MM, y)
    for i in range(11):
        x = left + i * CHECK_LINE_MM / 10
        half = 2.5 if i in (0, 10) else 1.4 if i == 5 else 0.8
        page.line(x, y - half, x, y + half)
    page.setFillGray(0)
    page.setFont(bold, 3.6)
    page.drawString(left + CHECK_LINE_MM + 4, y - 0.2, "Check line: 100 mm")
    page.setFont(plain, 2.9)
    page.drawString(
        left + CHECK_LINE_MM + 4, y - 4.6, "Measure it. If it is not 100 mm, type its length"
    )
    page.drawString(
        left + CHECK_LINE_MM + 4, y - 8.2, "in Lapline where the board is looked for."
    )
    page.drawString(
        left,
        y - 8.2,
        "Print at 100 %, without fitting to the page. Lay it flat beside the part.",
    )
    page.setFont(bold, 2.9)
    page.drawRightString(
        left + WIDTH_MM, bottom - 4.2, f"Lapline marker board · sheet {sheet} of 4 · {paper}"
    )

"""Pages on the printer, at true size."""

from collections.abc import Iterable

from PySide6.QtCore import QMarginsF, QRectF, QSizeF
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter
from PySide6.QtPrintSupport import QPrinter

from core.errors import ExportFailed
from core.write.preview import Preview

MOST_DPI = 300
MM_PER_INCH = 25.4


def lay_pages(printer: QPrinter, preview: Preview, page: int) -> None:
    """Set the printer to a page's own paper, with nothing fitted to anything."""
    width, height = preview.sizes_mm[page]
    upright = QSizeF(min(width, height), max(width, height))
    size = QPageSize(
        upright, QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.FuzzyMatch
    )
    way = (
        QPageLayout.Orientation.Landscape
        if width > height
        else QPageLayout.Orientation.Portrait
    )
    printer.setFullPage(True)
    printer.setPageLayout(QPageLayout(size, way, QMarginsF(), QPageLayout.Unit.Millimeter))
    printer.setFullPage(True)


def print_pages(printer: QPrinter, preview: Preview, pages: Iterable[int]) -> None:
    """Print pages one after the other: a millimetre of them is one on paper.

    Raises:
        ExportFailed: when the printer does not take them.
    """
    wanted = list(pages)
    if not wanted:
        return
    lay_pages(printer, preview, wanted[0])
    painter = QPainter()
    if not painter.begin(printer):
        raise ExportFailed(
            "The printer does not take the pages.", mend="See that it is there and switched on."
        )
    try:
        for number, page in enumerate(wanted):
            if number:
                lay_pages(printer, preview, page)
                printer.newPage()
            _paint(painter, printer, preview, page)
    finally:
        painter.end()


def _paint(painter: QPainter, printer: QPrinter, preview: Preview, page: int) -> None:
    width, height = preview.sizes_mm[page]
    dots_mm = printer.resolution() / MM_PER_INCH
    scale = min(printer.resolution(), MOST_DPI) / MM_PER_INCH
    image = preview.render(page, scale, (0.0, 0.0, width, height))
    picture = QImage(
        image.pixels, image.width_px, image.height_px, image.stride,
        QImage.Format.Format_RGB32,
    )  # fmt: skip
    painter.drawImage(QRectF(0, 0, width * dots_mm, height * dots_mm), picture)

"""Pages on the printer, at true size."""

from collections.abc import Iterable

from PySide6.QtCore import QMarginsF, QRectF, QSizeF
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QDialog, QWidget

from app.handout.page_view import PageView
from app.messages import waiting
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


def ask_and_print(view: PageView, name: str, parent: QWidget) -> int:
    """Ask for a printer and print what is wished of a view; return how many pages went.

    Raises:
        ExportFailed: as ``print_pages``.
    """
    if view.preview is None:
        return 0
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setDocName(name)
    lay_pages(printer, view.preview, view.page)
    dialog = QPrintDialog(printer, parent)
    dialog.setOption(QPrintDialog.PrintDialogOption.PrintCurrentPage)
    dialog.setMinMax(1, view.page_count)
    if dialog.exec() != QDialog.DialogCode.Accepted:
        return 0
    pages = _wanted_pages(printer, view)
    with waiting():
        print_pages(printer, view.preview, pages)
    return len(pages)


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


def _wanted_pages(printer: QPrinter, view: PageView) -> list[int]:
    if printer.printRange() is QPrinter.PrintRange.CurrentPage:
        return [view.page]
    if printer.printRange() is QPrinter.PrintRange.PageRange:
        last = printer.toPage() or view.page_count
        return list(range(max(printer.fromPage(), 1) - 1, min(last, view.page_count)))
    return list(range(view.page_count))

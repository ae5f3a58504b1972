"""Drawings as the pages of a PDF, true to size, with the typeface embedded.

The same drawings give the same bytes: no clock, no random identifier. Viewers are told not to
fit a page to its paper.
"""

import io
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any

from core.write.drawing import Drawing, Look, Run, Shape, Text
from core.write.typeface import CAP_HEIGHT_EM, font_file, settable

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

POINTS_MM = 72 / 25.4
REGULAR, BOLD = "Inter", "Inter-SemiBold"


def drawings_to_pdf(title: str, pages: Iterable[Drawing]) -> bytes:
    """Return a PDF with a page for each drawing, as large as its extent.

    A page whose drawing has another name than the one before is entered in the viewer's list of
    contents under it.
    """
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - heavy, seldom needed

    _use_typeface()
    buffer = io.BytesIO()
    canvas = Canvas(buffer, invariant=True, initialFontName=REGULAR)
    _set_up(canvas, title)
    last = ""
    for number, page in enumerate(pages):
        x0, y0, x1, y1 = page.extent
        canvas.setPageSize(((x1 - x0) * POINTS_MM, (y1 - y0) * POINTS_MM))
        if page.name != last:
            key, last = f"page{number}", page.name
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(settable(page.name), key)
        _draw(canvas, page)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


@cache
def _use_typeface() -> None:
    """Tell the PDF library of the bundled typeface; once is enough."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415

    pdfmetrics.registerFont(TTFont(REGULAR, str(font_file())))
    pdfmetrics.registerFont(TTFont(BOLD, str(font_file(is_bold=True))))
    pdfmetrics.registerFontFamily(REGULAR, REGULAR, BOLD, REGULAR, BOLD)


def _set_up(canvas: "Canvas", title: str) -> None:
    """Set what a document of ours says of itself."""
    canvas.setTitle(settable(title))
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setCreator("Lapline")
    canvas.setViewerPreference("PrintScaling", "None")


def _draw(canvas: "Canvas", drawing: Drawing) -> None:
    """Draw a drawing on the canvas's page, cropped to its extent."""
    x0, y0, x1, y1 = drawing.extent
    canvas.saveState()
    canvas.transform(POINTS_MM, 0, 0, POINTS_MM, -x0 * POINTS_MM, -y0 * POINTS_MM)
    frame = canvas.beginPath()
    frame.rect(x0, y0, x1 - x0, y1 - y0)
    canvas.clipPath(frame, stroke=0, fill=0)
    if drawing.background:
        canvas.setFillColor(drawing.background)
        canvas.rect(x0, y0, x1 - x0, y1 - y0, stroke=0, fill=1)
    for shape in drawing.shapes:
        _draw_shape(canvas, shape)
    for text in drawing.texts:
        _draw_text(canvas, text)
    canvas.restoreState()


def _draw_shape(canvas: "Canvas", shape: Shape) -> None:
    look = shape.look
    if not (look.fill or look.stroke):
        return
    path = canvas.beginPath()
    for run in shape.runs:
        _add_run(path, run)
    _take_pen(canvas, look)
    canvas.drawPath(path, stroke=int(bool(look.stroke)), fill=int(bool(look.fill)), fillMode=0)


def _add_run(path: Any, run: Run) -> None:
    (x, y), *rest = run.points.tolist()
    path.moveTo(x, y)
    for x, y in rest:
        path.lineTo(x, y)
    if run.is_closed:
        path.close()


def _take_pen(canvas: "Canvas", look: Look) -> None:
    if look.fill:
        canvas.setFillColor(look.fill)
    if look.stroke:
        canvas.setStrokeColor(look.stroke)
        canvas.setLineWidth(look.width_mm)
        canvas.setDash(list(look.dash_mm))
        canvas.setLineCap(1 if look.is_round else 0)
        canvas.setLineJoin(1)
    canvas.setFillAlpha(look.opacity)
    canvas.setStrokeAlpha(look.opacity)


def _draw_text(canvas: "Canvas", text: Text) -> None:
    words = settable(text.text, is_bold=text.is_bold)
    canvas.saveState()
    canvas.translate(*text.at)
    canvas.rotate(text.angle_deg)
    canvas.setFont(BOLD if text.is_bold else REGULAR, text.height_mm / CAP_HEIGHT_EM)
    canvas.setFillColor(text.colour)
    canvas.setFillAlpha(1)
    draw = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[text.anchor]
    draw(0, 0, words)
    canvas.restoreState()

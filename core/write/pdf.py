"""Drawings on PDF pages, true to size, with the typeface embedded.

A page is given as drawings with where they stand on it; each is drawn at a scale of its own
(templates at 1, pictures on a bench sheet smaller) and cropped to its extent. The same pages
give the same bytes: no clock, no random identifier. Viewers are told not to fit a page to its
paper.
"""

import io
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from core.write.drawing import Drawing, Look, Run, Shape, Text
from core.write.typeface import CAP_HEIGHT_EM, font_file, settable

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

POINTS_MM = 72 / 25.4
REGULAR, BOLD = "Inter", "Inter-SemiBold"


@dataclass(frozen=True, slots=True)
class Placed:
    """A drawing on a page: its extent's lower left corner stands at ``at``, mm."""

    drawing: Drawing
    at: tuple[float, float] = (0.0, 0.0)
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class PdfPage:
    """A page of a size in mm, with what stands on it, lowest first.

    Attributes:
        bookmark: what a viewer's list of contents calls it; "" leaves it out.
    """

    size_mm: tuple[float, float]
    content: tuple[Placed, ...]
    bookmark: str = ""


def pages_to_pdf(title: str, pages: Iterable[PdfPage]) -> bytes:
    """Return a PDF of the pages."""
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - heavy, seldom needed

    use_typeface()
    buffer = io.BytesIO()
    canvas = Canvas(buffer, invariant=True, initialFontName=REGULAR)
    set_up(canvas, title)
    for page in pages:
        width, height = page.size_mm
        canvas.setPageSize((width * POINTS_MM, height * POINTS_MM))
        if page.bookmark:
            canvas.bookmarkPage(page.bookmark)
            canvas.addOutlineEntry(settable(page.bookmark), page.bookmark)
        for placed in page.content:
            put(canvas, placed)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


@cache
def use_typeface() -> None:
    """Tell the PDF library of the bundled typeface; once is enough."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415

    pdfmetrics.registerFont(TTFont(REGULAR, str(font_file())))
    pdfmetrics.registerFont(TTFont(BOLD, str(font_file(is_bold=True))))
    pdfmetrics.registerFontFamily(REGULAR, REGULAR, BOLD, REGULAR, BOLD)


def set_up(canvas: "Canvas", title: str) -> None:
    """Set what a document of ours says of itself."""
    canvas.setTitle(settable(title))
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setCreator("Lapline")
    canvas.setViewerPreference("PrintScaling", "None")


def put(canvas: "Canvas", placed: Placed) -> None:
    """Draw a drawing on the canvas's page, cropped to its extent."""
    drawing = placed.drawing
    x0, y0, x1, y1 = drawing.extent
    canvas.saveState()
    scale = POINTS_MM * placed.scale
    canvas.transform(
        scale, 0, 0, scale, placed.at[0] * POINTS_MM - x0 * scale,
        placed.at[1] * POINTS_MM - y0 * scale,
    )  # fmt: skip
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

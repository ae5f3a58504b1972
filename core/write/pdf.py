"""Drawings as the pages of a PDF, true to size, with the typeface embedded.

The same drawings give the same bytes: no clock, no random identifier. Viewers are told not to
fit a page to its paper.
"""

import contextlib
import io
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from core.progress import Progress, Silent, tell_or_stop
from core.write.drawing import Drawing, Look, Run, Shape, Text
from core.write.typeface import CAP_HEIGHT_EM, font_file, settable, text_width_mm

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

POINTS_MM = 72 / 25.4
REGULAR, BOLD = "Inter", "Inter-SemiBold"


def drawings_to_pdf(
    title: str, pages: Sequence[Drawing], progress: Progress | None = None
) -> bytes:
    """Return a PDF with a page for each drawing, as large as its extent.

    A page whose drawing has another name than the one before is entered in the viewer's list of
    contents under it. Each page is told as it is set.

    Raises:
        Cancelled: when it was stopped.
    """
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - heavy, seldom needed

    _use_typeface()
    buffer = io.BytesIO()
    canvas = Canvas(buffer, invariant=True, initialFontName=REGULAR)
    _set_up(canvas, title)
    last = ""
    listener = progress or Silent()
    for number, page in enumerate(pages):
        if len(pages) > 1:
            tell_or_stop(listener, "page", number, len(pages))
        x0, y0, x1, y1 = page.extent
        canvas.setPageSize(((x1 - x0) * POINTS_MM, (y1 - y0) * POINTS_MM))
        if page.name != last:
            key, last = f"page{number}", page.name
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(settable(page.name), key)
        _draw(canvas, page)
        canvas.showPage()
    with _binary_streams():
        canvas.save()
    return buffer.getvalue()


@contextlib.contextmanager
def _binary_streams() -> Iterator[None]:
    """Have the library leave streams binary: as text they are a quarter larger, and slow."""
    from reportlab import rl_config  # noqa: PLC0415

    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


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
    if drawing.texts:
        _draw_texts(canvas, drawing.texts)
    canvas.restoreState()


def _draw_shape(canvas: "Canvas", shape: Shape) -> None:
    """Write a shape as PDF operators, which takes a third of the time of the library's paths.

    Source: ISO 32000-1, 8.4.4 (graphics state), 8.5.2 and 8.5.3 (paths), 8.6.8 (colours).
    """
    look = shape.look
    if not (look.fill or look.stroke):
        return
    if look.opacity < 1:
        canvas.saveState()
        canvas.setFillAlpha(look.opacity)
        canvas.setStrokeAlpha(look.opacity)
    paint = ("B*" if look.stroke else "f*") if look.fill else "S"
    canvas.addLiteral(" ".join([*_pen(look), *map(_path, shape.runs), paint]))
    if look.opacity < 1:
        canvas.restoreState()


def _pen(look: Look) -> Iterator[str]:
    """Yield the operators that set colours, width and dashes."""
    if look.fill:
        yield f"{_colour(look.fill)} rg"
    if look.stroke:
        dashes = " ".join(map(_number, look.dash_mm))
        cap = 1 if look.is_round else 0
        yield f"{_colour(look.stroke)} RG {_number(look.width_mm)} w [{dashes}] 0 d {cap} J 1 j"


@cache
def _colour(colour: str) -> str:
    return " ".join(_number(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5))


def _path(run: Run) -> str:
    """Return a run as operators, to a micrometre of paper."""
    pairs = _pairs(len(run.points)) % tuple(run.points.ravel().tolist())
    return pairs + (" h" if run.is_closed else "")


@lru_cache(1000)
def _pairs(count: int) -> str:
    """Return the pattern of a line through that many points."""
    return "%.3f %.3f m" + " %.3f %.3f l" * (count - 1)


def _number(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _draw_texts(canvas: "Canvas", texts: Iterable[Text]) -> None:
    """Set all texts of a page in one go; font and colour are told where they change."""
    canvas.setFillAlpha(1)
    pen = canvas.beginText()
    font, colour = ("", 0.0), ""
    for text in texts:
        wanted = (BOLD if text.is_bold else REGULAR, text.height_mm / CAP_HEIGHT_EM)
        if wanted != font:
            pen.setFont(*wanted)
            font = wanted
        if text.colour != colour:
            pen.setFillColor(text.colour)
            colour = text.colour
        pen.setTextTransform(*_stand(text))
        pen.textOut(settable(text.text, is_bold=text.is_bold))
    canvas.drawText(pen)


_BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""How much of a text's width stands before the place that it is anchored to."""


def _stand(text: Text) -> tuple[float, float, float, float, float, float]:
    """Return the matrix of a text: turned, and moved to where its base line starts."""
    angle = math.radians(text.angle_deg)
    c, s = math.cos(angle), math.sin(angle)
    back = _BEFORE[text.anchor]
    if back:
        back *= text_width_mm(text.text, text.height_mm, is_bold=text.is_bold)
    return (c, s, -s, c, text.at[0] - back * c, text.at[1] - back * s)

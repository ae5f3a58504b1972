"""What a planned file looks like on paper or film, page by page, before it is written.

Every drawing is rendered by way of PDF, whatever it will be written as: so a window and a
printer show the same picture, and it is that of what is written.
"""

from dataclasses import dataclass, replace

import pypdfium2

from core.pdf_renderer import RENDERER
from core.progress import Part, Progress, Silent, stop_if_cancelled
from core.write.drawing import Drawing, Look, Purpose, Shape
from core.write.pdf import drawings_to_pdf
from core.write.planned_file import PlannedFile

POINTS_MM = 72 / 25.4
_DRAWN = 0.75
"""What of the work on a preview is done when its pages are drawn, about."""


@dataclass(frozen=True, slots=True)
class PageImage:
    """A part of a page as pixels.

    Attributes:
        pixels: rows from the top, 4 bytes each: blue, green, red, unused.
        stride: bytes a row.
        region_mm: left, low, right and upper side on the page.
    """

    pixels: bytes
    width_px: int
    height_px: int
    stride: int
    region_mm: tuple[float, float, float, float]


class Preview:
    """The pages of a file, to be looked at.

    Attributes:
        sizes_mm: width and height of each page, true size.
    """

    def __init__(self, drawings: tuple[Drawing, ...], progress: Progress | None = None) -> None:
        """Make the pages; Cancelled when that was stopped."""
        self.sizes_mm = tuple(
            (d.extent[2] - d.extent[0], d.extent[3] - d.extent[1]) for d in drawings
        )
        pdf = drawings_to_pdf("", [_inked(drawing) for drawing in drawings], progress)
        with RENDERER:
            self._document = pypdfium2.PdfDocument(pdf)

    def __del__(self) -> None:
        """Close the document while no other thread renders."""
        with RENDERER:
            if hasattr(self, "_document"):
                self._document.close()

    def render(
        self, page: int, px_per_mm: float, region_mm: tuple[float, float, float, float]
    ) -> PageImage:
        """Return a region of a page at a scale; what lies off the page is left out."""
        width, height = self.sizes_mm[page]
        x0, y0 = max(region_mm[0], 0.0), max(region_mm[1], 0.0)
        x1, y1 = min(region_mm[2], width), min(region_mm[3], height)
        off = (x0, y0, width - x1, height - y1)
        with RENDERER:
            sheet = self._document[page]
            crop = tuple(side * POINTS_MM for side in off)
            bitmap = sheet.render(scale=px_per_mm / POINTS_MM, crop=crop, prefer_bgrx=True)
            image = PageImage(
                bytes(bitmap.buffer), bitmap.width, bitmap.height, bitmap.stride,
                (x0, y0, x1, y1),
            )  # fmt: skip
            bitmap.close()
            sheet.close()
        return image


def preview_of(file: PlannedFile, progress: Progress | None = None) -> Preview | None:
    """Return the pages of a file; None for tables and texts, which have none.

    Raises:
        Cancelled: when it was stopped on the way.
    """
    listener = progress or Silent()
    drawings = file.draw(Part(listener, "", 0.0, _DRAWN))
    if not drawings:
        return None
    stop_if_cancelled(listener)
    return Preview(drawings, Part(listener, "", _DRAWN, 1.0))


_INKS = {
    Purpose.CUT: "#b3261e",
    Purpose.WEED: "#b3261e",
    Purpose.FRAME: "#8a9196",
    Purpose.PICTURE: "#1b1f24",
}
_INK = "#1d4e89"
_LINE_MM = 0.4


def _inked(drawing: Drawing) -> Drawing:
    """Give an ink to shapes without a look of their own, as those for a plotter are."""
    purposes = {layer.name: layer.purpose for layer in drawing.layers}

    def shown(shape: Shape) -> Shape:
        if shape.look.fill or shape.look.stroke:
            return shape
        ink = _INKS.get(purposes[shape.layer], _INK)
        return replace(shape, look=Look(stroke=ink, width_mm=_LINE_MM))

    return replace(drawing, shapes=tuple(shown(shape) for shape in drawing.shapes))

"""A drawing as a PNG: rendered by way of PDF, as the window's previews are, and packed.

The pictures are flat areas and thin lines, so rows are packed without a filter: that is as
small as with one and takes a quarter of the time.
"""

import struct
import zlib

import numpy as np
import pypdfium2

from core.errors import ExportFailed
from core.pdf_renderer import RENDERER
from core.write.drawing import Drawing
from core.write.pdf import drawings_to_pdf

_LEVEL = 3
_GREATEST_PX = 30_000


def drawing_to_png(drawing: Drawing, width_px: int) -> bytes:
    """Return the drawing as a PNG of that width, texts as the bundled typeface can set them.

    Raises:
        ExportFailed: when the picture cannot be rendered, as it is too large or has no size.
    """
    x0, y0, x1, y1 = drawing.extent
    height_px = width_px * (y1 - y0) / (x1 - x0) if x1 > x0 else 0.0
    if not (0 < height_px <= _GREATEST_PX and width_px <= _GREATEST_PX):
        raise ExportFailed(f"The picture cannot be rendered ({width_px} pixels wide).")
    pdf = drawings_to_pdf(drawing.name, [drawing])
    with RENDERER:
        document = pypdfium2.PdfDocument(pdf)
        page = document[0]
        # The renderer rounds up: a hair less, and the width is the one asked for.
        scale = (width_px - 0.01) / page.get_width()
        bitmap = page.render(scale=scale, rev_byteorder=True)
        pixels = bitmap.to_numpy().copy()
        for used in (bitmap, page, document):
            used.close()
    return _packed(pixels)


def _packed(pixels: np.ndarray) -> bytes:
    """Return the bytes of a PNG of red, green and blue.

    Args:
        pixels: shape (height, width, 3).

    Source: Portable Network Graphics (PNG) Specification, 5 (chunks), 9 (filters), 11.2.
    """
    height, width, _ = pixels.shape
    rows = np.zeros((height, 1 + 3 * width), dtype=np.uint8)
    rows[:, 1:] = pixels.reshape(height, -1)
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(rows.tobytes(), _LEVEL)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )

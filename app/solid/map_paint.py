"""A panel's films painted flat in its map, for the part to take its colours from."""

from collections.abc import Mapping

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QTransform

from app.canvas.items.paths import line_path, polygon_path
from app.canvas.style import ink_over
from core.document.film import Film
from core.plan.model import PanelPlan
from core.shape.view_paint import MapPicture

LONGEST_PX = 1600
SEAM_PX = 4.0
BARE = "#8d8d86"
"""The part where no film lies."""


def films_picture(plan: PanelPlan, films: Mapping[str, Film]) -> MapPicture:
    """Paint the regions of a panel in their films, with the seams between them."""
    left, low, right, top = plan.extended.bounds
    step = max(right - left, top - low, 1e-6) / LONGEST_PX
    width, height = (max(1, round(d / step)) for d in (right - left, top - low))
    image = QImage(width, height, QImage.Format.Format_RGBX8888)
    image.fill(QColor(BARE))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setTransform(QTransform(1 / step, 0, 0, -1 / step, -left / step, top / step))
    painter.setPen(Qt.PenStyle.NoPen)
    for region in plan.regions:
        painter.setBrush(QColor(films[region.film].colour))
        painter.drawPath(polygon_path(region.polygon))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    colours = {r.id: films[r.film].colour for r in plan.regions}
    for stretch in plan.stretches:
        ink = ink_over(colours[stretch.top], colours[stretch.under])
        painter.setPen(QPen(ink, SEAM_PX * step))
        painter.drawPath(line_path(stretch.path))
    painter.end()
    return as_map(image, left, top, step)


def as_map(image: QImage, left_mm: float, top_mm: float, mm_per_px: float) -> MapPicture:
    """Return an image as a picture of the map, without its fourth byte."""
    row = image.bytesPerLine()
    data = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), row)
    rgbx = data[:, : 4 * image.width()].reshape(image.height(), image.width(), 4)
    return MapPicture(rgbx[:, :, :3].copy(), left_mm, top_mm, mm_per_px)

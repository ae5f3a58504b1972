"""A large picture in a scene, kept at several sizes so that any zoom paints few pixels."""

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from core.read.photo import halved

if TYPE_CHECKING:
    from core.read.photo import Pixels

_SMALLEST_PX = 256


def pyramid_of(pixels: "Pixels") -> tuple[QImage, ...]:
    """Return a picture at full, half, a quarter of its size and so on."""
    levels = [image_of(pixels)]
    while max(pixels.shape[:2]) > _SMALLEST_PX:
        pixels = halved(pixels)
        levels.append(image_of(pixels))
    return tuple(levels)


def image_of(pixels: "Pixels") -> QImage:
    """Return pixels as an image of Qt's own, in the format that it paints fastest."""
    height, width = pixels.shape[:2]
    data = pixels.tobytes()
    image = QImage(data, width, height, width * 3, QImage.Format.Format_RGB888)
    return image.convertToFormat(QImage.Format.Format_RGB32)


class PyramidItem(QGraphicsItem):
    """A picture; its own frame is in its pixels, y down, until ``setTransform`` says more."""

    def __init__(self, parent: QGraphicsItem | None = None) -> None:
        super().__init__(parent)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._levels: tuple[QImage, ...] = ()

    @property
    def levels(self) -> tuple[QImage, ...]:
        """The picture's sizes, the full one first."""
        return self._levels

    def show_picture(self, levels: tuple[QImage, ...], to_scene: QTransform) -> None:
        """Show a picture of ``pyramid_of``."""
        self.prepareGeometryChange()
        self._levels = levels
        self.setTransform(to_scene)
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return the picture's size."""
        if not self._levels:
            return QRectF()
        return QRectF(0, 0, self._levels[0].width(), self._levels[0].height())

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,  # noqa: ARG002 - Qt's signature
    ) -> None:
        """Draw what is exposed from the size that is nearest to the screen's."""
        if not self._levels:
            return
        scale = option.levelOfDetailFromTransform(painter.worldTransform())
        wanted = max(0, math.floor(-math.log2(max(scale, 1e-6)) + 0.25))
        image = self._levels[min(wanted, len(self._levels) - 1)]
        full = self._levels[0]
        kx, ky = image.width() / full.width(), image.height() / full.height()
        shown = option.exposedRect.adjusted(-1, -1, 1, 1).intersected(self.boundingRect())
        # Whole pixels of the level, so that no seam shows where parts are painted anew.
        left, top = math.floor(shown.left() * kx), math.floor(shown.top() * ky)
        right, bottom = math.ceil(shown.right() * kx), math.ceil(shown.bottom() * ky)
        source = QRectF(left, top, right - left, bottom - top)
        target = QRectF(left / kx, top / ky, (right - left) / kx, (bottom - top) / ky)
        # Beyond three screen pixels for one of the photo its pixels are shown as they are.
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, on=scale < 3)
        painter.drawImage(target, image, source)

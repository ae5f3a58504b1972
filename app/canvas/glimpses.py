"""Pictures of a view as it was last painted, shown scaled while one zooms through much.

Painting a hundred panels sharply takes longer than a frame. While a zoom runs, the last sharp
pictures are drawn where they belong at the present zoom instead; at rest the view is painted
sharply again. Where things are, and what is caught, is the view's own matter all along.
"""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QBrush, QPainter, QPixmap, QTransform
from PySide6.QtWidgets import QGraphicsView

_MOST = 4
_LEAST_SHARE = 0.3
"""A picture that fills less of the view leaves too much of it empty."""
_MOST_BLOWN_UP = 2.5


@dataclass(frozen=True, slots=True)
class _Glimpse:
    pixels: QPixmap
    to_px: QTransform
    """From the scene to the picture, in the view's pixels."""

    def placed(self, to_px: QTransform) -> QTransform:
        """Return where the picture lies in a view that is moved and zoomed."""
        return self.to_px.inverted()[0] * to_px

    def seen(self, to_px: QTransform) -> QRectF:
        """Return what the picture takes up in such a view, in pixels."""
        size = self.pixels.deviceIndependentSize()
        return self.placed(to_px).mapRect(QRectF(0, 0, size.width(), size.height()))


class Glimpses:
    """The pictures taken since the scene last changed, up to four of them."""

    def __init__(self) -> None:
        self._taken: list[_Glimpse] = []

    def drop(self) -> None:
        """Forget all pictures: what they show is no longer so."""
        self._taken.clear()

    def take(self, view: QGraphicsView) -> None:
        """Take a sharp picture of what a view shows."""
        port = view.viewport()
        ratio = port.devicePixelRatioF()
        pixels = QPixmap(port.size() * ratio)
        pixels.setDevicePixelRatio(ratio)
        pixels.fill(view.scene().backgroundBrush().color())
        painter = QPainter(pixels)
        painter.setRenderHints(view.renderHints())
        view.render(painter, QRectF(port.rect()), port.rect())
        painter.end()
        self._taken = [*self._taken[1 - _MOST :], _Glimpse(pixels, view.viewportTransform())]

    def can_show(self, to_px: QTransform, port: QRectF) -> bool:
        """Whether one of the pictures would do for a view, given where it looks."""
        return any(
            to_px.m11() <= _MOST_BLOWN_UP * one.to_px.m11()
            and _area(one.seen(to_px) & port) >= _LEAST_SHARE * _area(port)
            for one in self._taken
        )

    def paint(self, painter: QPainter, to_px: QTransform, port: QRectF, ground: QBrush) -> None:
        """Draw the pictures where they belong, those from afar beneath nearer ones."""
        near = sorted(self._taken, key=lambda one: one.to_px.m11())
        if not near or not near[-1].seen(to_px).contains(port):
            painter.fillRect(port, ground)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for i, one in enumerate(near):
            if any(later.seen(to_px).contains(port) for later in near[i + 1 :]):
                continue
            painter.setTransform(one.placed(to_px))
            painter.drawPixmap(0, 0, one.pixels)


def _area(rect: QRectF) -> float:
    return rect.width() * rect.height()

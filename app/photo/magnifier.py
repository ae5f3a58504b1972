"""A round magnifier beside the pointer: the photo's pixels around it, with a cross."""

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.theme import Theme

SIDE_PX = 168
AWAY_PX = 28
GROWTH = 6.0
"""Screen pixels for one of the picture."""


class Magnifier(QWidget):
    """Shows a piece of a picture; lies over the view without taking its events."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFixedSize(SIDE_PX, SIDE_PX)
        self._theme, self._under = theme, parent
        self._image: QImage | None = None
        self._at = QPointF()
        self.hide()

    def show_at(self, image: QImage, at_px: QPointF, pointer: QPoint) -> None:
        """Show the surroundings of a pixel place, beside the pointer."""
        self._image, self._at = image, at_px
        room = self._under.rect()
        x = pointer.x() + AWAY_PX
        y = pointer.y() - AWAY_PX - SIDE_PX
        if x + SIDE_PX > room.right():
            x = pointer.x() - AWAY_PX - SIDE_PX
        if y < room.top():
            y = pointer.y() + AWAY_PX
        self.move(x, y)
        self.show()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802, ARG002
        """Draw the pixels, a cross and the rim."""
        if self._image is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        disc = QRectF(self.rect()).adjusted(2, 2, -2, -2)
        rim = QPainterPath()
        rim.addEllipse(disc)
        painter.fillPath(rim, QColor(self._theme.canvas))
        painter.save()
        painter.setClipPath(rim)
        half = SIDE_PX / 2 / GROWTH
        source = QRectF(self._at.x() - half, self._at.y() - half, 2 * half, 2 * half)
        painter.drawImage(QRectF(self.rect()), self._image, source)
        middle = SIDE_PX / 2
        for colour, width in (("#ffffff", 3.0), ("#101010", 1.0)):
            painter.setPen(QPen(QColor(colour), width))
            for a, b in ((-26, -5), (5, 26)):
                painter.drawLine(QPointF(middle + a, middle), QPointF(middle + b, middle))
                painter.drawLine(QPointF(middle, middle + a), QPointF(middle, middle + b))
        painter.restore()
        painter.setPen(QPen(QColor(self._theme.surface_raised), 4))
        painter.drawEllipse(disc)
        painter.setPen(QPen(QColor(self._theme.accent), 2))
        painter.drawEllipse(disc)
        painter.end()

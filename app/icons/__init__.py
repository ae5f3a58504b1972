"""The program's own icons, drawn in code so that they are sharp at every scale.

Each drawing lives on a grid of 24 by 24 and is stroked in the palette's text colour when it is
painted, so icons follow the theme by themselves.
"""

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QIcon,
    QIconEngine,
    QPainter,
    QPainterPath,
    QPalette,
    QPen,
    QPixmap,
)
from PySide6.QtWidgets import QApplication

from app.icons.drawings import DRAWINGS

GRID = 24


def icon(name: str, colour: str | None = None) -> QIcon:
    """Return an icon by its name; KeyError when there is none of that name.

    Args:
        name: one of ``app.icons.drawings.DRAWINGS``.
        colour: a fixed colour, or None to follow the palette.
    """
    if name not in DRAWINGS:
        raise KeyError(name)
    return QIcon(_Engine(name, colour))


def draw_icon(painter: QPainter, rect: QRectF, name: str, colour: QColor) -> None:
    """Paint an icon into a rectangle."""
    drawing = DRAWINGS[name]
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(rect.topLeft())
    painter.scale(rect.width() / GRID, rect.height() / GRID)
    pen = QPen(colour, 1.8, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    for part, is_filled in drawing:
        painter.setPen(Qt.PenStyle.NoPen if is_filled else pen)
        painter.setBrush(colour if is_filled else Qt.BrushStyle.NoBrush)
        painter.drawPath(_path(part))
    painter.restore()


def _path(text: str) -> QPainterPath:
    """Read the drawings' path language: M, L, C with absolute points, O for a circle, Z."""
    path = QPainterPath()
    words = text.split()
    i = 0
    while i < len(words):
        word = words[i]
        count = {"M": 2, "L": 2, "C": 6, "O": 3, "Z": 0}[word]
        n = [float(w) for w in words[i + 1 : i + 1 + count]]
        i += 1 + count
        match word:
            case "M":
                path.moveTo(n[0], n[1])
            case "L":
                path.lineTo(n[0], n[1])
            case "C":
                path.cubicTo(n[0], n[1], n[2], n[3], n[4], n[5])
            case "O":
                path.addEllipse(QPointF(n[0], n[1]), n[2], n[2])
            case _:
                path.closeSubpath()
    return path


class _Engine(QIconEngine):
    """Paints a drawing at whatever size and scale is asked for."""

    def __init__(self, name: str, colour: str | None) -> None:
        super().__init__()
        self._name, self._colour = name, colour

    def _ink(self, mode: QIcon.Mode, state: QIcon.State) -> QColor:
        if self._colour is not None:
            return QColor(self._colour)
        palette = QApplication.palette()
        if state is QIcon.State.On:
            return palette.color(QPalette.ColorRole.HighlightedText)
        ink = palette.color(QPalette.ColorRole.WindowText)
        if mode is QIcon.Mode.Disabled:
            ink.setAlphaF(0.45)
        return ink

    def clone(self) -> QIconEngine:
        return _Engine(self._name, self._colour)

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        pixmap = QPixmap(size)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        self.paint(painter, QRect(0, 0, size.width(), size.height()), mode, state)
        painter.end()
        return pixmap

    def paint(
        self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State
    ) -> None:
        side = min(rect.width(), rect.height())
        square = QRectF(0, 0, side, side)
        square.moveCenter(QRectF(rect).center())
        draw_icon(painter, square, self._name, self._ink(mode, state))

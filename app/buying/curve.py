"""A picture of film against retakes: how many second tries a length of film affords."""

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.panes.rows import paint_text, sized
from app.theme import Theme, current_theme
from core.roll.buying import FilmBuying
from core.roll.tries_curve import TriesPoint
from core.write.wording import counted

LEFT_PX, RIGHT_PX, TOP_PX, BOTTOM_PX = 44.0, 20.0, 28.0, 40.0
_MOST_TICKS = 8


class TriesCurve(QWidget):
    """Length of film along, retakes upwards; what is in stock is shaded."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._film: FilmBuying | None = None
        self._step_mm = 500.0
        self.setMinimumHeight(200)
        self.setAccessibleName("Film against retakes")

    def show_film(self, film: FilmBuying | None, step_mm: float) -> None:
        """Show another film's curve; the shop sells in steps."""
        self._film, self._step_mm = film, step_mm
        self.setAccessibleDescription(_spoken(film))
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return a size that shows all."""
        return QSize(420, 220)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint the curve on its axes."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = current_theme()
        film = self._film
        if film is None or not film.curve:
            painter.setFont(sized(painter.font(), 13))
            words = "No piece of this film lies on a roll" if film else ""
            centre = Qt.AlignmentFlag.AlignHCenter
            paint_text(painter, QRectF(self.rect()), words, theme.ink_soft, centre)
            return
        _Plot(painter, QRectF(self.rect()), film, self._step_mm, theme).paint()


class _Plot:
    """One painting of a curve."""

    def __init__(
        self,
        painter: QPainter,
        whole: QRectF,
        film: FilmBuying,
        step_mm: float,
        theme: Theme,
    ) -> None:
        self.painter, self.film, self.theme = painter, film, theme
        self.area = whole.adjusted(LEFT_PX, TOP_PX, -RIGHT_PX, -BOTTOM_PX)
        longest = max(p.used_mm for p in film.curve)
        self.step_mm = _tick_step(longest, step_mm)
        self.longest_mm = math.ceil(longest / self.step_mm + 0.25) * self.step_mm
        self.most = max(1, *(p.retakes for p in film.curve))

    def at(self, length_mm: float, retakes: float) -> QPointF:
        """Return where a point of the plot lies."""
        x = self.area.left() + self.area.width() * length_mm / self.longest_mm
        y = self.area.bottom() - self.area.height() * retakes / self.most
        return QPointF(x, y)

    def paint(self) -> None:
        """Paint stock, axes, curve and the planned point."""
        self._stock()
        self._axes()
        self._curve()
        for point in self.film.curve:
            if point.is_planned:
                self._planned(point)

    def _stock(self) -> None:
        shelf = min(self.film.on_shelf_mm, self.longest_mm)
        if shelf <= 0:
            return
        box = QRectF(self.area)
        box.setRight(self.at(shelf, 0).x())
        self.painter.fillRect(box, QColor(self.theme.selected))
        self.painter.setFont(sized(self.painter.font(), 12))
        place = QRectF(box.left() + 6, self.area.top() + 2, max(box.width() - 8, 60), 18)
        paint_text(self.painter, place, "in stock", self.theme.ink_soft)

    def _axes(self) -> None:
        painter, area = self.painter, self.area
        painter.setFont(sized(painter.font(), 12))
        painter.setPen(QPen(QColor(self.theme.line), 1))
        count = round(self.longest_mm / self.step_mm)
        for i in range(count + 1):
            at = self.at(i * self.step_mm, 0)
            painter.setPen(QPen(QColor(self.theme.line), 1))
            painter.drawLine(QPointF(at.x(), area.top()), QPointF(at.x(), area.bottom()))
            label = QRectF(at.x() - 30, area.bottom() + 2, 60, 16)
            text = f"{round(i * self.step_mm / 1000, 2):g}"
            paint_text(painter, label, text, self.theme.ink_soft, _CENTRE)
        for n in sorted({0, self.most // 2, self.most}):
            y = self.at(0, n).y()
            label = QRectF(area.left() - 34, y - 8, 28, 16)
            paint_text(painter, label, str(n), self.theme.ink_soft, Qt.AlignmentFlag.AlignRight)
        painter.setPen(QPen(QColor(self.theme.ink_soft), 1))
        painter.drawLine(area.bottomLeft(), area.bottomRight())
        painter.drawLine(area.bottomLeft(), area.topLeft())
        foot = QRectF(area.left(), area.bottom() + 19, area.width(), 18)
        paint_text(painter, foot, "metres of film", self.theme.ink_soft, _CENTRE)
        head = QRectF(4, 2, area.width() + LEFT_PX, 18)
        words = _head(self.film.curve[0])
        paint_text(painter, head, words, self.theme.ink_soft)

    def _curve(self) -> None:
        points = sorted(self.film.curve, key=lambda p: p.retakes)
        path = QPainterPath(self.at(points[0].used_mm, points[0].retakes))
        for point in points[1:]:
            path.lineTo(self.at(point.used_mm, point.retakes))
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.setPen(QPen(QColor(self.theme.accent), 2))
        self.painter.drawPath(path)
        self.painter.setBrush(QColor(self.theme.accent))
        self.painter.setPen(Qt.PenStyle.NoPen)
        for point in points:
            self.painter.drawEllipse(self.at(point.used_mm, point.retakes), 3, 3)

    def _planned(self, point: TriesPoint) -> None:
        at = self.at(point.used_mm, point.retakes)
        painter = self.painter
        painter.setBrush(QColor(self.theme.surface_raised))
        painter.setPen(QPen(QColor(self.theme.ink), 2))
        painter.drawEllipse(at, 6, 6)
        painter.setFont(sized(painter.font(), 12, is_bold=True))
        words = "planned"
        width = painter.fontMetrics().horizontalAdvance(words) + 4
        is_right = at.x() + 12 + width <= self.area.right() + RIGHT_PX
        x = at.x() - 6 if is_right else at.x() - 12 - width
        y = min(max(at.y() - 26, self.area.top()), self.area.bottom() - 18)
        paint_text(painter, QRectF(x, y, width, 16), words, self.theme.ink)


_CENTRE = Qt.AlignmentFlag.AlignHCenter


def _tick_step(longest_mm: float, step_mm: float) -> float:
    """Return how far ticks are apart: whole steps of the shop, few enough to read."""
    count = max(1, math.ceil(longest_mm / step_mm / _MOST_TICKS))
    return step_mm * count


def _head(point: TriesPoint) -> str:
    """Say whose retakes are counted."""
    lost = f"; {point.left_out} more fit nowhere" if point.left_out else ""
    return f"Retakes that it affords, of {counted(point.pieces, 'piece')}{lost}"


def _spoken(film: FilmBuying | None) -> str:
    if film is None:
        return ""
    points = (f"{p.retakes} retakes: {p.used_mm / 1000:.2f} metres" for p in film.curve)
    return "; ".join(points)

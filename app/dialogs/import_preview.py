"""The outlines of a file drawn to scale, with those chosen that will become panels."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QTransform,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas.items.paths import node_path
from app.theme import current_theme
from core.document.job import Units
from core.document.panel import Panel
from core.units import format_length

MARGIN_PX = 32
FOOT_PX = 28
RULE_PX = 160
"""The scale line is the longest round length up to so many pixels."""
_ROUND = (1, 2, 5)


class ImportPreview(QWidget):
    """Shows candidate panels where they stand in the file; a click takes one in or out."""

    clicked = Signal(str)
    """Id of the panel."""

    def __init__(self, units: Units, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._units = units
        self._shapes: list[tuple[str, QPainterPath]] = []
        self._bounds = QRectF()
        self._chosen: set[str] = set()
        self._colour = "#888888"
        self._pointed = ""
        self.setMouseTracking(True)
        self.setAccessibleName("Preview")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return room to see something."""
        return QSize(560, 480)

    def show_panels(self, panels: Sequence[Panel]) -> None:
        """Show panels."""
        self._shapes = [(panel.id, _path_of(panel)) for panel in panels]
        self._bounds = QRectF()
        for _, path in self._shapes:
            self._bounds = self._bounds.united(path.boundingRect())
        self._pointed = ""
        self.update()

    def show_chosen(self, chosen: set[str], colour: str) -> None:
        """Show which will be imported, in the colour of their film."""
        self._chosen, self._colour = set(chosen), colour
        self.update()

    def show_pointed(self, panel: str) -> None:
        """Show which panel the list is at."""
        self._pointed = panel
        self.update()

    def px_of(self, panel: str) -> QPointF:
        """Return a place on a panel's rim, in the widget."""
        path = next(path for name, path in self._shapes if name == panel)
        return self._placed().map(path.pointAtPercent(0.0))

    def _placed(self) -> QTransform:
        """Return the map from millimetres, y up, to the widget."""
        room = QRectF(self.rect()).adjusted(
            MARGIN_PX, MARGIN_PX, -MARGIN_PX, -MARGIN_PX - FOOT_PX
        )
        width, height = max(self._bounds.width(), 1e-6), max(self._bounds.height(), 1e-6)
        scale = max(min(room.width() / width, room.height() / height), 1e-9)
        middle = self._bounds.center()
        placed = QTransform()
        placed.translate(room.center().x(), room.center().y())
        placed.scale(scale, -scale)
        placed.translate(-middle.x(), -middle.y())
        return placed

    def _panel_at(self, at: QPointF) -> str:
        """Return the panel under a point; of one in another's opening the inner one."""
        inverse, is_fine = self._placed().inverted()
        if not is_fine:
            return ""
        spot = inverse.map(at)
        under = [(p.boundingRect().width(), i) for i, p in self._shapes if p.contains(spot)]
        return min(under)[1] if under else ""

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the ground, the panels and the scale line."""
        del event
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(theme.line), 1))
        painter.setBrush(QColor(theme.canvas))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 8, 8)
        if self._shapes:
            self._paint_panels(painter)
            self._paint_rule(painter)
        painter.end()

    def _paint_panels(self, painter: QPainter) -> None:
        theme = current_theme()
        placed = self._placed()
        for name, path in self._shapes:
            shape = placed.map(path)
            is_chosen, is_pointed = name in self._chosen, name == self._pointed
            colour = QColor(theme.accent if is_pointed else theme.panel_edge)
            if not (is_chosen or is_pointed):
                colour.setAlphaF(0.6)
            pen = QPen(colour, 1.6 if is_chosen or is_pointed else 1.0)
            pen.setStyle(Qt.PenStyle.SolidLine if is_chosen else Qt.PenStyle.DashLine)
            painter.setPen(pen)
            painter.setBrush(QColor(self._colour) if is_chosen else Qt.BrushStyle.NoBrush)
            painter.drawPath(shape)

    def _paint_rule(self, painter: QPainter) -> None:
        """Paint a line of a round length, and the size of the whole drawing."""
        theme = current_theme()
        scale = self._placed().m11()
        length = _round_length(RULE_PX / scale, self._units)
        y, x = self.height() - FOOT_PX, float(MARGIN_PX)
        painter.setPen(QPen(QColor(theme.ink), 1.5))
        end = x + length * scale
        painter.drawLine(QPointF(x, y), QPointF(end, y))
        for tick in (x, end):
            painter.drawLine(QPointF(tick, y - 4), QPointF(tick, y + 4))
        row = QRectF(end + 10, y - 10, self.width() - end - 10 - MARGIN_PX, 20)
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(row, int(Qt.AlignmentFlag.AlignLeft | middle), self._said(length))
        painter.setPen(QColor(theme.ink_soft))
        whole = f"{self._said(self._bounds.width())} × {self._said(self._bounds.height())}"
        painter.drawText(row, int(Qt.AlignmentFlag.AlignRight | middle), f"All: {whole}")

    def _said(self, length_mm: float) -> str:
        return format_length(length_mm, self._units)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Show what a click would take."""
        pointed = self._panel_at(event.position())
        if pointed != self._pointed:
            self._pointed = pointed
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take a panel in or out."""
        panel = self._panel_at(event.position())
        if panel and event.button() == Qt.MouseButton.LeftButton:
            self.clicked.emit(panel)


def _path_of(panel: Panel) -> QPainterPath:
    path = node_path(panel.outline, closed=True)
    for opening in panel.openings:
        path.addPath(node_path(opening.nodes, closed=True))
    path.setFillRule(Qt.FillRule.OddEvenFill)
    return path.translated(*panel.at)


def _round_length(longest_mm: float, units: Units) -> float:
    """Return the longest of 1, 2, 5, 10, ... units up to a length."""
    unit = 25.4 if units is Units.IN else 1.0
    power = 1e-3
    best = power * unit
    while power * unit <= longest_mm:
        for step in _ROUND:
            if step * power * unit <= longest_mm:
                best = step * power * unit
        power *= 10
    return best

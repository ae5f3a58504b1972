"""Rulers along the canvas: they follow pan and zoom, show the cursor, and give out guides."""

import math
from collections.abc import Callable
from fractions import Fraction
from typing import Literal

from PySide6.QtCore import QPointF, QRect, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from app.canvas.style import font, hair, stroke
from app.theme import Theme
from core.units import MM_PER_INCH, Units

RULER_PX = 22
_LEAST_LABEL_PX = 64.0
_LEAST_TICK_PX = 6.0
_LABEL_PX = 3.0
"""From a tick to its label."""
_UNIT_MM = {Units.MM: Fraction(1), Units.CM: Fraction(10), Units.IN: MM_PER_INCH}
_PARTS = (10, 5, 2)

Way = Literal["upright", "level"]
ToMm = Callable[[QPointF], tuple[float, float]]


def tick_steps(px_mm: float, units: Units) -> tuple[float, float]:
    """Return the steps between labels and between ticks in mm, as fine as there is room for.

    Labels stand at 1, 2 or 5 times a power of ten of the unit; inches below one at halves,
    quarters and eighths.
    """
    unit = float(_UNIT_MM[units])
    wanted = _LEAST_LABEL_PX * px_mm / unit
    if units is Units.IN and wanted <= 1:
        label = next((s for s in (0.125, 0.25, 0.5) if s >= wanted), 1.0)
        return label * unit, label / 4 * unit
    power = 10.0 ** math.floor(math.log10(wanted))
    label = next((m * power for m in (1, 2, 5) if m * power >= wanted - 1e-12), 10 * power)
    part = next((p for p in _PARTS if label * unit / p / px_mm >= _LEAST_TICK_PX), 1)
    return label * unit, label / part * unit


class Ruler(QWidget):
    """One ruler: level above the canvas, or upright on its left.

    A guide is dragged out of it: level guides out of the level ruler, upright ones out of the
    upright one. The events of such a drag are handed on at the viewport's places.
    """

    pulled = Signal(str, QMouseEvent)
    """A press on it: the way of the guide that it gives, and the event."""
    moved = Signal(QMouseEvent)
    released = Signal(QMouseEvent)

    def __init__(self, parent: QWidget, way: Way, to_mm: ToMm, theme: Theme) -> None:
        super().__init__(parent)
        self.way = way
        self.theme = theme
        self.units = Units.MM
        self.px_mm = 1.0
        self._to_mm = to_mm
        self._mark_px: float | None = None
        upright = Qt.CursorShape.SplitHCursor
        self.setCursor(Qt.CursorShape.SplitVCursor if way == "level" else upright)
        name = "Upright" if way == "upright" else "Level"
        self.setAccessibleName(f"{name} ruler")
        self.setToolTip("Drag a guide out of the ruler")

    def mark(self, px: QPointF | None) -> None:
        """Mark where the pointer is; None takes the mark away."""
        place = None if px is None else (px.x() if self.way == "level" else px.y())
        if place == self._mark_px:
            return
        for at in (self._mark_px, place):
            if at is not None:
                self.update(self._strip(at))
        self._mark_px = place

    def _strip(self, at: float) -> QRect:
        if self.way == "level":
            return QRect(int(at) - 2, 0, 5, self.height())
        return QRect(0, int(at) - 2, self.width(), 5)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw ticks, labels and the mark within what has to be painted."""
        painter = QPainter(self)
        painter.fillRect(event.rect(), QColor(self.theme.surface))
        label, tick = tick_steps(self.px_mm, self.units)
        axis = 0 if self.way == "level" else 1
        low, high = sorted(
            self._to_mm(QPointF(p))[axis]
            for p in (event.rect().topLeft(), event.rect().bottomRight())
        )
        painter.setFont(font(10))
        first, last = math.floor((low - label) / tick), math.ceil(high / tick)
        every = round(label / tick)
        for i in range(first, last + 1):
            self._draw_tick(painter, i * tick, is_long=i % every == 0)
        painter.setPen(hair(self.theme.line))
        w, h = self.width() - 1, self.height() - 1
        painter.drawLine(*((0, h, w, h) if axis == 0 else (w, 0, w, h)))
        if self._mark_px is not None:
            painter.setPen(stroke(self.theme.accent, 1.6))
            at = self._mark_px
            ends = (
                (QPointF(at, 0), QPointF(at, h))
                if axis == 0
                else (QPointF(0, at), QPointF(w, at))
            )
            painter.drawLine(*ends)

    def _draw_tick(self, painter: QPainter, mm: float, *, is_long: bool) -> None:
        origin = self._to_mm(QPointF(0, 0))[0 if self.way == "level" else 1]
        side = 1 if self.way == "level" else -1
        at = side * (mm - origin) / self.px_mm
        long, edge = (11.0 if is_long else 5.0), float(RULER_PX - 1)
        painter.setPen(hair(self.theme.ink_soft))
        if self.way == "level":
            painter.drawLine(QPointF(at, edge), QPointF(at, edge - long))
        else:
            painter.drawLine(QPointF(edge, at), QPointF(edge - long, at))
        if not is_long:
            return
        words = self._words(mm)
        if not self._has_room(at, painter.fontMetrics().horizontalAdvance(words)):
            return
        painter.setPen(QColor(self.theme.ink_soft))
        if self.way == "level":
            painter.drawText(QPointF(at + _LABEL_PX, 10), words)
            return
        painter.save()
        painter.translate(10, at - _LABEL_PX)
        painter.rotate(-90)
        painter.drawText(QPointF(0, 0), words)
        painter.restore()

    def _has_room(self, at: float, width: float) -> bool:
        """Whether a label at a tick is seen whole: cut off, -2000 would read 2000."""
        if self.way == "level":
            return at + _LABEL_PX >= 0 and at + _LABEL_PX + width <= self.width()
        return at - _LABEL_PX - width >= 0 and at - _LABEL_PX <= self.height()

    def _words(self, mm: float) -> str:
        value = round(mm / float(_UNIT_MM[self.units]), 3)
        return f"{value or 0.0:g}" if abs(value) < 1e5 else f"{value:.0f}"

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pull a guide out."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.pulled.emit(self.way, event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Hand the drag on."""
        self.moved.emit(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Hand the end of the drag on."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.released.emit(event)

"""The legend of bunching and stretch, with the value under the pointer.

A strip that stands beside what it explains, never on it.
"""

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QLinearGradient, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.panes.rows import paint_text, sized
from app.theme import current_theme
from core.shape.strain_colours import MOST, Limits, colours_of

BAR_PX = 232
HIGH_PX = 46
_PAD_PX = 16.0


class StrainLegend(QWidget):
    """A bar of colours with the two limits, and beside it what is under the pointer."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._limits: Limits | None = None
        self._words = ""
        self._share: float | None = None
        self.setFixedHeight(HIGH_PX)
        self.setMinimumWidth(round(BAR_PX + 2 * _PAD_PX))

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for the bar, its labels and the words."""
        return QSize(round(2 * BAR_PX + 3 * _PAD_PX), HIGH_PX)

    def show_limits(self, limits: Limits | None) -> None:
        """Show the limits of one film in percent; None where there are several films."""
        self._limits = limits
        self.update()

    def show_value(self, words: str, share: float | None) -> None:
        """Show the value under the pointer, and where in the bar it lies."""
        self._words, self._share = words, share
        self.setAccessibleName(f"Bunching and stretch: {words}")
        self.update()

    @property
    def words(self) -> str:
        """What is said of the place under the pointer."""
        return self._words

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802, ARG002
        """Paint the bar, its marks and the words."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        bar = QRectF(_PAD_PX, 25, BAR_PX, 11)
        self._paint_bar(painter, bar)
        self._paint_marks(painter, bar)
        left = bar.right() + _PAD_PX
        room = QRectF(left, 0, max(self.width() - left - _PAD_PX, 0), self.height())
        painter.setFont(sized(painter.font(), 12))
        words = self._words or "Point at the film to see how much."
        paint_text(painter, room, words, theme.ink if self._words else theme.ink_soft)
        painter.end()

    def _paint_bar(self, painter: QPainter, bar: QRectF) -> None:
        ramp = QLinearGradient(bar.topLeft(), bar.topRight())
        shares = np.linspace(-MOST, MOST, 81)
        for share, colour in zip(shares.tolist(), colours_of(shares).tolist(), strict=True):
            ramp.setColorAt((share + MOST) / (2 * MOST), QColor(*colour))
        painter.setPen(QPen(QColor(current_theme().ink_soft), 1))
        painter.setBrush(ramp)
        painter.drawRect(bar)

    def _paint_marks(self, painter: QPainter, bar: QRectF) -> None:
        theme = current_theme()
        painter.setFont(sized(painter.font(), 12))
        known = self._limits
        marks = (
            (-1.0, f"bunching {known.bunching_pct:g} %" if known else "bunching limit"),
            (1.0, f"stretch {known.stretch_pct:g} %" if known else "stretch limit"),
        )
        for share, words in marks:
            x = _x(bar, share)
            painter.setPen(QPen(QColor(theme.ink), 1.5))
            painter.drawLine(QPointF(x, bar.top() - 4), QPointF(x, bar.bottom() + 3))
            box = QRectF(x - 58, bar.top() - 21, 116, 16)
            paint_text(painter, box, words, theme.ink, Qt.AlignmentFlag.AlignHCenter)
        if self._share is not None:
            x = _x(bar, max(-MOST, min(MOST, self._share)))
            painter.setPen(QPen(QColor(theme.surface_raised), 2))
            painter.setBrush(QColor(theme.accent))
            painter.drawEllipse(QPointF(x, bar.center().y()), 6, 6)


def _x(bar: QRectF, share: float) -> float:
    return bar.left() + bar.width() * (share + MOST) / (2 * MOST)

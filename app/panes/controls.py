"""The program's drop-down, number field and tick box, with marks sharp at every scale."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QSpinBox,
    QStyle,
    QStyleOptionButton,
    QWidget,
)

from app.icons import draw_icon
from app.theme import current_theme

CHEVRON_PX = 14
SMALL_PX = 11


class Combo(QComboBox):
    """A drop-down list."""

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the chevron over the field."""
        super().paintEvent(event)
        _paint_chevron(self, "chevron", self.height() / 2, CHEVRON_PX)


class Spin(QSpinBox):
    """A whole number with two small chevrons."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lineEdit().setTextMargins(6, 0, 16, 0)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the chevrons over the field."""
        super().paintEvent(event)
        _paint_chevron(self, "chevron_up", self.height() / 2 - 6, SMALL_PX)
        _paint_chevron(self, "chevron", self.height() / 2 + 6, SMALL_PX)


class Tick(QCheckBox):
    """A box to tick."""

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the tick over the box, which the stylesheet fills, and the focus around it."""
        super().paintEvent(event)
        if not (self.isChecked() or self.hasFocus()):
            return
        option = QStyleOptionButton()
        self.initStyleOption(option)
        box = self.style().subElementRect(QStyle.SubElement.SE_CheckBoxIndicator, option, self)
        painter = QPainter(self)
        rect = QRectF(box).adjusted(2, 2, -2, -2)
        theme = current_theme()
        if self.isChecked():
            draw_icon(painter, rect, "check", QColor(theme.accent_ink))
        if self.hasFocus():
            painter.setPen(QPen(QColor(theme.accent), 1))
            painter.drawRect(box.adjusted(-2, -2, 1, 1))
        painter.end()


def _paint_chevron(field: QWidget, name: str, middle: float, side: int) -> None:
    colour = QColor(current_theme().ink_soft)
    if not field.isEnabled():
        colour.setAlphaF(0.5)
    rect = QRectF(field.width() - 14 - side / 2, middle - side / 2, side, side)
    painter = QPainter(field)
    draw_icon(painter, rect, name, colour)
    painter.end()

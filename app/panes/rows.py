"""Painting of list rows: the ground of a row, swatches, and text that is cut with dots."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyleOptionViewItem

from app.theme import Theme

PAD = 16


def paint_ground(painter: QPainter, option: QStyleOptionViewItem, theme: Theme) -> None:
    """Fill the row's ground by its state, inset and rounded."""
    state = option.state
    rect = QRectF(option.rect).adjusted(6, 1, -6, -1)
    colour = None
    if state & QStyle.StateFlag.State_Selected:
        colour = theme.selected
    elif state & QStyle.StateFlag.State_MouseOver:
        colour = theme.hover
    if colour is not None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colour))
        painter.drawRoundedRect(rect, 6, 6)


def paint_swatch(painter: QPainter, rect: QRectF, colour: str, theme: Theme) -> None:
    """Paint a film's colour, framed so that it shows on any ground."""
    painter.setPen(QPen(QColor(theme.ink_soft), 1))
    painter.setBrush(QColor(colour))
    painter.drawRoundedRect(rect.adjusted(0.5, 0.5, -0.5, -0.5), 4, 4)


def paint_text(
    painter: QPainter,
    rect: QRectF,
    text: str,
    colour: str,
    align: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft,
) -> None:
    """Paint one line of text, cut with dots where it is too long."""
    painter.setPen(QColor(colour))
    shown = painter.fontMetrics().elidedText(
        text, Qt.TextElideMode.ElideRight, int(rect.width()) + 1
    )
    painter.drawText(rect, int(align | Qt.AlignmentFlag.AlignVCenter), shown)


def sized(font: QFont, px: int, *, is_bold: bool = False) -> QFont:
    """Return the font in another size and weight."""
    other = QFont(font)
    other.setPixelSize(px)
    other.setWeight(QFont.Weight.DemiBold if is_bold else QFont.Weight.Normal)
    return other


def ink_on(colour: str) -> QColor:
    """Return black or white, whichever reads better on a film's colour.

    Source: relative luminance of WCAG 2.1; 0.179 is where both contrasts are equal.
    """
    c = QColor(colour)
    parts = [_linear(v) for v in (c.redF(), c.greenF(), c.blueF())]
    luminance = 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]
    return QColor("#101416" if luminance > 0.179 else "#ffffff")


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)

"""Painting of list rows: the ground of a row, swatches, and text that is cut with dots."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.theme import Theme, current_theme

PAD = 16
AnyIndex = QModelIndex | QPersistentModelIndex


class ListRow(QStyledItemDelegate):
    """Paints a row of a height: its ground, then what ``draw`` sets on it."""

    def __init__(self, height_px: int, parent: QWidget) -> None:
        super().__init__(parent)
        self.height_px = height_px

    def draw(self, painter: QPainter, box: QRectF, index: AnyIndex, theme: Theme) -> None:
        """Paint what the row says into its box, which leaves the sides free."""
        raise NotImplementedError

    def sizeHint(self, option: QStyleOptionViewItem, index: AnyIndex) -> QSize:  # noqa: N802, ARG002
        """Return the row's height; the list gives the width."""
        return QSize(LEAST_PX, self.height_px)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: AnyIndex) -> None:
        """Paint the row by its state."""
        theme = current_theme()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_ground(painter, option, theme)
        self.draw(painter, QRectF(option.rect).adjusted(PAD, 0, -PAD, 0), index, theme)
        painter.restore()


LEAST_PX = 120


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

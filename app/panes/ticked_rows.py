"""List rows with a box to tick, painted as the boxes of the forms are."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from app.icons import draw_icon
from app.theme import current_theme


class TickRow(QStyledItemDelegate):
    """Paints the boxes as those of the forms are."""

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Paint a row, and its box over the one of the style."""
        super().paint(painter, option, index)
        state = index.data(Qt.ItemDataRole.CheckStateRole)
        if state is None:
            return
        shown = QStyleOptionViewItem(option)
        self.initStyleOption(shown, index)
        view = option.widget
        element = QStyle.SubElement.SE_ItemViewItemCheckIndicator
        box = QRectF(view.style().subElementRect(element, shown, view))
        is_on = Qt.CheckState(state) is not Qt.CheckState.Unchecked
        theme = current_theme()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(theme.accent if is_on else theme.ink_soft), 1))
        painter.setBrush(QColor(theme.accent if is_on else theme.surface_raised))
        painter.drawRoundedRect(box.adjusted(-0.5, -0.5, 0.5, 0.5), 3, 3)
        if Qt.CheckState(state) is Qt.CheckState.PartiallyChecked:
            painter.setPen(QPen(QColor(theme.accent_ink), 2))
            middle = box.center().y()
            painter.drawLine(QPointF(box.left() + 3, middle), QPointF(box.right() - 3, middle))
        elif is_on:
            draw_icon(painter, box, "check", QColor(theme.accent_ink))
        painter.restore()

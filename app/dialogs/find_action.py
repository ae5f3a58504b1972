"""The searchable list of everything that can be done."""

from PySide6.QtCore import (
    QEvent,
    QObject,
    QRect,
    QRectF,
    Qt,
)
from PySide6.QtGui import QAction, QIcon, QKeyEvent, QKeySequence, QPainter
from PySide6.QtWidgets import (
    QDialog,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.actions import Actions
from app.panes.rows import AnyIndex, ListRow, paint_text, sized
from app.style import dress
from app.theme import Theme

_ACTION, _NOTE = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1


class FindActionDialog(QDialog):
    """Type a few letters of any words, arrow to the action, Enter does it."""

    def __init__(self, actions: Actions, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Find a command")
        self.resize(560, 440)
        self.chosen: QAction | None = None
        self._actions = actions
        self.field = QLineEdit()
        self.field.setPlaceholderText("What do you want to do?")
        self.field.setAccessibleName("Find a command")
        self.field.textChanged.connect(self._fill)
        self.field.installEventFilter(self)
        self.list = QListWidget()
        self.list.setItemDelegate(_ActionRow(34, self.list))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.itemClicked.connect(lambda _: self.accept())
        self.none = QLabel("Nothing of that name. Try another word.")
        dress(self.none, "quiet")
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 16, 16, 16)
        column.setSpacing(12)
        for widget in (self.field, self.none, self.list):
            column.addWidget(widget)
        self._fill("")

    def accept(self) -> None:
        """Close with the marked action, when it can be done now."""
        item = self.list.currentItem()
        action = item.data(_ACTION) if item else None
        if action is not None and action.isEnabled():
            self.chosen = action
            super().accept()

    def _fill(self, text: str) -> None:
        words = text.lower().split()
        only_hinted: list[QListWidgetItem] = []
        self.list.clear()
        for name, action in self._actions:
            menu = self._actions.menu_of.get(name, "")
            told = f"{action.text()} {menu}".lower()
            hinted = f"{told} {self._actions.hint_of(name)}".lower()
            if name == "find_action" or not all(word in hinted for word in words):
                continue
            if all(word in told for word in words):
                self.list.addItem(_item(action, menu))
            else:
                only_hinted.append(_item(action, menu))
        for item in only_hinted:  # after those that say it in their name
            self.list.addItem(item)
        self.list.setCurrentRow(0)
        self.none.setVisible(self.list.count() == 0)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Send the arrow keys from the field to the list."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up):
                step = 1 if event.key() == Qt.Key.Key_Down else -1
                row = self.list.currentRow() + step
                self.list.setCurrentRow(max(0, min(self.list.count() - 1, row)))
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self.accept()
                return True
        return super().eventFilter(watched, event)


def _item(action: QAction, menu: str) -> QListWidgetItem:
    item = QListWidgetItem()
    item.setData(_ACTION, action)
    reason = "" if action.isEnabled() else action.toolTip().splitlines()[-1]
    text = action.text().replace("&", "")
    item.setData(_NOTE, reason or menu)
    item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{text}, {reason or menu}")
    if not action.isEnabled():
        item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEnabled)
    return item


class _ActionRow(ListRow):
    def draw(self, painter: QPainter, box: QRectF, index: AnyIndex, theme: Theme) -> None:
        action = index.data(_ACTION)
        ink = theme.ink if action.isEnabled() else theme.ink_soft
        place = QRect(int(box.left()), int(box.center().y()) - 8, 18, 18)
        mode = QIcon.Mode.Normal if action.isEnabled() else QIcon.Mode.Disabled
        action.icon().paint(painter, place, Qt.AlignmentFlag.AlignCenter, mode)
        keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
        paint_text(painter, box, keys, theme.ink_soft, Qt.AlignmentFlag.AlignRight)
        text = action.text().replace("&", "")
        words = box.adjusted(32, 0, -104, 0)
        paint_text(painter, words, text, ink)
        used = painter.fontMetrics().horizontalAdvance(text) + 16
        painter.setFont(sized(painter.font(), 12))
        paint_text(painter, words.adjusted(used, 0, 0, 0), index.data(_NOTE), theme.ink_soft)

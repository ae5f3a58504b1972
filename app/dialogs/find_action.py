"""The searchable list of everything that can be done."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence
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
from app.style import dress

_ACTION = Qt.ItemDataRole.UserRole


class FindActionDialog(QDialog):
    """Type a few letters of any words, arrow to the action, Enter does it."""

    def __init__(self, actions: Actions, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Find an action")
        self.resize(560, 440)
        self.chosen: QAction | None = None
        self._actions = actions
        self.field = QLineEdit()
        self.field.setPlaceholderText("What do you want to do?")
        self.field.setAccessibleName("Find an action")
        self.field.textChanged.connect(self._fill)
        self.field.installEventFilter(self)
        self.list = QListWidget()
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
        self.list.clear()
        for name, action in self._actions:
            if name == "find_action":
                continue
            menu = self._actions.menu_of.get(name, "")
            line = _line(action, menu)
            if all(word in line.lower() for word in words):
                self.list.addItem(_item(action, line))
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


def _line(action: QAction, menu: str) -> str:
    keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    return "   ".join(part for part in (action.text().replace("&", ""), menu, keys) if part)


def _item(action: QAction, line: str) -> QListWidgetItem:
    reason = "" if action.isEnabled() else f"   ({action.toolTip().splitlines()[-1]})"
    item = QListWidgetItem(action.icon(), line + reason)
    item.setData(_ACTION, action)
    if not action.isEnabled():
        item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEnabled)
    return item

"""The small box in which sizes are typed while one draws."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QLineEdit, QWidget

from core.errors import InputError

Reader = Callable[[str], float]


class TypedEntry(QFrame):
    """One or two fields at the pointer. Tab goes on, Enter takes, Escape drops."""

    taken = Signal(list)
    """The sizes, None where nothing was typed."""
    changed = Signal(list)
    """What is typed so far, read as far as it can be; None where nothing usable stands."""
    refused = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._over = parent
        self.setObjectName("typed_entry")
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setAutoFillBackground(True)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 4)
        row.setSpacing(6)
        self._labels = [QLabel(self), QLabel(self)]
        self.fields = [QLineEdit(self), QLineEdit(self)]
        self._readers: list[Reader] = []
        for label, edit in zip(self._labels, self.fields, strict=True):
            edit.setFixedWidth(84)
            edit.installEventFilter(self)
            edit.textEdited.connect(self._tell)
            row.addWidget(label)
            row.addWidget(edit)
        self.hide()

    def open(
        self, at: QPoint, names: tuple[str, ...], readers: list[Reader], text: str
    ) -> None:
        """Ask for sizes beside a place of the parent, with a first character typed already."""
        self._readers = readers
        for i, (label, edit) in enumerate(zip(self._labels, self.fields, strict=True)):
            label.setText(names[i] if i < len(names) else "")
            label.setVisible(i < len(names))
            edit.setVisible(i < len(names))
            edit.clear()
        self.fields[0].setText(text)
        self.adjustSize()
        room = self._over.rect().adjusted(4, 4, -self.width() - 4, -self.height() - 4)
        place = at + QPoint(16, 16)
        x = min(max(place.x(), room.left()), max(room.right(), room.left()))
        y = min(max(place.y(), room.top()), max(room.bottom(), room.top()))
        self.move(x, y)
        self.show()
        self.raise_()
        self.fields[0].setFocus()
        self.fields[0].end(False)  # noqa: FBT003 - Qt's own: do not select
        self._tell()

    def _tell(self) -> None:
        """Tell what is typed so far; half a size is no mistake yet."""
        sizes: list[float | None] = []
        for edit, reader in zip(self.fields, self._readers, strict=False):
            try:
                sizes.append(reader(edit.text()) if edit.text().strip() else None)
            except InputError:
                sizes.append(None)
        self.changed.emit(sizes)

    def close_entry(self) -> None:
        """Give the keys back to the canvas."""
        self.hide()
        self._over.setFocus()

    def _take(self) -> None:
        sizes: list[float | None] = []
        for edit, reader in zip(self.fields, self._readers, strict=False):
            text = edit.text().strip()
            try:
                sizes.append(reader(text) if text else None)
            except InputError as refusal:
                self.refused.emit(refusal.sentence())
                edit.setFocus()
                edit.selectAll()
                return
        self.close_entry()
        self.taken.emit(sizes)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Take Enter, Escape and Tab before the fields or the window do."""
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return False
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return super().eventFilter(watched, event)
        match event.key():
            case Qt.Key.Key_Return | Qt.Key.Key_Enter:
                self._take()
            case Qt.Key.Key_Escape:
                self.close_entry()
            case Qt.Key.Key_Tab | Qt.Key.Key_Backtab:
                other = self.fields[1] if watched is self.fields[0] else self.fields[0]
                if other.isVisible():
                    other.setFocus()
                    other.selectAll()
            case _:
                return super().eventFilter(watched, event)
        return True

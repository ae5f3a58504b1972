"""Input fields that hand on a finished value: lengths with units, choices, names."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QWheelEvent
from PySide6.QtWidgets import QComboBox, QLineEdit, QPlainTextEdit, QWidget

from app.panes.controls import Combo, Spin
from app.style import dress
from core.document.job import Units
from core.errors import LaplineError
from core.units import format_length, parse_length


class TextField(QLineEdit):
    """A line of text, handed on when it is finished and differs."""

    committed = Signal(str)
    marked = Signal(str)
    """What is wrong with what is typed, or "" when nothing is."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown = ""
        self.setMinimumWidth(64)
        self.editingFinished.connect(self._on_finished)

    def show_text(self, text: str) -> None:
        """Show a value, unless the user is typing another."""
        self._shown = text
        if not (self.hasFocus() and self.isModified()):
            self.setText(text)
            self.setCursorPosition(0)
            self._mark("")

    def refuse(self, problem: str) -> None:
        """Say what is wrong with what was typed, which stays there to be mended."""
        self._mark(problem)

    def _on_finished(self) -> None:
        if self.text() == self._shown:
            self._mark("")
            return
        self.setModified(False)
        self._commit(self.text())

    def _commit(self, text: str) -> None:
        self.committed.emit(text)

    def _mark(self, problem: str) -> None:
        dress(self, "wrong" if problem else "")
        self.setToolTip(problem)
        self.marked.emit(problem)

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the window while nothing is being typed."""
        if not self.isModified() and _is_history_key(event):
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Give the old value back on Escape."""
        if event.key() == Qt.Key.Key_Escape and self.text() != self._shown:
            self.setModified(False)
            self.show_text(self._shown)
            return
        super().keyPressEvent(event)


class LengthField(TextField):
    """A length with its unit; "75 cm", "29 1/2 in" and sums are understood.

    An empty field of a length that may be left open stands for None.
    """

    given = Signal(object)
    """The length in mm, or None."""
    refused = Signal(str)
    """Why what was typed is not a length."""

    def __init__(self, *, is_optional: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_optional = is_optional
        self._units = Units.MM

    def show_mm(self, value: float | None, units: Units, *, otherwise: str = "") -> None:
        """Show a length; ``otherwise`` is shown faintly where there is none."""
        self._units = units
        self.setPlaceholderText(otherwise)
        self.show_text("" if value is None else format_length(value, units))

    def value_mm(self) -> float | None:
        """Return what is typed. InputError when it is not a length."""
        text = self.text().strip()
        if not text and self._is_optional:
            return None
        return parse_length(text, self._units)

    def _commit(self, text: str) -> None:
        del text
        try:
            value = self.value_mm()
        except LaplineError as error:
            self._mark(error.sentence())
            self.refused.emit(error.sentence())
            return
        self._mark("")
        self.given.emit(value)


class TasksField(QPlainTextEdit):
    """Lines of text, one a task, handed on when they are finished and differ."""

    given = Signal(list)
    """The lines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown = ""
        self.setTabChangesFocus(True)
        self.setMinimumWidth(64)
        self.setFixedHeight(7 * self.fontMetrics().lineSpacing())

    def show_tasks(self, tasks: Sequence[str]) -> None:
        """Show the lines, unless the user is typing others."""
        self._shown = "\n".join(tasks)
        if not (self.hasFocus() and self.document().isModified()):
            self._put_back()

    def finish(self) -> None:
        """Hand the lines on, if they differ."""
        if self.document().isModified() and self.toPlainText() != self._shown:
            self.document().setModified(False)
            self.given.emit(self.toPlainText().split("\n"))

    def _put_back(self) -> None:
        if self.toPlainText() != self._shown:
            self.setPlainText(self._shown)
        self.document().setModified(False)

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the window while nothing is being typed."""
        if not self.document().isModified() and _is_history_key(event):
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Give the old lines back on Escape."""
        if event.key() == Qt.Key.Key_Escape and self.document().isModified():
            self._put_back()
            return
        super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Finish typing."""
        super().focusOutEvent(event)
        self.finish()


class ChoiceField(Combo):
    """A choice between values; wheel turns are left to the pane's scrolling."""

    chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._options: list[tuple[str, object]] = []
        self.setMinimumWidth(64)
        self.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.activated.connect(lambda row: self.chosen.emit(self._options[row][1]))

    def show_choice(self, options: Sequence[tuple[str, object]], value: object) -> None:
        """Show the options (text, value) with one of them chosen."""
        with QSignalBlocker(self):
            if list(options) != self._options:
                self._options = list(options)
                self.clear()
                self.addItems([text for text, _ in options])
            values = [v for _, v in options]
            self.setCurrentIndex(values.index(value) if value in values else -1)
        self.setToolTip(self.currentText())

    def pick(self, value: object) -> None:
        """Choose a value as the user does."""
        row = [v for _, v in self._options].index(value)
        self.setCurrentIndex(row)
        self.activated.emit(row)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Leave the wheel to the pane."""
        event.ignore()


class CountField(Spin):
    """A whole number, handed on when it is finished."""

    counted = Signal(int)

    def __init__(self, low: int, high: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setRange(low, high)
        self.setKeyboardTracking(False)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.valueChanged.connect(self.counted)

    def show_count(self, value: int) -> None:
        """Show a number without handing it on."""
        with QSignalBlocker(self):
            self.setValue(value)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Leave the wheel to the pane."""
        event.ignore()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Finish typing."""
        self.interpretText()
        super().focusOutEvent(event)

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the window while nothing is being typed."""
        if not self.lineEdit().isModified() and _is_history_key(event):
            event.ignore()
            return False
        return super().event(event)


def _is_history_key(event: QEvent) -> bool:
    """Whether a field is asked to keep undo or redo from the window's shortcuts."""
    if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
        return False
    keys = QKeySequence.StandardKey
    return event.matches(keys.Undo) or event.matches(keys.Redo)

"""What the pages of the photo window are built of."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFormLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.icons import icon
from app.photo.desk import PhotoDesk
from app.style import dress
from core.document.job import Units
from core.errors import LaplineError
from core.units import format_length

SPAN_MM = 800.0
"""Errors are told over this length."""


class Page(QWidget):
    """A column of controls with a line for what is wrong below them."""

    def __init__(self, desk: PhotoDesk, units: Units) -> None:
        super().__init__()
        self.desk, self.units = desk, units
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(10)
        self.problem = wrapped("stop")
        self.problem.hide()

    def finish(self) -> None:
        """Put the problem line below, and room."""
        self.column.addWidget(self.problem)
        self.column.addStretch()

    def refuse(self, error: LaplineError | None) -> None:
        """Say what is wrong, or nothing any more."""
        self.problem.setText("" if error is None else f"{error.what} {error.mend}".strip())
        self.problem.setVisible(error is not None)

    def trying(self, deed: Callable[[], None]) -> None:
        """Do something; say it when it is refused."""
        self.refuse(None)
        try:
            deed()
        except LaplineError as error:
            self.refuse(error)

    def add_length(self, form: QFormLayout, label: str, value_mm: float) -> QLineEdit:
        """Add a field for a length."""
        field = QLineEdit(format_length(value_mm, self.units))
        field.setAccessibleName(label)
        form.addRow(label, field)
        return field


def count_words(number: int, word: str) -> str:
    """Return a number with its word: "2 sheets", "No mark"."""
    return f"{number or 'No'} {word}{'' if number == 1 else 's'}"


def wrapped(look: str) -> QLabel:
    """Return a label whose text wraps."""
    label = QLabel()
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    dress(label, look)
    return label


def new_form() -> QFormLayout:
    """Return a form without margins."""
    form = QFormLayout()
    form.setContentsMargins(0, 0, 0, 0)
    form.setHorizontalSpacing(12)
    form.setVerticalSpacing(8)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return form


def push_button(words: str, picture: str, slot: Callable[[], None]) -> QPushButton:
    """Return a button that Enter in a field does not press."""
    button = QPushButton(icon(picture), f" {words}")
    button.setAutoDefault(False)
    button.clicked.connect(lambda _checked: slot())
    return button

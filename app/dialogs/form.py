"""What the dialogs share: a form, a line for what is wrong, and the two buttons."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from app.style import dress
from core.document.job import Units
from core.errors import InputError, LaplineError
from core.units import format_length, parse_length


class FormDialog(QDialog):
    """A form that stays open until what is typed is usable.

    Subclasses fill ``form`` and override ``check``, which raises a LaplineError to stay open.
    """

    def __init__(self, title: str, parent: QWidget | None, *, button: str = "OK") -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setMinimumWidth(400)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(24, 20, 24, 20)
        self.column.setSpacing(16)
        heading = QLabel(title)
        dress(heading, "job")
        self.column.addWidget(heading)
        self.form = _empty_form()
        self.column.addLayout(self.form)
        self.problem = QLabel()
        self.problem.setWordWrap(True)
        self.problem.setTextFormat(Qt.TextFormat.PlainText)
        dress(self.problem, "stop")
        self.problem.hide()
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        ok.setText(button)
        ok.setDefault(True)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)

    def begin_side(self) -> QVBoxLayout:
        """Begin a second column, for screens that are low; what is added goes there now."""
        self.column.removeItem(self.form)
        row = QHBoxLayout()
        row.setSpacing(32)
        row.addLayout(self.form, 4)
        side = QVBoxLayout()
        side.setSpacing(16)
        self.form = _empty_form()
        side.addLayout(self.form)
        row.addLayout(side, 6)
        self.column.addLayout(row)
        return side

    def set_beside(self, picture: QWidget, width_px: int) -> QVBoxLayout:
        """Set the form in a column beside a picture, above the buttons; return the column."""
        self.column.removeItem(self.form)
        side = QWidget()
        side.setFixedWidth(width_px)
        left = QVBoxLayout(side)
        left.setContentsMargins(0, 0, 0, 0)
        left.setSpacing(12)
        left.addLayout(self.form)
        row = QHBoxLayout()
        row.setSpacing(24)
        row.addWidget(side)
        row.addWidget(picture, 1)
        self.column.addLayout(row, 1)
        self.column.addWidget(self.buttons)
        return left

    def finish_layout(self) -> None:
        """Put the problem line and the buttons below what was added so far."""
        self.column.addWidget(self.problem)
        self.column.addStretch()
        self.column.addWidget(self.buttons)

    def check(self) -> None:
        """Read the fields. LaplineError when they are not usable."""
        raise NotImplementedError

    def accept(self) -> None:
        """Close when the fields are usable, else say what is wrong."""
        try:
            self.check()
        except LaplineError as error:
            self.problem.setText(error.sentence())
            self.problem.show()
            return
        super().accept()

    def add_field(self, label: str, field: QWidget) -> None:
        """Add a field with its label."""
        field.setAccessibleName(label)
        self.form.addRow(label, field)

    def add_text(self, label: str, value: str = "") -> QLineEdit:
        """Add a line of text."""
        field = QLineEdit(value)
        self.add_field(label, field)
        return field

    def add_pair(
        self, first: tuple[str, str], second: tuple[str, str]
    ) -> tuple[QLineEdit, QLineEdit]:
        """Add two short lines of text (label, value) in one row, for screens that are low."""
        (label, value), (other_label, other_value) = first, second
        field, other = QLineEdit(value), QLineEdit(other_value)
        field.setAccessibleName(label)
        other.setAccessibleName(other_label)
        words = QLabel(other_label)
        words.setBuddy(other)
        row = QHBoxLayout()
        row.setSpacing(12)
        for widget, share in ((field, 1), (words, 0), (other, 1)):
            row.addWidget(widget, share)
        self.form.addRow(label, row)
        return field, other

    def add_length(self, label: str, value_mm: float, units: Units) -> QLineEdit:
        """Add a length."""
        return self.add_text(label, format_length(value_mm, units))


def _empty_form() -> QFormLayout:
    form = QFormLayout()
    form.setHorizontalSpacing(16)
    form.setVerticalSpacing(10)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return form


def read_length(field: QLineEdit, units: Units, *, least_mm: float = 0.0) -> float:
    """Return the length in a field. InputError names the field."""
    label = field.accessibleName()
    try:
        value = parse_length(field.text(), units)
    except LaplineError as error:
        raise InputError(error.what, where=label, mend=error.mend) from error
    if value < least_mm:
        least = format_length(least_mm, units)
        raise InputError(f"It has to be at least {least}.", where=label)
    return value


def read_number(field: QLineEdit, *, high: float = 1e6) -> float:
    """Return the number from 0 up in a field. InputError names the field."""
    text = field.text().strip().replace(",", ".")
    try:
        value = float(text or "0")
    except ValueError:
        value = -1.0
    if not 0 <= value <= high:
        label = field.accessibleName()
        raise InputError(
            f"A number from 0 to {high:,.0f} is needed.",
            where=label,
            mend="Write it in digits, such as 16.50.",
        )
    return value


def read_name(field: QLineEdit) -> str:
    """Return the name in a field. InputError when it is empty."""
    name = field.text().strip()
    if not name:
        raise InputError("A name is needed.", where=field.accessibleName())
    return name

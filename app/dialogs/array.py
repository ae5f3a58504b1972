"""Rows and columns for repeating what is selected."""

from PySide6.QtWidgets import QSpinBox, QWidget

from app.dialogs.form import FormDialog
from core.document.path import Point
from core.errors import InputError, LaplineError
from core.units import Units, parse_length

MOST = 100


class ArrayDialog(FormDialog):
    """Asks how often and how far apart. ``counts`` and ``gaps`` hold after it was accepted."""

    def __init__(self, units: Units, parent: QWidget | None) -> None:
        super().__init__("Repeat in rows and columns", parent, button="Repeat")
        self._units = units
        self.rows = self._add_count("Rows, upward", 1)
        self.columns = self._add_count("Columns, to the right", 2)
        self.across = self.add_length("Gap between columns", 50.0, units)
        self.up = self.add_length("Gap between rows", 50.0, units)
        self.counts = (1, 1)
        self.gaps: Point = (0.0, 0.0)
        self.finish_layout()

    def _add_count(self, label: str, value: int) -> QSpinBox:
        field = QSpinBox()
        field.setRange(1, MOST)
        field.setValue(value)
        self.add_field(label, field)
        return field

    def check(self) -> None:
        """Read the fields; gaps may be negative, for what overlaps."""
        self.counts = (self.rows.value(), self.columns.value())
        if self.counts == (1, 1):
            raise InputError("This repeats nothing.", mend="Ask for two rows or columns.")
        gaps = []
        for field in (self.across, self.up):
            try:
                gaps.append(parse_length(field.text(), self._units))
            except LaplineError as error:
                label = field.accessibleName()
                raise InputError(error.what, where=label, mend=error.mend) from error
        self.gaps = (gaps[0], gaps[1])

"""The table of readings: stations and the ways between them, from the first to the last.

Enter goes to the reading that is measured next.
"""

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app.measured.readings import format_readings, parse_readings
from app.panes.fields import TextField
from app.style import dress
from core.document.job import Units
from core.document.surface import (
    MAY_BE_ZERO,
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    line_names,
    place_name,
    places,
    reading_at,
)
from core.errors import LaplineError

Values = tuple[float, ...]
LEAST_PX, MOST_PX = 98, 116
"""How wide a field is: two readings are seen whole, and the table needs no more room than the
window has, so that names of rows stay in sight."""
_CHECKS = {
    ReadingKind.FIRST_BESIDE: "Tight tape, station 1",
    ReadingKind.LAST_BESIDE: "Tight tape, station {last}",
    ReadingKind.TO_LEFT: "Diagonal from the right",
    ReadingKind.TO_RIGHT: "Diagonal from the left",
}
"""The rows of the checks, from the first; they belong to no line."""


class ReadingField(TextField):
    """One reading, repeats parted by semicolons."""

    given = Signal(tuple)
    entered = Signal()
    """It has the focus now."""
    left = Signal(int)
    """Enter or an arrow was pressed: go on by so many readings."""

    def __init__(self, name: str, units: Units, *, may_be_zero: bool = False) -> None:
        super().__init__()
        self._units, self._may_be_zero = units, may_be_zero
        self.setAccessibleName(name)
        self.setMinimumWidth(LEAST_PX)
        self.setMaximumWidth(MOST_PX)
        self.setAlignment(Qt.AlignmentFlag.AlignHCenter)

    def show_values(self, values: Values) -> None:
        """Show what was read."""
        self.show_text(format_readings(values, self._units))

    def _commit(self, text: str) -> None:
        try:
            values = parse_readings(text, self._units, may_be_zero=self._may_be_zero)
        except LaplineError as error:
            self._mark(error.sentence())
            return
        self._mark("")
        self.given.emit(values)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Tell which reading is taken now."""
        super().focusInEvent(event)
        self.selectAll()
        self.entered.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Go on with Enter, back with Shift and Enter, and up and down by arrows."""
        keys = Qt.Key
        step = {keys.Key_Return: 1, keys.Key_Enter: 1, keys.Key_Down: 1, keys.Key_Up: -1}
        way = step.get(Qt.Key(event.key()))
        if way is None:
            super().keyPressEvent(event)
            return
        self._on_finished()
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            way = -way
        if self.property("look") != "wrong":
            self.left.emit(way)


class ReadingTable(QWidget):
    """All readings of a grid."""

    given = Signal(object, tuple)
    """A place, and what was read there."""
    current_changed = Signal(object)
    """The place whose reading is taken now."""
    marked = Signal(str)
    """What is wrong with what is typed, or ""."""

    def __init__(self, units: Units) -> None:
        super().__init__()
        self._units = units
        self._shape: tuple[int, int] | None = None
        self._order: list[ReadingPlace] = []
        self.fields: dict[ReadingPlace, ReadingField] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(4)

    def show_grid(self, surface: MeasuredSurface) -> None:
        """Show what was read."""
        shape = (surface.stations, surface.lines)
        if shape != self._shape:
            self._build(surface)
            self._shape = shape
        for place, field in self.fields.items():
            field.show_values(reading_at(surface, place))

    def go_to(self, place: ReadingPlace) -> None:
        """Put the cursor into a reading; KeyError when the grid has none there."""
        self.fields[place].setFocus()

    def mark_doubtful(self, doubts: dict[ReadingPlace, str]) -> None:
        """Frame the readings that do not fit the others."""
        for place, field in self.fields.items():
            if field.property("look") == "wrong":
                continue
            words = doubts.get(place, "")
            dress(field, "doubtful" if words else "")
            field.setToolTip(words)

    def _build(self, surface: MeasuredSurface) -> None:
        for field in self.fields.values():
            field.blockSignals(True)  # noqa: FBT003 - it may have the focus while it goes
        while (item := self._grid.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self.fields.clear()
        self._order = list(places(surface))
        names = line_names(surface.lines) if surface.lines else ("length", "width")
        self._label(f"in {self._units}", 0, 0)
        for column, name in enumerate(names):
            self._label(name.capitalize(), 0, column + 1, is_centred=True)
        for number, place in enumerate(self._order):
            self._add(surface, place, number)
        for station in range(surface.stations):
            self._label(f"Station {station + 1}", 1 + 2 * station, 0)
            spine = QLabel("·")
            spine.setAlignment(Qt.AlignmentFlag.AlignCenter)
            self._grid.addWidget(spine, 1 + 2 * station, surface.lines // 2 + 1)
            if station < surface.stations - 1:
                self._label(f"{station + 1} to {station + 2}", 2 + 2 * station, 0)
        if surface.stations:
            for row, name in enumerate(_CHECKS.values()):
                words = name.format(last=surface.stations)
                self._label(words, 2 * surface.stations + row, 0, columns=2)
        self._grid.setRowStretch(self._grid.rowCount(), 1)

    def _add(self, surface: MeasuredSurface, place: ReadingPlace, number: int) -> None:
        field = ReadingField(
            place_name(place, surface), self._units, may_be_zero=place.kind in MAY_BE_ZERO
        )
        field.given.connect(partial(self.given.emit, place))
        field.entered.connect(partial(self.current_changed.emit, place))
        field.left.connect(partial(self._go_on, number))
        field.marked.connect(self.marked)
        self.fields[place] = field
        row, column = _cell(place, surface)
        self._grid.addWidget(field, row, column)
        self._grid.setColumnStretch(column, 1)
        field.show()  # at once, so that it can take the cursor
        before = self.fields.get(self._order[number - 1]) if number else None
        if before is not None:
            QWidget.setTabOrder(before, field)

    def _label(
        self, text: str, row: int, column: int, *, is_centred: bool = False, columns: int = 1
    ) -> None:
        label = QLabel(text)
        dress(label, "quiet")
        if is_centred:
            label.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self._grid.addWidget(label, row, column, 1, columns)
        label.show()  # at once, so that it counts for how wide the table is

    def _go_on(self, number: int, step: int) -> None:
        """Go to the reading that comes so many after one, if there is one."""
        target = number + step
        if 0 <= target < len(self._order):
            self.fields[self._order[target]].setFocus()


def _cell(place: ReadingPlace, surface: MeasuredSurface) -> tuple[int, int]:
    match place.kind:
        case ReadingKind.OFFSET:
            return 1 + 2 * place.row, place.line + 1
        case ReadingKind.LENGTH:
            return 2 + 2 * place.row, place.line + 1
        case ReadingKind.WHOLE_LENGTH | ReadingKind.WHOLE_WIDTH:
            return 1, 1 + (place.kind is ReadingKind.WHOLE_WIDTH)
        case kind:
            return 2 * surface.stations + list(_CHECKS).index(kind), 2

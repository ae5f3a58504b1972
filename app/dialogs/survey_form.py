"""The sides and diagonals of a polygon, typed; each shown with what it is off in the end."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.form import read_length
from app.panes.controls import Spin
from app.panes.pane import quiet_label
from core.document.job import Units
from core.document.path import Path, Point
from core.document.shaping import ring_of
from core.geometry.bezier import Chain
from core.geometry.shapes import ellipse_corners, polygon
from core.geometry.survey import (
    MOST_CORNERS,
    Pair,
    Survey,
    Surveyed,
    name_of,
    needed_measures,
    survey_polygon,
)
from core.units import format_length

FIRST_COUNT = 4
ACCURACY_MM = 2.0


@dataclass(frozen=True, slots=True)
class DrawnMeasure:
    """A measure as the picture shows it."""

    text: str
    start: Point
    end: Point
    is_pointed: bool = False


@dataclass(frozen=True, slots=True)
class Sketch:
    """The polygon as far as it is known.

    Attributes:
        is_true: it is to scale; else it only shows which corner is which.
    """

    ring: Path
    measures: tuple[DrawnMeasure, ...]
    is_true: bool


class SurveyForm(QWidget):
    """Asks for how many corners, the sides, the diagonals, and which corners point inward."""

    changed = Signal()
    pointed = Signal()
    """Another measure is being typed."""

    def __init__(self, units: Units, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._units = units
        self.fields: dict[Pair, QLineEdit] = {}
        self._off: dict[Pair, QLabel] = {}
        self.inward: list[QToolButton] = []
        self._result: Surveyed | None = None
        self._pointed: Pair | None = None
        self.progress = ""
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(10)
        column.addLayout(self._head())
        column.addWidget(quiet_label("Corners that point inward"))
        self._corners = QHBoxLayout()
        self._corners.setSpacing(4)
        column.addLayout(self._corners)
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        column.addWidget(self._area, 1)
        self._rebuild()

    def _head(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        self.count = Spin()
        self.count.setRange(3, MOST_CORNERS)
        self.count.setValue(FIRST_COUNT)
        self.count.setAccessibleName("Corners")
        self.count.valueChanged.connect(self._rebuild)
        self.accuracy = QLineEdit(format_length(ACCURACY_MM, self._units))
        self.accuracy.setAccessibleName("Tape good to")
        self.accuracy.setToolTip("Measures that fit worse than this allows are refused")
        self.accuracy.textEdited.connect(lambda _: self.changed.emit())
        for words, field in (("Corners", self.count), ("Tape good to", self.accuracy)):
            label = QLabel(words)
            label.setBuddy(field)
            row.addWidget(label)
            row.addWidget(field, 1)
        return row

    def _rebuild(self) -> None:
        """Make a field for each side and each diagonal; what was typed stays."""
        old = {pair: field.text() for pair, field in self.fields.items()}
        count = self.count.value()
        self._make_corners(count)
        page = QWidget()
        grid = QGridLayout(page)
        grid.setContentsMargins(0, 0, 8, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(6)
        grid.setColumnStretch(1, 1)
        self.fields, self._off = {}, {}
        sides, diagonals = _pairs(count)
        row = self._add_rows(grid, 0, "Sides, in order counter-clockwise", sides, old)
        more = count - 3
        if diagonals:
            least = "one" if more == 1 else str(more)
            words = f"Diagonals: any {least}, and more to be surer"
            row = self._add_rows(grid, row, words, diagonals, old)
        grid.setRowStretch(row, 1)
        self._area.setWidget(page)
        self._result = None
        self.changed.emit()

    def _make_corners(self, count: int) -> None:
        while (item := self._corners.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        was = {b.text() for b in self.inward if b.isChecked()}
        self.inward = []
        for i in range(count):
            button = QToolButton()
            button.setText(str(i + 1))
            button.setStyleSheet("padding: 5px 0")  # twelve of them fit in a row
            button.setFixedWidth(26)
            button.setCheckable(True)
            button.setChecked(str(i + 1) in was)
            button.setToolTip(f"Corner {i + 1} points into the panel")
            button.toggled.connect(lambda _: self.changed.emit())
            self._corners.addWidget(button)
            self.inward.append(button)
        self._corners.addStretch()

    def _add_rows(
        self,
        grid: QGridLayout,
        row: int,
        title: str,
        pairs: list[Pair],
        old: Mapping[Pair, str],
    ) -> int:
        grid.addWidget(quiet_label(title), row, 0, 1, 3)
        for pair in pairs:
            row += 1
            field = QLineEdit(old.get(pair, ""))
            field.setAccessibleName(name_of(pair))
            field.textEdited.connect(lambda _: self.changed.emit())
            field.installEventFilter(self)
            off = quiet_label("")
            off.setWordWrap(False)
            off.setMinimumWidth(72)
            label = QLabel(name_of(pair))
            label.setBuddy(field)
            grid.addWidget(label, row, 0)
            grid.addWidget(field, row, 1)
            grid.addWidget(off, row, 2)
            self.fields[pair], self._off[pair] = field, off
        return row + 1

    def read(self) -> bool:
        """Work the polygon out; False while too little is typed yet, as ``progress`` says.

        Raises:
            LaplineError: what is typed is no length, or the measures cannot be.
        """
        self._result = None
        for label in self._off.values():
            label.setText("")
        lengths = {
            pair: read_length(field, self._units)
            for pair, field in self.fields.items()
            if field.text().strip()
        }
        count = self.count.value()
        sides, _ = _pairs(count)
        open_sides = [name_of(p) for p in sides if p not in lengths]
        missing = needed_measures(count) - len(lengths)
        if open_sides or missing > 0:
            self.progress = _wanting(open_sides, missing - len(open_sides))
            return False
        self.progress = ""
        inward = frozenset(i for i, b in enumerate(self.inward) if b.isChecked())
        accuracy = read_length(self.accuracy, self._units, least_mm=0.01)
        self._result = survey_polygon(Survey(count, lengths, inward, accuracy, self._units))
        self._show_off(self._result)
        return True

    def _show_off(self, result: Surveyed) -> None:
        if result.spread_mm is None:
            self.progress = "No measure to spare: a slip of the tape would not be seen."
            return
        for pair, mm in result.residuals_mm.items():
            self._off[pair].setText(f"off {self._say(abs(mm))}")
        spares = "1 spare measure" if result.spare == 1 else f"{result.spare} spare measures"
        self.progress = f"With {spares}, a measure is good to ±{self._say(result.spread_mm)}."

    def _say(self, mm: float) -> str:
        return format_length(mm, self._units)

    def chain(self) -> Chain:
        """Return the polygon that was read last."""
        assert self._result is not None
        return polygon([complex(x, y) for x, y in self._result.points])

    def sketch(self) -> Sketch:
        """Return the polygon, or a regular one with its corners numbered alike."""
        if self._result is not None:
            ring = ring_of(self.chain())
        else:
            ring = ring_of(polygon(ellipse_corners(self.count.value())))
        measures = []
        for pair, field in self.fields.items():
            text = field.text().strip()
            is_pointed = pair == self._pointed
            if text or is_pointed:
                a, b = (ring[k].at for k in pair)
                measures.append(DrawnMeasure(text, a, b, is_pointed))
        if self._result is None:
            sides, _ = _pairs(self.count.value())
            drawn = {(m.start, m.end) for m in measures}
            bare = [DrawnMeasure("", ring[a].at, ring[b].at) for a, b in sides]
            measures = [m for m in bare if (m.start, m.end) not in drawn] + measures
        return Sketch(ring, tuple(measures), self._result is not None)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Point at the measure whose field is being typed into."""
        if event.type() in (QEvent.Type.FocusIn, QEvent.Type.FocusOut):
            at = next((p for p, f in self.fields.items() if f is watched), None)
            self._pointed = at if event.type() == QEvent.Type.FocusIn else None
            self.pointed.emit()
        return super().eventFilter(watched, event)


def _pairs(count: int) -> tuple[list[Pair], list[Pair]]:
    """Return the sides in order and the diagonals of a polygon."""
    sides = [(i, i + 1) for i in range(count - 1)] + [(0, count - 1)]
    others = [p for p in itertools.combinations(range(count), 2) if p not in sides]
    return sides, others


def _wanting(sides: list[str], diagonals: int) -> str:
    """Say what is still to be measured."""
    parts = []
    if sides:
        parts.append(f"side {sides[0]}" if len(sides) == 1 else f"{len(sides)} sides")
    if diagonals > 0:
        parts.append("one diagonal" if diagonals == 1 else f"{diagonals} diagonals")
    return f"Still to be measured: {' and '.join(parts)}."

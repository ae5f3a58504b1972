"""The fields beside a scan: its size, how a click chooses, what it becomes."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.panes.controls import Combo, Spin, Tick
from app.panes.fields import ChoiceField
from app.panes.pane import quiet_label
from app.solid.scan_size import UNITS
from app.style import dress
from core.document.job import Job
from core.units import format_length

WAYS: tuple[tuple[str, str, str], ...] = (
    ("angle", "Up to an edge", "Click: as far as no edge is sharper, and no place leans more"),
    ("lasso", "Lasso", "Draw round what you see"),
    ("loop", "Rim", "Click a line where the scan ends: all that it bounds"),
    ("shell", "Whole", "Click: everything that hangs together"),
)
SCALE_WORDS = "Click two points whose distance you know."
_ADDS = "More is added, with Ctrl taken away; “Nothing” starts anew."
ADDS = {False: _ADDS, True: f"{_ADDS} Other angles choose the last click anew."}
CLOSED_MM = 25.0
"""Openings up to this across are offered to be closed."""
TORN = 40
"""More openings than a part has by itself."""
TORN_WORDS = (
    " The scan is torn: the panel would get each of them, and the job slow. Close the small"
    " ones, or mend the scan."
)
WIDTH_PX = 332


class ScanForm(QWidget):
    """The fields; what they mean is up to the window."""

    way_taken = Signal(str)

    def __init__(self, title: str, told: Sequence[str], job: Job) -> None:
        super().__init__()
        self.setFixedWidth(WIDTH_PX)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(8)
        heading = QLabel(f"Panel from {title}")
        dress(heading, "job")
        self.facts = quiet_label("")
        for widget in (heading, self.facts, *(quiet_label(f"· {line}") for line in told)):
            self._column.addWidget(widget)
        self._column.addSpacing(8)
        self._group = QButtonGroup(self)
        self.way_buttons: dict[str, QPushButton] = {}
        self._add_scale()
        self._column.addSpacing(8)
        self._add_ways()
        self._add_choice()
        self._add_closing(job)
        self._column.addStretch()
        self._add_panel(job)

    @property
    def way(self) -> str:
        """How a click or a drag chooses now."""
        return next(name for name, b in self.way_buttons.items() if b.isChecked())

    def show_way(self, name: str) -> None:
        """Show the fields that belong to a way of choosing."""
        self.way_buttons[name].setChecked(True)
        words = next((words for n, _, words in WAYS if n == name), "")
        self.way_words.setText(f"{words}. {ADDS[name == 'angle']}")
        self.way_words.setVisible(bool(words))
        self.scale_words.setText(SCALE_WORDS)
        self.scale_words.setVisible(name == "length")
        self._angles.setVisible(name == "angle")
        self.takes_away.setVisible(name != "length")
        self._scale_row.setVisible(name == "length")

    def show_factor(self, factor: float) -> None:
        """Show what the file's numbers are multiplied by."""
        options: list[tuple[str, object]] = [(f"The file is in {name}", k) for name, k in UNITS]
        if factor not in [k for _, k in UNITS]:
            options.append((f"Scaled to a known length (× {factor:.4g})", factor))
        self.unit.show_choice(options, factor)

    def tell(self, problem: str) -> None:
        """Say what is wrong; "" for nothing."""
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))

    def _add_scale(self) -> None:
        self.unit = ChoiceField()
        self.unit.setAccessibleName("Unit of the file")
        self.length = QLineEdit()
        self.length.setPlaceholderText("their true distance")
        self.length.setAccessibleName("True distance of the two points")
        self.set_length = _button("Set scale")
        self._scale_row = _row_of(self.length, self.set_length)
        self.scale_words = quiet_label("")
        by_points = self._way_button("length", "By two points")
        by_points.setToolTip(SCALE_WORDS)
        by_points.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        for widget in (
            _title("How large it is"), _row_of(self.unit, by_points), self.scale_words,
            self._scale_row,
        ):  # fmt: skip
            self._column.addWidget(widget)

    def _add_ways(self) -> None:
        self._column.addWidget(_title("What is to be covered"))
        self._column.addWidget(_row_of(*(self._way_button(n, text) for n, text, _ in WAYS)))

    def _way_button(self, name: str, text: str) -> QPushButton:
        """Return a button for what clicks mean; one of them is down."""
        button = _button(text)
        button.setCheckable(True)
        button.clicked.connect(lambda: self.way_taken.emit(name))
        self._group.addButton(button)
        self.way_buttons[name] = button
        return button

    def _add_choice(self) -> None:
        self.way_words = quiet_label("")
        self.angle = _angle("Edges to ", 25, "The sharpest edge that is passed")
        self.lean = _angle("Leaning to ", 180, "Where the part leans more than this it ends")
        self._angles = _row_of(self.angle, self.lean)
        self.takes_away = Tick("Take away instead")
        self.takes_away.setToolTip("So does holding Ctrl while you click or draw")
        self.all, self.none, self.back = map(_button, ("All", "Nothing", "Back a step"))
        self.other_side = _button("Other side")
        self.other_side.setToolTip("Film goes on the side that is bright; turn the scan over")
        self.chosen_words = QLabel()
        self.chosen_words.setWordWrap(True)
        for widget in (
            self.way_words, self._angles, self.takes_away,
            _row_of(self.all, self.none, self.back, self.other_side), self.chosen_words,
        ):  # fmt: skip
            self._column.addWidget(widget)

    def _add_closing(self, job: Job) -> None:
        self.across = QLineEdit(format_length(CLOSED_MM, job.units))
        self.across.setAccessibleName("Close openings up to this across")
        self.close_up = _button("Close")
        self.close_up.setToolTip("Close the openings of the scan that are no larger across")
        words = QLabel("Openings up to")
        words.setBuddy(self.across)
        self.closing = _row_of(words, self.across, self.close_up)
        self._column.addWidget(self.closing)

    def show_chosen(self, words: str, *, openings: int) -> None:
        """Say what is chosen; a warning where it is torn."""
        is_torn = openings > TORN
        self.chosen_words.setText(words + TORN_WORDS if is_torn else words)
        dress(self.chosen_words, "warn" if is_torn else "")
        self.closing.setVisible(openings > 0)

    def _add_panel(self, job: Job) -> None:
        self.name = QLineEdit(f"Panel {len(job.panels) + 1}")
        self.name.setAccessibleName("Name")
        self.film = Combo()
        self.film.setAccessibleName("Base film")
        for film in job.films:
            self.film.addItem(film.name, film.id)
        self.problem = QLabel()
        self.problem.setWordWrap(True)
        dress(self.problem, "stop")
        self.problem.hide()
        self.cancel, self.make = _button("Cancel"), _button("Make the panel")
        dress(self.make, "primary")
        row = QHBoxLayout()
        row.addStretch()
        row.addWidget(self.cancel)
        row.addWidget(self.make)
        for widget in (_title("The panel"), self.name, self.film, self.problem):
            self._column.addWidget(widget)
        self._column.addLayout(row)


def _row_of(*widgets: QWidget) -> QWidget:
    box = QWidget()
    row = QHBoxLayout(box)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(6)
    for widget in widgets:
        row.addWidget(widget)
    return box


def _button(text: str) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    return button


def _angle(prefix: str, start_deg: int, name: str) -> Spin:
    field = Spin()
    field.setRange(1, 180)
    field.setValue(start_deg)
    field.setPrefix(prefix)
    field.setSuffix("°")
    field.setAccessibleName(name)
    field.setToolTip(name)
    return field


def _title(text: str) -> QLabel:
    label = QLabel(text)
    dress(label, "title")
    return label

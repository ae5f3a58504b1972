"""A scan becomes a panel: its scale, what is to be covered, its rim, its name and film."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.form import read_length, read_name
from app.panes.controls import Combo, Spin, Tick
from app.panes.fields import ChoiceField
from app.panes.pane import quiet_label
from app.solid.choice import Choice
from app.solid.view import SolidView, Trace
from app.style import dress
from app.theme import current_theme
from core.document.job import Job
from core.errors import InputError, LaplineError
from core.shape.model import Points, Triangles
from core.shape.picking import (
    Mask,
    hanging_together,
    in_lasso,
    loop_near,
    up_to_angle,
)
from core.shape.view_camera import Camera
from core.shape.view_paint import Skin, Solid
from core.units import format_length

UNITS: list[tuple[str, float]] = [
    ("Millimetres", 1.0),
    ("Centimetres", 10.0),
    ("Metres", 1000.0),
    ("Inches", 25.4),
]
WAYS: tuple[tuple[str, str, str], ...] = (
    ("shell", "Whole", "Click: everything that hangs together"),
    ("angle", "Up to an edge", "Click: as far as no edge is sharper than the angle"),
    ("lasso", "Lasso", "Draw round what you see"),
    ("rim", "Rim", "Click the line that is the part's rim; the others are openings"),
    ("length", "Scale", "Click two points whose distance you know"),
)
REACH_PX = 14.0
CHOSEN, LEFT_OUT = {False: (92, 160, 158), True: (84, 170, 168)}, (186, 182, 172)


@dataclass(frozen=True, eq=False)
class ScannedPart:
    """What was chosen of a scan.

    Attributes:
        points: shape (n, 3), mm, of the scan as a whole.
        triangles: the chosen ones, shape (m, 3).
        rim: the vertices of the rim in order.
        name, film: of the panel that it becomes.
    """

    points: Points
    triangles: Triangles
    rim: Triangles
    name: str
    film: str


class ScanWindow(QDialog):
    """Chooses what of a scan is to be covered. ``part`` is the result once it was accepted."""

    def __init__(
        self,
        points: Points,
        triangles: Triangles,
        job: Job,
        title: str,
        told: Sequence[str],
        parent: QWidget | None = None,
    ) -> None:
        """Show a scan.

        Args:
            points: shape (n, 3), in the file's own unit.
            triangles: shape (m, 3).
            job: gives units and films.
            title: the file's name.
            told: what was repaired or found while reading, a sentence each.
            parent: the window that it belongs to.
        """
        super().__init__(parent)
        self.part: ScannedPart | None = None
        self._raw, self._triangles, self._job = points, triangles, job
        self._factor = 1.0
        self._marks: list[Points] = []
        self.setWindowTitle(f"Panel from {title}")
        self.resize(1180, 760)
        self.view = SolidView()
        self.choice = Choice(points, triangles)
        self._solid = Solid(points, triangles)
        self._lay_out(title, told)
        self.view.clicked.connect(self._on_clicked)
        self.view.lassoed.connect(self._on_lassoed)
        QShortcut(QKeySequence("Ctrl+Z"), self, self._go_back)
        self._look_from_outside()
        self._take_way("angle")
        self._show_choice()

    # Building

    def _lay_out(self, title: str, told: Sequence[str]) -> None:
        heading = QLabel(f"Panel from {title}")
        dress(heading, "job")
        side = QVBoxLayout()
        side.setSpacing(8)
        side.addWidget(heading)
        self.facts = quiet_label("")
        side.addWidget(self.facts)
        for line in told:
            side.addWidget(quiet_label(f"· {line}"))
        side.addSpacing(8)
        self._add_scale(side)
        side.addSpacing(8)
        self._add_ways(side)
        side.addStretch()
        self._add_panel(side)
        box = QWidget()
        box.setLayout(side)
        side.setContentsMargins(0, 0, 0, 0)
        box.setFixedWidth(332)
        row = QHBoxLayout(self)
        row.setContentsMargins(24, 20, 24, 20)
        row.setSpacing(20)
        row.addWidget(box)
        row.addWidget(self.view, 1)

    def _add_scale(self, side: QVBoxLayout) -> None:
        side.addWidget(_title("How large it is"))
        self.unit = ChoiceField()
        self.unit.show_choice([(f"The file is in {t.lower()}", k) for t, k in UNITS], 1.0)
        self.unit.chosen.connect(self._set_factor)
        self.unit.setAccessibleName("Unit of the file")
        side.addWidget(self.unit)
        self.length = QLineEdit()
        self.length.setPlaceholderText("their true distance")
        self.length.setAccessibleName("True distance of the two points")
        self.set_length = QPushButton("Set scale")
        self.set_length.setAutoDefault(False)
        self.set_length.clicked.connect(self._scale_to_length)
        self.length.returnPressed.connect(self._scale_to_length)
        self._scale_row = QWidget()
        row = QHBoxLayout(self._scale_row)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.length, 1)
        row.addWidget(self.set_length)
        side.addWidget(self._scale_row)

    def _add_ways(self, side: QVBoxLayout) -> None:
        side.addWidget(_title("What is to be covered"))
        self._ways = QButtonGroup(self)
        self.way_buttons: dict[str, QPushButton] = {}
        for names in (("shell", "angle", "lasso"), ("rim", "length")):
            row = QHBoxLayout()
            row.setSpacing(6)
            for name, text, _ in (w for w in WAYS if w[0] in names):
                button = QPushButton(text)
                button.setCheckable(True)
                button.setAutoDefault(False)
                button.clicked.connect(lambda _=False, n=name: self._take_way(n))
                self._ways.addButton(button)
                self.way_buttons[name] = button
                row.addWidget(button)
            row.addStretch()
            side.addLayout(row)
        self.way_words = quiet_label("")
        side.addWidget(self.way_words)
        self.angle = Spin()
        self.angle.setRange(1, 120)
        self.angle.setValue(25)
        self.angle.setSuffix("°")
        self.angle.setAccessibleName("Sharpest edge that is passed")
        side.addWidget(self.angle)
        self.takes_away = Tick("Take away instead")
        self.takes_away.setToolTip("So does holding Ctrl while you click or draw")
        side.addWidget(self.takes_away)
        row = QHBoxLayout()
        self.all, self.none = QPushButton("Choose all"), QPushButton("Choose nothing")
        self.back = QPushButton("Back a step")
        self.all.clicked.connect(lambda: self._choose(self._every(chosen=True), anew=True))
        self.none.clicked.connect(lambda: self._choose(self._every(chosen=False), anew=True))
        self.back.clicked.connect(self._go_back)
        for button in (self.all, self.none, self.back):
            button.setAutoDefault(False)
            row.addWidget(button)
        side.addLayout(row)
        self.chosen_words = QLabel()
        self.chosen_words.setWordWrap(True)
        side.addWidget(self.chosen_words)

    def _add_panel(self, side: QVBoxLayout) -> None:
        self.name = QLineEdit(f"Panel {len(self._job.panels) + 1}")
        self.name.setAccessibleName("Name")
        self.film = Combo()
        self.film.setAccessibleName("Base film")
        for film in self._job.films:
            self.film.addItem(film.name, film.id)
        side.addWidget(_title("The panel"))
        side.addWidget(self.name)
        side.addWidget(self.film)
        self.problem = QLabel()
        self.problem.setWordWrap(True)
        dress(self.problem, "stop")
        self.problem.hide()
        side.addWidget(self.problem)
        row = QHBoxLayout()
        cancel, self.make = QPushButton("Cancel"), QPushButton("Make the panel")
        dress(self.make, "primary")
        for button in (cancel, self.make):
            button.setAutoDefault(False)
        cancel.clicked.connect(self.reject)
        self.make.clicked.connect(self.accept)
        row.addStretch()
        row.addWidget(cancel)
        row.addWidget(self.make)
        side.addLayout(row)

    # Choosing

    @property
    def way(self) -> str:
        """How a click or a drag chooses now."""
        return next(name for name, b in self.way_buttons.items() if b.isChecked())

    def _take_way(self, name: str) -> None:
        self.way_buttons[name].setChecked(True)
        self.view.takes_lasso = name == "lasso"
        self.way_words.setText(next(words for n, _, words in WAYS if n == name))
        self.angle.setVisible(name == "angle")
        self.takes_away.setVisible(name not in ("rim", "length"))
        self._scale_row.setVisible(name == "length")
        self._marks = []
        self._show_traces()

    def _on_clicked(self, triangle: int, place: QPointF) -> None:
        if self.way == "rim":
            self._pick_rim(place)
        elif triangle < 0:
            return
        elif self.way == "angle":
            self._choose(up_to_angle(self._solid, triangle, float(self.angle.value())))
        elif self.way == "shell":
            self._choose(hanging_together(self._triangles, triangle))
        elif self.way == "length":
            self._mark_point(place)

    def _on_lassoed(self, lasso: Points) -> None:
        camera, raster = self.view.camera, self.view.raster
        if camera is not None and raster is not None:
            self._choose(in_lasso(self._solid, camera, raster, lasso))

    def _choose(self, mask: Mask, *, anew: bool = False) -> None:
        if not mask.any() and not anew:
            return
        if self._takes_away and not anew:
            self.choice.take(mask)
        else:
            # The first click says what is wanted; later ones add to it.
            self.choice.add(mask, starts_anew=anew or not self.choice.can_go_back)
        self._show_choice()

    @property
    def _takes_away(self) -> bool:
        keys = QApplication.keyboardModifiers()
        return self.takes_away.isChecked() or bool(keys & Qt.KeyboardModifier.ControlModifier)

    def _every(self, *, chosen: bool) -> Mask:
        return np.full(len(self._triangles), chosen, dtype=np.bool_)

    def _pick_rim(self, place: QPointF) -> None:
        camera: Camera | None = self.view.camera
        if camera is None:
            return
        at_px, _ = camera.project(self._solid.points)
        found = loop_near(self.choice.loops, at_px, (place.x(), place.y()), REACH_PX)
        if found is not None:
            self.choice.set_rim(found)
            self._show_choice()

    def _go_back(self) -> None:
        self.choice.go_back()
        self._show_choice()

    # Scale

    def _set_factor(self, factor: float) -> None:
        self._factor = factor
        self._show_facts()

    def _mark_point(self, place: QPointF) -> None:
        triangle, shares = self.view.pick(place)
        if shares is None:
            return
        point = shares @ self._solid.points[self._triangles[triangle]]
        self._marks = [*self._marks[-1:], point]
        self._show_traces()
        if len(self._marks) == 2:
            now = self._distance() * self._factor
            words = format_length(now, self._job.units)
            self.way_words.setText(f"The two points are {words} apart now, in a straight line.")
            self.length.setFocus()

    def _distance(self) -> float:
        return float(np.linalg.norm(self._marks[1] - self._marks[0]))

    def _scale_to_length(self) -> None:
        try:
            if len(self._marks) < 2 or self._distance() <= 0:
                raise InputError("Click two points on the part first.", where="Scale")
            true = read_length(self.length, self._job.units, least_mm=1.0)
        except LaplineError as error:
            self._tell(error.sentence())
            return
        self._tell("")
        self._factor = true / self._distance()
        options: list[tuple[str, object]] = [
            *((f"The file is in {t.lower()}", k) for t, k in UNITS),
            (f"Scaled to a known length (× {self._factor:.4g})", self._factor),
        ]
        self.unit.show_choice(options, self._factor)
        self._show_facts()

    # Showing

    def _look_from_outside(self) -> None:
        towards = self._solid.face_normals.sum(axis=0)
        if np.linalg.norm(towards) < 0.05 * np.abs(self._solid.face_normals).sum():
            towards = np.array([0.4, -0.8, 0.5])  # a closed shell has no outside of its own
        self.view.show_solid(self._solid, self._skin(), normal=towards, up=_upwards(towards))

    def _skin(self) -> Skin:
        colours = np.where(
            self.choice.mask[:, None], CHOSEN[current_theme().is_dark], LEFT_OUT
        ).astype(np.uint8)
        return Skin(LEFT_OUT, of_triangles=colours)

    def _show_choice(self) -> None:
        self.view.set_skin(self._skin())
        self._show_traces()
        self._show_facts()
        self.back.setEnabled(self.choice.can_go_back)
        count, loops = int(self.choice.mask.sum()), self.choice.loops
        if not count:
            words = "Nothing is chosen yet."
        elif not loops:
            words = "This is closed all round: choose only the side that film is laid on."
        else:
            openings = len(loops) - 1
            more = "" if not openings else f", {openings} opening{'s' * (openings > 1)}"
            words = f"{count:,} triangles chosen: one rim{more}."
        self.chosen_words.setText(words)
        self.make.setEnabled(bool(count and loops))

    def _show_traces(self) -> None:
        theme = current_theme()
        points = self._solid.points
        traces = [
            Trace(points[loop], theme.stop if i == self.choice.rim else theme.warn,
                  3.0 if i == self.choice.rim else 1.8)
            for i, loop in enumerate(self.choice.loops)
        ]  # fmt: skip
        if self._marks:
            marks = np.array(self._marks)
            traces.append(
                Trace(np.vstack([marks, marks[-1:]]), theme.accent, 6.0, is_closed=False)
            )
        self.view.set_traces(traces)

    def _show_facts(self) -> None:
        size = np.ptp(self._raw, axis=0) * self._factor
        words = " × ".join(
            format_length(float(v), self._job.units, decimals=0).rpartition(" ")[0]
            for v in sorted(size, reverse=True)
        )
        self.facts.setText(
            f"{len(self._triangles):,} triangles, {words} {self._job.units} over all."
        )

    def _tell(self, problem: str) -> None:
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))

    def accept(self) -> None:
        """Hand on what was chosen, or say what is missing."""
        try:
            self.part = ScannedPart(
                self._raw * self._factor,
                self._triangles[self.choice.mask],
                self.choice.loops[self.choice.rim],
                read_name(self.name),
                str(self.film.currentData()),
            )
        except LaplineError as error:
            self._tell(error.sentence())
            return
        super().accept()


def _title(text: str) -> QLabel:
    label = QLabel(text)
    dress(label, "title")
    return label


def _upwards(towards: Points) -> Points:
    """Return what points upwards: the scan's z, else its y."""
    length = float(np.linalg.norm(towards)) or 1.0
    is_from_above = abs(towards[2]) > 0.9 * length
    return np.array([0.0, 1.0, 0.0]) if is_from_above else np.array([0.0, 0.0, 1.0])

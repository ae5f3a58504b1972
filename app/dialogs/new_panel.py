"""A new panel from what was measured: a plain shape, or sides and diagonals."""

from collections.abc import Callable

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QLineEdit, QStackedWidget, QWidget

from app.dialogs.form import FormDialog, read_length, read_name
from app.dialogs.outline_picture import Note, OutlinePicture
from app.dialogs.survey_form import SurveyForm
from app.panes.controls import Combo, Tick
from app.panes.pane import quiet_label
from core.document.edits.ids import free_id
from core.document.job import Job
from core.document.measures import ring_size
from core.document.panel import Panel
from core.document.path import Path
from core.document.shaping import ring_of
from core.errors import InputError, LaplineError
from core.geometry import shapes
from core.geometry.bezier import Chain
from core.units import format_length

SPACE_MM = 150.0
PAUSE_MS = 60
LEAST_MM = 10.0


class NewPanelDialog(FormDialog):
    """Asks for a panel by its measures. ``panel`` is the result after it was accepted."""

    def __init__(self, job: Job, parent: QWidget | None) -> None:
        super().__init__("New panel by measures", parent, button="Add panel")
        self._job = job
        self.panel: Panel | None = None
        self.picture = OutlinePicture()
        self.note = quiet_label("")
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self.refresh)
        self._make_fields()
        self._lay_out()
        self.shape.currentIndexChanged.connect(self._on_shape)
        self._on_shape()
        self.name.selectAll()

    def _make_fields(self) -> None:
        job = self._job
        self.name = self.add_text("Name", f"Panel {len(job.panels) + 1}")
        self.shape = Combo()
        self.shape.addItem("Rectangle", "rectangle")
        self.shape.addItem("Circle", "circle")
        self.shape.addItem("Ellipse", "ellipse")
        self.shape.addItem("Trapezium", "trapezium")
        self.shape.addItem("Sides and diagonals", "survey")
        self.add_field("Shape", self.shape)
        self.across = self._length("Width", 800.0)
        self.upright = self._length("Height", 500.0)
        self.radius = self._length("Corner radius", 40.0)
        self.radius.setToolTip("0 leaves the corners sharp")
        self.diameter = self._length("Diameter", 400.0)
        self.bottom = self._length("Lower side", 800.0)
        self.top = self._length("Upper side", 600.0)
        self.level = self._length("Height between them", 500.0)
        self.shift = self.add_text("Upper side starts at")
        self.shift.setPlaceholderText("over the middle")
        self.shift.setToolTip("How far to the right of the lower side's left end")
        self.turn = self._length("Edge turn", 10.0)
        self.film = Combo()
        self._films = sorted(job.films, key=lambda f: f.rank)
        self.film.addItems([f.name for f in self._films])
        self.add_field("Base film", self.film)
        self.pair = Tick("There is a left and a right one, mirrored")
        self.form.addRow(self.pair)
        self.survey = SurveyForm(job.units)
        self.survey.changed.connect(self.refresh_soon)
        self.survey.pointed.connect(self._show_survey)
        self.shift.textEdited.connect(self.refresh_soon)

    def _length(self, label: str, value_mm: float) -> QLineEdit:
        field = self.add_length(label, value_mm, self._job.units)
        field.textEdited.connect(self.refresh_soon)
        return field

    def _lay_out(self) -> None:
        left = self.set_beside(self.picture, 360)
        left.addWidget(self.survey, 1)
        left.addWidget(self.note)
        left.addWidget(self.problem)
        self._filler = QStackedWidget()
        left.addWidget(self._filler, 1)
        self.resize(920, 560)

    def refresh_soon(self, *_: object) -> None:
        """Show what is typed after a pause."""
        self._pause.start()

    def refresh(self) -> None:
        """Show the panel as it would be, or what is wrong."""
        self._pause.stop()
        problem, path = "", None
        is_ready = True
        try:
            if self._kind == "survey":
                is_ready = self.survey.read()
            path = self._outline() if is_ready else None
        except LaplineError as error:
            problem = error.sentence()
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))
        is_usable = path is not None
        self.buttons.button(self.buttons.StandardButton.Ok).setEnabled(is_usable)
        self._show(path)

    def check(self) -> None:
        """Read the panel from the fields."""
        self._pause.stop()
        if self._kind == "survey" and not self.survey.read():
            raise InputError(self.survey.progress)
        if not self._films:
            raise InputError("The job has no film.", mend="Add a film first.")
        self.panel = Panel(
            id=free_id(self._job, "p"),
            name=read_name(self.name),
            outline=self._outline(),
            base_film=self._films[self.film.currentIndex()].id,
            edge_turn_mm=read_length(self.turn, self._job.units),
            is_pair=self.pair.isChecked(),
            at=free_place(self._job),
        )

    @property
    def _kind(self) -> str:
        return str(self.shape.currentData())

    def _outline(self) -> Path:
        makers: dict[str, Callable[[], Chain]] = {
            "rectangle": self._rectangle,
            "circle": self._circle,
            "ellipse": self._ellipse,
            "trapezium": self._trapezium,
            "survey": self.survey.chain,
        }
        return ring_of(makers[self._kind]())

    def _read(self, field: QLineEdit, *, least_mm: float = LEAST_MM) -> float:
        return read_length(field, self._job.units, least_mm=least_mm)

    def _rectangle(self) -> Chain:
        radius = self._read(self.radius, least_mm=0.0)
        return shapes.rectangle(self._read(self.across), self._read(self.upright), radius)

    def _circle(self) -> Chain:
        return shapes.ellipse(self._read(self.diameter), self._read(self.diameter))

    def _ellipse(self) -> Chain:
        return shapes.ellipse(self._read(self.across), self._read(self.upright))

    def _trapezium(self) -> Chain:
        shift = None
        if self.shift.text().strip():
            shift = self._read(self.shift, least_mm=-1e6)
        top = self._read(self.top, least_mm=1.0)
        return shapes.trapezium(self._read(self.bottom), top, self._read(self.level), shift)

    def _on_shape(self) -> None:
        rows = {
            "rectangle": (self.across, self.upright, self.radius),
            "circle": (self.diameter,),
            "ellipse": (self.across, self.upright),
            "trapezium": (self.bottom, self.top, self.level, self.shift),
            "survey": (),
        }
        shown = rows[self._kind]
        for fields in rows.values():
            for field in fields:
                self.form.setRowVisible(field, field in shown)
        is_survey = self._kind == "survey"
        self.survey.setVisible(is_survey)
        self._filler.setVisible(not is_survey)
        if is_survey:
            self.resize(max(self.width(), 980), max(self.height(), 720))
        self.refresh()

    def _show(self, path: Path | None) -> None:
        if self._kind == "survey":
            self._show_survey()
            return
        self.note.hide()
        self.picture.show_nodes((), (0.0, 0.0))
        self.picture.show_notes(())
        if path is None:
            self.picture.show_after([])
            self.picture.show_empty("No shape yet")
            return
        self.picture.show_after([_shown(path)])
        width, height = (format_length(mm, self._job.units) for mm in ring_size(path))
        self.note.setText(f"{width} wide, {height} high")
        self.note.show()

    def _show_survey(self) -> None:
        """Show the corners with the measures taken, the one being typed stands out."""
        sketch = self.survey.sketch()
        self.note.setText(self.survey.progress)
        self.note.setVisible(bool(self.survey.progress) and not self.problem.text())
        self.picture.show_after([_shown(sketch.ring)] if sketch.is_true else [])
        self.picture.show_nodes(sketch.ring, (0.0, 0.0))
        self.picture.show_notes(
            [Note(m.text, m.start, m.end, is_strong=m.is_pointed) for m in sketch.measures]
        )


def _shown(path: Path) -> Panel:
    return Panel(id="p1", name="", outline=path, base_film="f1")


def free_place(job: Job) -> tuple[float, float]:
    """Return a place on the canvas to the right of all panels."""
    rights = [p.at[0] + max(n.at[0] for n in p.outline) for p in job.panels]
    return (max(rights) + SPACE_MM if rights else 0.0, 0.0)

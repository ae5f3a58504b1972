"""The import dialog: what a drawing file holds, and which of it becomes panels.

The file is read in the background once; units, layers and join tolerance only sort what was
read anew, also in the background. ``edit`` is the result after it was accepted.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.form import FormDialog, read_length
from app.dialogs.import_lists import LayerList, PanelList, Report
from app.dialogs.import_preview import ImportPreview
from app.jobs import Control, Work
from app.panes.controls import Combo
from app.panes.fields import ChoiceField
from app.style import dress
from core.document.job import Job, Units
from core.document.panel import Panel
from core.errors import LaplineError
from core.progress import Step
from core.read.into_job import import_sentence, to_panels
from core.read.outlines import Outlines, ReadOptions, load_source, make_outlines, renamed
from core.read.strokes import SourceDrawing

PAUSE_MS = 250
"""Typing pauses so long before the drawing is sorted anew."""
UNIT_WORDS = {Units.MM: "millimetres", Units.CM: "centimetres", Units.IN: "inches"}
SIDE_PX = 380


class ImportDialog(FormDialog):
    """Shows what was found in a file, and asks what of it to import."""

    read = Signal()
    """The outlines shown are those of the choices made."""
    failed = Signal(object)
    """The file cannot be read: a LaplineError. The dialog is of no use then."""

    def __init__(self, path: Path, job: Job, parent: QWidget | None) -> None:
        super().__init__(f"Import outlines from {path.name}", parent, button="Import")
        self._path, self._job = path, job
        self._source: SourceDrawing | None = None
        self._work: Work | None = None
        self._unit: Units | None = None
        self._left_out: set[int] = set()
        self._names: dict[int, str] = {}
        self.outlines: Outlines | None = None
        self.edit: tuple[str, Job] | None = None
        self.setMinimumSize(960, 640)
        self._make_fields()
        self._lay_out()
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._sort)
        self.finished.connect(self._stop)
        self._show_ready()
        self._run(lambda control: load_source(path, control))

    def _make_fields(self) -> None:
        self.preview = ImportPreview(self._job.units)
        self.units = ChoiceField()
        self.units.chosen.connect(self._on_unit)
        self.add_field("Drawn in", self.units)
        self.tolerance = self.add_length("Join ends within", ReadOptions().join_mm, Units.MM)
        self.tolerance.setToolTip("Loose ends no farther apart are joined, and told below")
        self.tolerance.textEdited.connect(lambda _: self._pause.start())
        self.film = Combo()
        self._films = sorted(self._job.films, key=lambda f: f.rank)
        self.film.addItems([f.name for f in self._films])
        self.film.currentIndexChanged.connect(lambda _: self._show_chosen())
        self.add_field("Base film", self.film)
        self.layers = LayerList("Layers")
        self.layers.ticked.connect(self._sort)
        self.panels = PanelList("Panels")
        self.panels.ticked.connect(self._on_panels_ticked)
        self.panels.pointed.connect(self.preview.show_pointed)
        self.preview.clicked.connect(self.panels.toggle)
        self.report = Report()
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.state = QLabel()

    def _lay_out(self) -> None:
        self.column.removeItem(self.form)
        side = QVBoxLayout()
        side.setSpacing(6)
        side.addLayout(self.form)
        self.layers_title = _title("Pages" if self._path.suffix.lower() == ".pdf" else "Layers")
        for widget, stretch in (
            (self.layers_title, 0),
            (self.layers, 0),
            (_title("Panels"), 0),
            (self.panels, 3),
            (self.report, 2),
        ):
            side.addWidget(widget, stretch)
        holder = QWidget()
        holder.setFixedWidth(SIDE_PX)
        side.setContentsMargins(0, 0, 0, 0)
        holder.setLayout(side)
        self.form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
        body = QHBoxLayout()
        body.setSpacing(20)
        body.addWidget(self.preview, 1)
        body.addWidget(holder)
        self.column.addLayout(body, 1)
        self.column.addWidget(self.problem)
        foot = QHBoxLayout()
        foot.setSpacing(12)
        foot.addWidget(self.state)
        foot.addWidget(self.progress, 1)
        foot.addStretch()
        foot.addWidget(self.buttons)
        self.column.addLayout(foot)
        dress(self.buttons.button(self.buttons.StandardButton.Ok), "primary")

    # Reading

    def _run(self, task: Callable[[Control], object]) -> None:
        """Do something in the background; what was under way is of no use any more."""
        self._stop()
        work = self._work = Work(task)
        work.progressed.connect(self._on_progress)
        work.done.connect(lambda found: self._on_done(work, found))
        work.failed.connect(lambda error: self._on_failed(work, error))
        self.progress.setRange(0, 0)
        self.progress.show()
        self._show_ready()
        work.start()

    def _sort(self) -> None:
        source = self._source
        if source is None:
            return
        try:
            options = self._options()
        except LaplineError as error:
            self._stop()
            self._say(error.sentence())
            return
        self._run(lambda control: make_outlines(source, options, control))

    def _options(self) -> ReadOptions:
        options = ReadOptions(units=self._unit, join_mm=read_length(self.tolerance, Units.MM))
        if self.layers.topLevelItemCount():
            options = replace(options, layers=self.layers.chosen())
        return options

    def _on_unit(self, unit: object) -> None:
        self._unit = unit if isinstance(unit, Units) else None
        self._sort()

    def _on_progress(self, step: object) -> None:
        if isinstance(step, Step):
            self.state.setText(f"{step.words}…")
            if step.share is not None:
                self.progress.setRange(0, 1000)
                self.progress.setValue(int(step.share * 1000))

    def _on_done(self, work: Work, found: object) -> None:
        if work is not self._work:
            return
        self._work = None
        if isinstance(found, SourceDrawing):
            self._source = found
            self._show_units(found)
            self._sort()
        elif isinstance(found, Outlines):
            self._show(found)

    def _on_failed(self, work: Work, error: Exception) -> None:
        if work is not self._work:
            return
        self._work = None
        self.progress.hide()
        if not isinstance(error, LaplineError):
            raise error
        if self._source is None:
            self.hide()
            self.failed.emit(error)
            self.reject()
        else:
            self._say(error.sentence())

    def _stop(self) -> None:
        if self._work is not None:
            self._work.cancel()
            self._work = None
            self.progress.hide()

    # Showing

    def _show_units(self, source: SourceDrawing) -> None:
        options: list[tuple[str, object]] = [(words, u) for u, words in UNIT_WORDS.items()]
        said = source.units_words
        if said:
            options.insert(0, (said, "file"))
        else:
            options.insert(0, ("choose: the file does not say", None))
        self.units.show_choice(options, "file" if said else None)

    def _show(self, outlines: Outlines) -> None:
        is_new = self.outlines is None
        self.outlines = outlines
        self.progress.hide()
        self.problem.hide()
        if is_new:
            self.layers.show_layers(outlines.layers)
            for part in (self.layers_title, self.layers):
                part.setVisible(len(outlines.layers) > 1)
        named, left_out = self._as_before(outlines)
        self.panels.show_panels(named, self._job.units, left_out)
        self.preview.show_panels(outlines.panels)
        self.report.show_outlines(outlines)
        self._show_chosen()
        self._show_ready()
        self.read.emit()

    def _as_before(self, outlines: Outlines) -> tuple[list[Panel], set[str]]:
        """Return the panels under the names typed so far, and the ids of those left out."""
        pairs = list(zip(outlines.panels, outlines.origins, strict=True))
        named = [renamed(p, self._names.get(origin, p.name)) for p, origin in pairs]
        return named, {p.id for p, origin in pairs if origin in self._left_out}

    def _on_panels_ticked(self) -> None:
        assert self.outlines is not None
        rows = {key: (text, is_on) for key, text, is_on in self.panels.rows()}
        for panel, origin in zip(self.outlines.panels, self.outlines.origins, strict=True):
            text, is_on = rows[panel.id]
            if text != panel.name:
                self._names[origin] = text
            if is_on:
                self._left_out.discard(origin)
            else:
                self._left_out.add(origin)
        self._show_chosen()
        self._show_ready()

    def _show_chosen(self) -> None:
        row = self.film.currentIndex()
        colour = self._films[row].colour if 0 <= row < len(self._films) else "#888888"
        self.preview.show_chosen({p.id for p in self._chosen()}, colour)

    def _chosen(self) -> list[Panel]:
        if self.outlines is None:
            return []
        panels = {panel.id: panel for panel in self.outlines.panels}
        return [
            renamed(panels[key], name)
            for key, name, is_on in self.panels.rows()
            if is_on and key in panels
        ]

    def _show_ready(self) -> None:
        """Say what can be done now, and let it be done."""
        button = self.buttons.button(self.buttons.StandardButton.Ok)
        count = len(self._chosen())
        reason = self._why_not(count)
        button.setText(import_sentence(count) if count else "Import")
        button.setEnabled(not reason and self._work is None)
        if self._work is None:
            self.state.setText(reason)
        dress(self.state, "warn" if reason else "quiet")

    def _why_not(self, count: int) -> str:
        if self.outlines is None:
            return ""
        if not self._films:
            return "The job has no film yet: add one first."
        if self.outlines.is_unit_assumed:
            return "The file does not say its unit: choose what it is drawn in."
        if not self.outlines.panels:
            return "No closed outline: try other layers or a larger join tolerance."
        return "" if count else "Tick the panels to import."

    def _say(self, sentence: str) -> None:
        self.problem.setText(sentence)
        self.problem.show()
        self.state.setText("")
        self.buttons.button(self.buttons.StandardButton.Ok).setEnabled(False)

    def check(self) -> None:
        """Make the edit."""
        assert self.outlines is not None
        chosen = self._chosen()
        film = self._films[self.film.currentIndex()].id
        job = to_panels(self._job, self.outlines, chosen, film)
        self.edit = import_sentence(len(chosen)), job


def _title(text: str) -> QLabel:
    label = QLabel(text)
    dress(label, "field")
    return label

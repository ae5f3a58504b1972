"""The job's name, units and defaults."""

from msgspec.structs import replace
from PySide6.QtWidgets import QLineEdit, QWidget

from app.dialogs.form import FormDialog, read_length, read_name
from app.panes.controls import Combo, Spin
from app.panes.editor_job import UNIT_WORDS
from app.panes.editor_line import CUT_WORDS
from core.document.edits.settings import rename_job, set_settings, set_units
from core.document.job import Job, Settings
from core.errors import InputError


class JobSettingsDialog(FormDialog):
    """Edits the job's settings. ``job`` is the result after it was accepted."""

    def __init__(self, job: Job, parent: QWidget | None) -> None:
        super().__init__("Job settings", parent)
        self.job = job
        own = job.settings
        self.name = self.add_text("Name", job.name)
        self.units = Combo()
        self.units.addItems(list(UNIT_WORDS.values()))
        self.units.setCurrentIndex(list(UNIT_WORDS).index(job.units))
        self.add_field("Lengths in", self.units)
        self.currency = self.add_text("Currency", job.currency)
        self.currency.setMaxLength(8)
        self.lap = self.add_length("Lap", own.lap_mm, job.units)
        self.cut = Combo()
        self.cut.addItems(list(CUT_WORDS.values()))
        self.cut.setCurrentIndex(list(CUT_WORDS).index(own.seam_cut))
        self.add_field("Seams are", self.cut)
        self.gap = self._length("Gap between pieces", own.gap_mm, "On the roll")
        self.grip = self._length(
            "Grip", own.grip_mm, "Surplus on each side of a piece that is trimmed on the part"
        )
        self.step = self._length("Blanks rounded up to", own.blank_step_mm, "")
        self.ticks = self._length(
            "Match ticks every", own.tick_spacing_mm, "At most this far apart on a seam"
        )
        self.grid = self._length("Grid spacing", own.grid_mm, "Of the grid on the canvas")
        self.tries = Spin()
        self.tries.setRange(1, 20)
        self.tries.setValue(own.tries)
        self.tries.setToolTip("How many times each piece may have to be cut")
        self.add_field("Tries a piece", self.tries)
        self.finish_layout()

    def _length(self, label: str, value_mm: float, tip: str) -> QLineEdit:
        field = self.add_length(label, value_mm, self.job.units)
        field.setToolTip(tip)
        return field

    def check(self) -> None:
        """Read the job from the fields."""
        units = self.job.units
        settings = Settings(
            lap_mm=read_length(self.lap, units),
            seam_cut=list(CUT_WORDS)[self.cut.currentIndex()],
            gap_mm=read_length(self.gap, units),
            grip_mm=read_length(self.grip, units),
            blank_step_mm=read_length(self.step, units, least_mm=0.1),
            tick_spacing_mm=read_length(self.ticks, units, least_mm=1.0),
            tries=self.tries.value(),
            grid_mm=read_length(self.grid, units, least_mm=0.1),
        )
        job = set_settings(rename_job(self.job, read_name(self.name)), settings)
        job = set_units(job, list(UNIT_WORDS)[self.units.currentIndex()])
        self.job = _with_currency(job, self.currency.text().strip())


def _with_currency(job: Job, currency: str) -> Job:
    if not currency.isprintable():
        raise InputError("Write the currency with letters or a sign.", where="Currency")
    return replace(job, currency=currency)

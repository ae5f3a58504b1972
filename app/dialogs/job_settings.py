"""The job's name, units and defaults."""

from msgspec.structs import replace
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from app.dialogs.form import FormDialog, read_length, read_name, read_number
from app.panes.controls import Combo, Spin
from app.panes.editor_job import UNIT_WORDS
from app.panes.editor_line import CUT_WORDS
from core.document.edits.settings import rename_job, set_settings, set_units
from core.document.job import Job, Settings
from core.errors import InputError, LaplineError
from core.units import Units, format_length, parse_length
from core.write.wording import BLANK_CUT_WORDS


class JobSettingsDialog(FormDialog):
    """Edits the job's settings. ``job`` is the result after it was accepted."""

    def __init__(self, job: Job, parent: QWidget | None) -> None:
        super().__init__("Job settings", parent)
        self.job = job
        self._add_job(job)
        self._add_seams(job.settings, job.units)
        self.begin_side()
        self._add_blanks(job.settings, job.units)
        self._add_rolls(job.settings, job.units)
        self._show_experience()
        self.finish_layout()
        self.setMinimumWidth(940)

    def _add_job(self, job: Job) -> None:
        self.name = self.add_text("Name", job.name)
        self.units = Combo()
        self.units.addItems(list(UNIT_WORDS.values()))
        self.units.setCurrentIndex(list(UNIT_WORDS).index(job.units))
        self.add_field("Lengths in", self.units)
        self.currency = self.add_text("Currency", job.currency)
        self.currency.setMaxLength(8)

    def _add_seams(self, own: Settings, units: Units) -> None:
        self.lap, self.tails = self.add_pair(
            ("Lap", format_length(own.lap_mm, units)),
            ("Tape tails", format_length(own.tape_tail_mm, units)),
        )
        self.tails.setToolTip("Cutting tape left free at each end of a run, to pull by")
        self.cut = Combo()
        self.cut.addItems(list(CUT_WORDS.values()))
        self.cut.setCurrentIndex(list(CUT_WORDS).index(own.seam_cut))
        self.add_field("Seams are", self.cut)
        self.ticks, self.grid = self.add_pair(
            ("Match ticks every", format_length(own.tick_spacing_mm, units)),
            ("Grid spacing", format_length(own.grid_mm, units)),
        )
        self.ticks.setToolTip("At most this far apart on a seam")
        self.tries, self.hard_tries = self._count(own.tries), self._count(own.hard_tries)
        self.tries.setToolTip("How many times each easy piece may have to be cut")
        self._add_counts()

    def _add_blanks(self, own: Settings, units: Units) -> None:
        self.experience = Combo()
        self.experience.addItems([*GRIPS, OWN_GRIP])
        self.experience.activated.connect(self._on_experience)
        self.add_field("Laid by", self.experience)
        self.grip, self.step = self.add_pair(
            ("Grip", format_length(own.grip_mm, units)),
            ("Blanks in steps of", format_length(own.blank_step_mm, units)),
        )
        self.grip.setToolTip("Surplus on each side of a piece that is trimmed on the part")
        self.grip.textEdited.connect(self._show_experience)
        self.blank_cut = Combo()
        self.blank_cut.addItems(list(BLANK_CUT_WORDS.values()))
        self.blank_cut.setCurrentIndex(list(BLANK_CUT_WORDS).index(own.blank_cut))
        self.blank_cut.setToolTip(
            "Straight cuts need no plotter: pre-cut pieces are then freed as the rectangles "
            "around them. With a plotter blanks lie among the other pieces"
        )
        self.add_field("Blanks are cut", self.blank_cut)

    def _add_rolls(self, own: Settings, units: Units) -> None:
        self.gap, self.keep = self.add_pair(
            ("Gap between pieces", format_length(own.gap_mm, units)),
            ("Keep rests from", format_length(own.keep_from_mm, units)),
        )
        self.keep.setToolTip("What is left beside the pieces is an offcut when it is so wide")
        self.lead, self.trail = self.add_pair(
            ("Waste at the start", format_length(own.lead_mm, units)),
            ("Waste behind", format_length(own.trail_mm, units)),
        )
        self.lead.setToolTip("What the machine cannot cut at the start of a roll")
        self.trail.setToolTip("What the machine needs behind the last piece")
        feed = "" if own.longest_feed_mm is None else format_length(own.longest_feed_mm, units)
        self.feed, self.tape = self.add_pair(
            ("Longest feed", feed), ("Tape, price per metre", f"{own.tape_price_per_m:g}")
        )
        self.feed.setPlaceholderText("any")
        self.feed.setToolTip("How much film the machine takes in one go; empty: any length")

    def _read_feed(self) -> float | None:
        if not self.feed.text().strip():
            return None
        return read_length(self.feed, self.job.units, least_mm=100.0)

    def _count(self, value: int) -> Spin:
        spin = Spin()
        spin.setRange(1, 20)
        spin.setValue(value)
        return spin

    def _add_counts(self) -> None:
        """Put both counts of tries in one row."""
        words = QLabel("Of a hard one")
        words.setBuddy(self.hard_tries)
        self.tries.setAccessibleName("Tries of an easy piece")
        self.hard_tries.setAccessibleName("Tries of a hard piece")
        row = QHBoxLayout()
        row.setSpacing(12)
        for widget, share in ((self.tries, 1), (words, 0), (self.hard_tries, 1)):
            row.addWidget(widget, share)
        self.form.addRow("Tries of an easy piece", row)

    def _on_experience(self, row: int) -> None:
        grips = list(GRIPS.values())
        if row < len(grips):
            self.grip.setText(format_length(grips[row], self.job.units))

    def _show_experience(self, *_: object) -> None:
        """Show which word fits the grip that is typed."""
        try:
            grip = parse_length(self.grip.text(), self.job.units)
        except LaplineError:
            grip = -1.0
        fits = [i for i, mm in enumerate(GRIPS.values()) if abs(mm - grip) < 0.5]
        self.experience.setCurrentIndex(fits[0] if fits else len(GRIPS))

    def check(self) -> None:
        """Read the job from the fields."""
        units = self.job.units
        settings = replace(
            self.job.settings,
            lap_mm=read_length(self.lap, units),
            seam_cut=list(CUT_WORDS)[self.cut.currentIndex()],
            gap_mm=read_length(self.gap, units),
            grip_mm=read_length(self.grip, units),
            blank_step_mm=read_length(self.step, units, least_mm=0.1),
            blank_cut=list(BLANK_CUT_WORDS)[self.blank_cut.currentIndex()],
            tick_spacing_mm=read_length(self.ticks, units, least_mm=1.0),
            tries=self.tries.value(),
            hard_tries=self.hard_tries.value(),
            grid_mm=read_length(self.grid, units, least_mm=0.1),
            keep_from_mm=read_length(self.keep, units, least_mm=1.0),
            lead_mm=read_length(self.lead, units),
            trail_mm=read_length(self.trail, units),
            longest_feed_mm=self._read_feed(),
            tape_price_per_m=read_number(self.tape),
            tape_tail_mm=read_length(self.tails, units),
        )
        job = set_settings(rename_job(self.job, read_name(self.name)), settings)
        job = set_units(job, list(UNIT_WORDS)[self.units.currentIndex()])
        self.job = _with_currency(job, self.currency.text().strip())


GRIPS = {
    "A first-timer": 100.0,
    "Somebody practised": 50.0,
    "Somebody practised, on flat parts": 25.0,
}
"""Grip by experience, in mm (common practice, no source)."""
OWN_GRIP = "With a grip of your own"


def _with_currency(job: Job, currency: str) -> Job:
    if not currency.isprintable():
        raise InputError("Write the currency with letters or a sign.", where="Currency")
    return replace(job, currency=currency)

"""The job's own properties, shown while nothing is selected."""

from msgspec.structs import replace

from app.panes.editor import Editor
from app.panes.editor_line import CUT_WORDS
from app.session import Session
from core.document.edits.settings import rename_job, set_settings, set_units
from core.document.job import Units
from core.document.lines import SeamCut

UNIT_WORDS = {Units.MM: "Millimetres", Units.CM: "Centimetres", Units.IN: "Inches"}


class JobEditor(Editor):
    """Edits the name, the units and the most used defaults."""

    title = "Job"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.name = self.add_text("Name", self._on_name)
        self.units = self.add_choice("Lengths in", self._on_units)
        self.lap = self.add_length("Lap", self._on_lap)
        self.cut = self.add_choice("Seams are", self._on_cut)
        self.add_words("Select a panel, a seam or a region to see what can be set for it.")

    def refresh(self) -> None:
        """Show the values as they are now."""
        job = self.session.job
        self.name.show_text(job.name)
        self.units.show_choice([(w, u) for u, w in UNIT_WORDS.items()], job.units)
        self.lap.show_mm(job.settings.lap_mm, job.units)
        self.cut.show_choice([(w, c) for c, w in CUT_WORDS.items()], job.settings.seam_cut)

    def _on_name(self, name: str) -> None:
        self.edit("Rename the job", lambda job: rename_job(job, name))

    def _on_units(self, units: Units) -> None:
        self.edit("Change units", lambda job: set_units(job, units))

    def _on_lap(self, lap_mm: float | None) -> None:
        self.edit(
            "Change the job's lap",
            lambda job: set_settings(job, replace(job.settings, lap_mm=lap_mm or 0.0)),
        )

    def _on_cut(self, cut: SeamCut) -> None:
        self.edit(
            "Change how seams are cut",
            lambda job: set_settings(job, replace(job.settings, seam_cut=cut)),
        )

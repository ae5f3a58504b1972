"""The last page: what the panel is called and made of."""

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLineEdit

from app.dialogs.form import read_length, read_name
from app.dialogs.new_panel import free_place
from app.panes.controls import Combo, Tick
from app.photo.desk import PhotoDesk
from app.photo.page import Page, new_form, wrapped
from core.document.job import Job
from core.errors import InputError
from core.read.photo_panel import PanelWish
from core.read.photo_trace import ring_area


class PanelPage(Page):
    """What the panel is called and made of."""

    def __init__(self, desk: PhotoDesk, job: Job) -> None:
        super().__init__(desk, job.units)
        self.job = job
        form = new_form()
        self.name = QLineEdit(f"Panel {len(job.panels) + 1}")
        self.name.setAccessibleName("Name")
        form.addRow("Name", self.name)
        self.film = Combo()
        self.film.setAccessibleName("Base film")
        self._films = sorted(job.films, key=lambda f: f.rank)
        self.film.addItems([f.name for f in self._films])
        form.addRow("Base film", self.film)
        self.turn = self.add_length(form, "Edge turn", 10.0)
        self.column.addLayout(form)
        self.pair = Tick("There is a left and a right one")
        self.pair.setToolTip("The right one is mirrored")
        self.column.addWidget(self.pair)
        self.summary = wrapped("quiet")
        self.column.addWidget(self.summary)
        self.finish()

    def wish(self) -> PanelWish:
        """Return what is asked for. LaplineError when a field is not usable."""
        if not self._films:
            raise InputError("The job has no film.", mend="Add a film first.")
        return PanelWish(
            name=read_name(self.name),
            base_film=self._films[self.film.currentIndex()].id,
            edge_turn_mm=read_length(self.turn, self.units),
            is_pair=self.pair.isChecked(),
            at=free_place(self.job),
        )

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Sum up what was traced."""
        super().showEvent(event)
        tracing = self.desk.tracing
        if tracing.outline:
            openings = sum(ring_area(o) for o in tracing.openings)
            area = (ring_area(tracing.outline) - openings) / 1e6
            self.summary.setText(
                f"{area:.3f} m² without its openings. The photo goes under the panel on the "
                "canvas; the place and time that its file names do not go into the job."
            )

"""A film was cut: what is used up, what is left, and what comes onto the shelf."""

from datetime import UTC, datetime

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QWidget

from app.dialogs.form import FormDialog
from app.panes.controls import Combo, Tick
from app.panes.pane import quiet_label
from app.panes.ticked_rows import TickRow
from app.session import Session
from app.style import dress
from core.document.job import Job
from core.document.shelf import Shelf, ShelfChange, apply_changes
from core.document.shelf_file import ShelfFile, new_key
from core.errors import InputError
from core.ids import FilmId
from core.roll.finishing import changes_when_cut, mark_cut
from core.roll.rolls import RollReport


class FinishDialog(FormDialog):
    """Tells the shelf that a film was cut. ``job`` is the result after it was accepted."""

    def __init__(
        self, session: Session, report: RollReport, file: ShelfFile, parent: QWidget | None
    ) -> None:
        super().__init__("Film is cut", parent, button="Change the shelf")
        self._plan, self._report, self._file = session.plan, report, file
        self.job: Job | None = None
        self.sentence = ""
        self.film = Combo()
        for film in self._cut_films():
            self.film.addItem(self._plan.job.film(film).name, film)
        self.add_field("Film", self.film)
        self.retakes = Tick("Retakes were cut, too")
        self.form.addRow("", self.retakes)
        self.was_cut = QLabel()
        self.was_cut.setWordWrap(True)
        self.column.addWidget(self.was_cut)
        self.list = QListWidget()
        self.list.setAccessibleName("What becomes of the stock")
        self.list.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        self.list.setMinimumHeight(160)
        self.list.setWordWrap(True)
        self.list.setSpacing(3)
        self.list.setItemDelegate(TickRow(self.list))
        dress(self.list, "card")
        self.column.addWidget(quiet_label("What is ticked is done to the shelf:"))
        self.column.addWidget(self.list, 1)
        self.column.addWidget(
            quiet_label(
                "The job keeps this layout and its own copy of the stock, as a record. "
                "Undo takes the mark off the job; the shelf stays as it is then."
            )
        )
        self.finish_layout()
        self.setMinimumWidth(560)
        self.film.currentIndexChanged.connect(self._show)
        self.retakes.toggled.connect(self._show)
        self._changes: tuple[ShelfChange, ...] = ()
        self._show()

    def check(self) -> None:
        """Change the shelf, then make the job; a conflict keeps the dialog open."""
        wanted = [
            change
            for i, change in enumerate(self._changes)
            if self.list.item(i).checkState() is Qt.CheckState.Checked
        ]
        film = self._film()
        if film is None:
            raise InputError("No film is laid out.", where="Film")
        day = datetime.now(UTC).astimezone().date().isoformat()
        job = mark_cut(self._plan, self._report.rolls, film, day)

        def make(shelf: Shelf) -> Shelf:
            return apply_changes(shelf, wanted, (new_key() for _ in wanted))

        if wanted:
            self._file.change(make)
        self.job = job
        self.sentence = f"Mark {job.film(film).name} as cut"

    def _film(self) -> FilmId | None:
        film: FilmId | None = self.film.currentData()
        return film

    def _cut_films(self) -> list[FilmId]:
        return [f.film for f in self._report.rolls.films if any(s.placements for s in f.sheets)]

    def _show(self) -> None:
        film = self._film()
        rolls = next((f for f in self._report.rolls.films if f.film == film), None)
        self.list.clear()
        if rolls is None:
            return
        has_retakes = any(p.item.attempt > 1 for s in rolls.sheets for p in s.placements)
        self.retakes.setVisible(has_retakes)
        is_with = has_retakes and self.retakes.isChecked()
        self._changes = changes_when_cut(self._plan, rolls, has_retakes=is_with)
        for change in self._changes:
            item = QListWidgetItem(change.text[:1].upper() + change.text[1:])
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Checked)
            self.list.addItem(item)
        cut = next((c for c in self._plan.job.cuts if c.film == film), None)
        self.was_cut.setVisible(cut is not None)
        if cut is not None:
            self.was_cut.setText(f"This film was marked as cut on {cut.day} already.")

"""The shelf that jobs share: what lies there, and moving it between shelf and job."""

from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QMessageBox,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.stock_words import stock_text
from app.messages import show_error, sign
from app.panes.controls import Combo
from app.panes.pane import quiet_label
from app.session import Session
from app.style import dress
from core.document.edits.films import set_stock
from core.document.film import ShelfPlace, Stock
from core.document.job import Job
from core.document.shelf import (
    Shelf,
    ShelfEntry,
    entries_for,
    follow_shelf,
    free_on_shelf,
    holder_text,
    names_without,
    put_back,
    put_on_shelf,
    remove_from_shelf,
    stock_conflicts,
    take_from_shelf,
    with_files,
)
from core.document.shelf_file import ShelfFile, new_key
from core.errors import LaplineError

_KEY = Qt.ItemDataRole.UserRole


class ShelfDialog(QDialog):
    """Shows what of a film lies on the shelf and in the job, side by side."""

    def __init__(self, session: Session, file: ShelfFile, parent: QWidget | None) -> None:
        super().__init__(parent)
        self._session, self._file = session, file
        self._shelf: Shelf = file.read()
        self.setWindowTitle("Shelf")
        self.resize(980, 560)
        self.film = Combo()
        self.film.setAccessibleName("Film")
        for film in session.committed_job.films:
            self.film.addItem(film.name, film.id)
        self.film.currentIndexChanged.connect(self.refresh)
        self.on_shelf, self.in_job = _list("On the shelf"), _list("In this job")
        self.take = _button("Take into the job", self._on_take, "primary")
        self.remove = _button("Take off the shelf", self._on_remove)
        self.free = _button("Free it", self._on_free)
        self.free.setToolTip("The job that has it was given up")
        self.back = _button("Put back", self._on_back, "primary")
        self.put = _button("Put on the shelf", self._on_put)
        self.put.setToolTip("The shelf notes that this job has it")
        self.follow = _button("Follow the shelf", self._on_follow)
        self.follow.setToolTip(
            "Let the job have it as it is on the shelf now; what another job has leaves it"
        )
        self.conflicts = QLabel()
        self.conflicts.setWordWrap(True)
        self.conflicts.setTextFormat(Qt.TextFormat.PlainText)
        dress(self.conflicts, "warn")
        self.others = quiet_label("")
        self._lay_out()
        for view in (self.on_shelf, self.in_job):
            view.itemSelectionChanged.connect(self._ready)
        self.refresh()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        head = QHBoxLayout()
        title = QLabel("Shelf")
        dress(title, "job")
        head.addWidget(title)
        head.addStretch()
        head.addWidget(self.film)
        column.addLayout(head)
        column.addWidget(
            quiet_label(
                "Rolls and offcuts that all your jobs share. A job works from its own copy; "
                "the shelf notes which job has what."
            )
        )
        sides = QHBoxLayout()
        sides.setSpacing(20)
        sides.addLayout(
            _side("On the shelf", self.on_shelf, (self.take, self.free, self.remove))
        )
        sides.addLayout(_side("In this job", self.in_job, (self.back, self.put, self.follow)))
        column.addLayout(sides, 1)
        column.addWidget(self.conflicts)
        column.addWidget(self.others)
        self.place = quiet_label(f"Kept in {self._file.path}")
        self.place.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        column.addWidget(self.place)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column.addWidget(buttons)

    def refresh(self) -> None:
        """Show the shelf and the job as they are now."""
        job = self._session.committed_job
        film = job.film(self.film.currentData())
        self.on_shelf.clear()
        for entry in entries_for(self._shelf, film):
            words = stock_text(entry.stock, job.units, film.roll_width_mm)
            holder = holder_text(self._shelf, entry, job)
            by = f"in {holder}" if holder else entry.stock.note
            _add(self.on_shelf, entry.key, words, by)
        self.in_job.clear()
        for stock in film.stock:
            words = stock_text(stock, job.units, film.roll_width_mm)
            _add(self.in_job, stock.id, f"{stock.id}: {words}", _origin(stock))
        found = [c for c in stock_conflicts(job, self._shelf) if c.film == film.id]
        self.conflicts.setText("\n".join(c.text for c in found))
        self.conflicts.setVisible(bool(found))
        names = names_without(self._shelf, job)
        self.others.setText(
            f"Also on the shelf: {', '.join(names)}. Films are found there by their names."
        )
        self.others.setVisible(bool(names))
        self._ready()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Look again when the window is come back to: another may have changed the shelf."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.look_again()

    def look_again(self) -> None:
        """Show the shelf as it is in its file now, if it can be read."""
        try:
            shelf = self._file.read()
        except LaplineError:
            return  # what is done next tells why
        if shelf != self._shelf:
            self._shelf = shelf
            self.refresh()

    def _revisions(self) -> dict[str, int]:
        return {e.key: e.revision for e in self._shelf.entries}

    def _ready(self) -> None:
        entries = {e.key: e for e in self._shelf.entries}
        picked = [entries[k] for k in _picked(self.on_shelf) if k in entries]
        self.take.setEnabled(bool(picked) and not any(e.taken_by for e in picked))
        self.free.setEnabled(bool(picked) and all(e.taken_by for e in picked))
        self.remove.setEnabled(bool(picked) and not any(e.taken_by for e in picked))
        own = self._picked_stock()
        at_odds = {c.stock for c in stock_conflicts(self._session.committed_job, self._shelf)}
        from_shelf = bool(own) and all(s.shelf is not None for s in own)
        self.back.setEnabled(from_shelf and not any(s.id in at_odds for s in own))
        self.put.setEnabled(bool(own) and all(s.shelf is None for s in own))
        self.follow.setEnabled(any(s.id in at_odds for s in own))

    def _picked_stock(self) -> list[Stock]:
        film = self._session.committed_job.film(self.film.currentData())
        chosen = _picked(self.in_job)
        return [s for s in film.stock if s.id in chosen]

    def _on_take(self) -> None:
        keys, film = _picked(self.on_shelf), self.film.currentData()
        self._do(
            "Take film from the shelf",
            lambda job, shelf: take_from_shelf(job, shelf, film, keys),
        )

    def _on_back(self) -> None:
        ids = _picked(self.in_job)
        self._do("Put film back on the shelf", lambda job, shelf: put_back(job, shelf, ids))

    def _on_put(self) -> None:
        film_id, ids = self.film.currentData(), _picked(self.in_job)

        def put(job: Job, shelf: Shelf) -> tuple[Job, Shelf]:
            film = job.film(film_id)
            fresh: list[Stock] = []
            for stock in film.stock:
                if stock.id not in ids or stock.shelf is not None:
                    fresh.append(stock)
                    continue
                shelf, entry = _put_as_taken(shelf, film_id, stock, job)
                place = ShelfPlace(key=entry.key, revision=entry.revision)
                fresh.append(replace(stock, shelf=place))
            return set_stock(job, film_id, tuple(fresh)), shelf

        self._do("Put film on the shelf", put)

    def _on_remove(self) -> None:
        keys = _picked(self.on_shelf)
        seen = self._revisions()
        if not ask_removal(self, len(keys)):
            return

        def remove(job: Job, shelf: Shelf) -> tuple[Job, Shelf]:
            for key in keys:
                shelf = remove_from_shelf(shelf, key, seen[key])
            return job, shelf

        self._do("", remove)

    def _on_free(self) -> None:
        keys = _picked(self.on_shelf)

        seen = self._revisions()

        def free(job: Job, shelf: Shelf) -> tuple[Job, Shelf]:
            for key in keys:
                shelf = free_on_shelf(shelf, key, seen[key])
            return job, shelf

        self._do("", free)

    def _on_follow(self) -> None:
        ids = _picked(self.in_job)

        def follow(job: Job, shelf: Shelf) -> tuple[Job, Shelf]:
            for conflict in stock_conflicts(job, shelf):
                if conflict.stock in ids:
                    job, shelf = follow_shelf(job, shelf, conflict)
            return job, shelf

        self._do("Follow the shelf", follow)

    def _do(self, sentence: str, change: Callable[[Job, Shelf], tuple[Job, Shelf]]) -> None:
        """Change shelf and job together; nothing is changed when either refuses."""
        job, path = self._session.committed_job, self._session.path
        made = job

        def make(shelf: Shelf) -> Shelf:
            nonlocal made
            made, after = change(job, shelf)
            return with_files(shelf, after, path.name if path else "")

        try:
            self._shelf = self._file.change(make)
            if made is not job:
                self._session.do(sentence, made)
        except LaplineError as error:
            show_error(error, self)
            self.look_again()
        self.refresh()


def ask_removal(parent: QWidget, count: int) -> bool:
    """Ask whether film is to leave the shelf for good."""
    box = QMessageBox(parent)
    sign(box, "warning")
    box.setWindowTitle("Lapline")
    what = "it" if count == 1 else f"these {count}"
    box.setText(f"Take {what} off the shelf for good?")
    box.setInformativeText("No job finds it there any more, and this cannot be undone.")
    yes = box.addButton("Take off the shelf", QMessageBox.ButtonRole.DestructiveRole)
    box.addButton(QMessageBox.StandardButton.Cancel)
    box.exec()
    return box.clickedButton() is yes


def _put_as_taken(
    shelf: Shelf, film_id: str, stock: Stock, job: Job
) -> tuple[Shelf, ShelfEntry]:
    """Put stock on the shelf, noted as this job's."""
    key = new_key()
    shelf = put_on_shelf(shelf, job.film(film_id), stock, key)
    entry = replace(shelf.entry(key), taken_by=job.name or "a job")
    entries = tuple(entry if e.key == key else e for e in shelf.entries)
    return replace(shelf, entries=entries), entry


def _origin(stock: Stock) -> str:
    return "from the shelf" if stock.shelf is not None else stock.note or "this job's own"


def _list(name: str) -> QTreeWidget:
    view = QTreeWidget()
    view.setAccessibleName(name)
    dress(view, "card")
    view.setColumnCount(2)
    view.setHeaderHidden(True)
    view.setRootIsDecorated(False)
    view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
    view.header().setStretchLastSection(False)
    view.header().setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
    view.header().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
    return view


def _add(view: QTreeWidget, key: str, text: str, note: str) -> None:
    item = QTreeWidgetItem([text, note])
    item.setData(0, _KEY, key)
    item.setToolTip(0, text)
    item.setToolTip(1, note)
    view.addTopLevelItem(item)


def _picked(view: QTreeWidget) -> list[str]:
    return [item.data(0, _KEY) for item in view.selectedItems()]


def _side(title: str, view: QTreeWidget, buttons: tuple[QPushButton, ...]) -> QVBoxLayout:
    column = QVBoxLayout()
    column.setSpacing(8)
    label = QLabel(title)
    dress(label, "title")
    column.addWidget(label)
    column.addWidget(view, 1)
    row = QHBoxLayout()
    for button in buttons:
        row.addWidget(button)
    row.addStretch()
    column.addLayout(row)
    return column


def _button(text: str, slot: Callable[[], None], look: str = "") -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    if look:
        dress(button, look)
    button.clicked.connect(slot)
    return button

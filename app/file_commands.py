"""New, open, save, recent files and samples, with the question about unsaved work."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QFileDialog, QMenu, QMessageBox, QWidget

from app.actions import Actions
from app.messages import show_error, sign, waiting
from app.opening import Source
from app.session import Session
from app.settings import AppSettings
from core.errors import LaplineError

JOBS = Source("job", "Open a job", "Lapline jobs", (".lapline",))
SAMPLES = Path(__file__).parent.parent / "sample_projects"


class FileCommands(QObject):
    """The commands of the File menu that open and save."""

    busy_changed = Signal(str)
    """What is being opened, or "" when nothing is."""

    def __init__(
        self, window: QWidget, session: Session, settings: AppSettings, actions: Actions
    ) -> None:
        super().__init__(window)
        self._window, self._session, self._settings = window, session, settings
        self._is_opening = False
        self._recent = actions.submenus["recent"]
        self._recent.setTitle("Open recent")
        actions.submenus["samples"].setTitle("Open a sample")
        self._fill_samples(actions.submenus["samples"])
        self.fill_recent()
        actions.on("new", self.new)
        actions.on("open", self.ask_open)
        actions.on("save", self.save)
        actions.on("save_as", self.save_as)

    def new(self) -> None:
        """Start an empty job."""
        if self.may_leave():
            self._session.new()

    def ask_open(self) -> None:
        """Ask for a job and open it."""
        path = JOBS.ask(self._folder(), self._window)
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> bool:
        """Open a job, after asking about unsaved work; tell whether it is open."""
        if not self.may_leave():
            return False
        try:
            with self._opening(path.name):
                self._session.open(path)
        except LaplineError as error:
            self._settings.drop_recent(path)
            self.fill_recent()
            show_error(error, self._window)
            return False
        self._remember(path)
        return True

    def open_sample(self, path: Path) -> None:
        """Open a copy of a sample, so that saving never changes the sample."""
        if not self.may_leave():
            return
        try:
            with self._opening(path.stem):
                self._session.open_copy(path)
        except LaplineError as error:
            show_error(error, self._window)

    def save(self) -> bool:
        """Save to the job's file, or ask for one; tell whether it is saved."""
        if self._session.path is None:
            return self.save_as()
        return self._save(self._session.path)

    def save_as(self) -> bool:
        """Ask for a file and save to it; tell whether it is saved."""
        name = f"{self._session.committed_job.name}.lapline".replace("/", "-")
        start = self._session.path or Path(self._folder()) / name
        path, _ = QFileDialog.getSaveFileName(
            self._window, "Save the job", str(start), JOBS.filter
        )
        if not path:
            return False
        target = Path(path)
        return self._save(target if target.suffix else target.with_suffix(".lapline"))

    def may_leave(self) -> bool:
        """Ask about unsaved work; tell whether the job may be left."""
        if self._is_opening:
            return False
        if not self._session.is_dirty:
            return True
        answer = ask_unsaved(self._window, self._session.committed_job.name)
        if answer is QMessageBox.StandardButton.Save:
            return self.save()
        return answer is QMessageBox.StandardButton.Discard

    @contextmanager
    def _opening(self, name: str) -> Iterator[None]:
        """Show that a job is being opened, and let nothing else open or close meanwhile."""
        self._is_opening = True
        self.busy_changed.emit(f"Opening {name}…")
        try:
            with waiting():
                yield
        finally:
            self._is_opening = False
            self.busy_changed.emit("")

    def fill_recent(self) -> None:
        """Show the recent files in their menu."""
        self._recent.clear()
        for path in self._settings.recent():
            action = self._recent.addAction(path.name.replace("&", "&&"))
            action.setToolTip(str(path))
            action.triggered.connect(partial(self._open_recent, path))
        self._recent.setEnabled(not self._recent.isEmpty())

    def _open_recent(self, path: Path, _checked: bool = False) -> None:  # noqa: FBT001, FBT002
        self.open(path)

    def _open_sample(self, path: Path, _checked: bool = False) -> None:  # noqa: FBT001, FBT002
        self.open_sample(path)

    def _save(self, path: Path) -> bool:
        try:
            self._session.save(path)
        except LaplineError as error:
            show_error(error, self._window)
            return False
        self._remember(path)
        self._session.message(f"Saved {path.name}")
        return True

    def _remember(self, path: Path) -> None:
        self._settings.add_recent(path)
        self._settings.set_text("folder", str(path.absolute().parent))
        self.fill_recent()

    def _folder(self) -> str:
        return self._settings.text("folder", str(Path.home()))

    def _fill_samples(self, menu: QMenu) -> None:
        for path in sorted(SAMPLES.glob("*.lapline")):
            name = path.stem.replace("_", " ").replace("-", " ").capitalize()
            menu.addAction(name).triggered.connect(partial(self._open_sample, path))
        menu.setEnabled(not menu.isEmpty())


def ask_unsaved(parent: QWidget, name: str) -> QMessageBox.StandardButton:
    """Ask what becomes of unsaved work: Save, Discard or Cancel."""
    box = QMessageBox(parent)
    sign(box, "note")
    box.setWindowTitle("Lapline")
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setText(f"Save the changes to {name}?")
    box.setInformativeText("What is not saved is lost.")
    buttons = QMessageBox.StandardButton
    box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
    box.button(buttons.Discard).setText("Do not save")
    box.setDefaultButton(buttons.Save)
    return buttons(box.exec())

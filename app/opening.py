"""Files that others made: asked for, dropped on the window, read in the pool."""

from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QMimeData, QObject, Signal
from PySide6.QtWidgets import QFileDialog, QProgressDialog, QWidget

from app.jobs import Work
from app.messages import show_error
from app.settings import AppSettings
from app.style import dress
from core.errors import LaplineError
from core.progress import Step

PATIENCE_MS = 400


@dataclass(frozen=True, slots=True)
class Source:
    """A kind of file that something is opened from.

    Attributes:
        name: under which the folder is remembered.
        title: of the dialog that asks for one.
        plural: what several are called.
        endings: of their names, with the dot.
    """

    name: str
    title: str
    plural: str
    endings: tuple[str, ...]

    def dropped(self, data: QMimeData) -> Path | None:
        """Return the first such file among what is dropped, or None."""
        for url in data.urls():
            if url.isLocalFile() and url.toLocalFile().lower().endswith(self.endings):
                return Path(url.toLocalFile())
        return None

    @property
    def filter(self) -> str:
        """What a dialog shows of a folder."""
        return f"{self.plural} ({' '.join(f'*{e} *{e.upper()}' for e in self.endings)})"

    def ask(self, folder: str, window: QWidget) -> Path | None:
        """Ask for one, first in a folder; None when there is none."""
        path, _ = QFileDialog.getOpenFileName(window, self.title, folder, self.filter)
        return Path(path) if path else None

    def folder(self, settings: AppSettings) -> str:
        """Return where the last one was."""
        return settings.text(f"{self.name}_folder", str(Path.home()))

    def remember(self, settings: AppSettings, path: Path) -> None:
        """Keep in mind where one was."""
        settings.set_text(f"{self.name}_folder", str(path.absolute().parent))


class Reading(QObject):
    """One piece of work at a time, with a box that tells of it and can stop it."""

    busy_changed = Signal(str)
    """What is being done, or ""."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._work: Work | None = None
        self._box: QProgressDialog | None = None

    @property
    def is_busy(self) -> bool:
        """Whether something is being read."""
        return self._work is not None

    def start(self, work: Work, words: str) -> None:
        """Start the work; what is wrong is shown."""
        self._work = work
        box = self._box = QProgressDialog(words, "Cancel", 0, 0, self._window)
        dress(box, "")
        box.setWindowTitle("Lapline")
        box.setMinimumDuration(PATIENCE_MS)
        box.setAutoReset(False)
        box.setAutoClose(False)
        box.setValue(0)  # without it the box waits for several seconds, whatever it is told
        box.canceled.connect(work.cancel)
        work.progressed.connect(self._on_progress)
        work.failed.connect(self._on_failed)
        work.ended.connect(self._on_ended)
        self.busy_changed.emit(words)
        work.start()

    def _on_progress(self, step: object) -> None:
        if isinstance(step, Step) and self._box is not None:
            self._box.setLabelText(f"{step.words}…")
            if step.share is not None:
                self._box.setRange(0, 100)
                self._box.setValue(round(100 * step.share))

    def _on_failed(self, error: Exception) -> None:
        self._put_box_away()
        if not isinstance(error, LaplineError):
            raise error
        show_error(error, self._window)

    def _on_ended(self) -> None:
        self._work = None
        self._put_box_away()
        self.busy_changed.emit("")

    def _put_box_away(self) -> None:
        box, self._box = self._box, None
        if box is not None:
            box.canceled.disconnect()
            box.close()
            box.deleteLater()

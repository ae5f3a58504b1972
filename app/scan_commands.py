"""The commands around scans: a panel from a scan, and a scanned part seen in space.

What reads scans loads large libraries, so it is imported when it is first used.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QMimeData, QObject, Signal
from PySide6.QtWidgets import QFileDialog, QProgressDialog, QWidget

from app.actions import Actions
from app.jobs import Work
from app.messages import show_error
from app.selection import Selection
from app.session import Session
from app.settings import AppSettings
from app.style import dress
from core.errors import LaplineError
from core.ids import PanelId
from core.progress import Step

if TYPE_CHECKING:
    from app.solid.scan_window import ScanWindow
    from core.read.scan_panel import OpenedScan, ScannedPanel

ENDINGS = (".stl", ".obj", ".ply", ".3mf")
FILTER = f"Scans ({' '.join(f'*{e} *{e.upper()}' for e in ENDINGS)})"


class ScanCommands(QObject):
    """The commands of scans."""

    busy_changed = Signal(str)

    def __init__(
        self, window: QWidget, session: Session, settings: AppSettings, actions: Actions
    ) -> None:
        super().__init__(window)
        self._window, self._session, self._settings = window, session, settings
        self._work: Work | None = None
        self._waiting: QProgressDialog | None = None
        self.dialog: ScanWindow | None = None
        actions.on("from_scan", self.ask)

    @property
    def is_busy(self) -> bool:
        """Whether a scan is being read or laid flat."""
        return self._work is not None

    def ask(self) -> None:
        """Ask for a scan and open it."""
        folder = self._settings.text("scan_folder", str(Path.home()))
        path, _ = QFileDialog.getOpenFileName(self._window, "Open a scan", folder, FILTER)
        if path:
            self.open(Path(path))

    def open(self, path: Path) -> None:
        """Read a scan, then show the window in which a part of it is chosen."""
        if self._work is not None or self.dialog is not None:
            return
        self._settings.set_text("scan_folder", str(path.absolute().parent))
        from core.read.scan_panel import open_scan  # noqa: PLC0415 - see the module

        work = Work(lambda control: open_scan(path, control))
        work.done.connect(lambda scan: self.show_scan(scan, path.name))
        self._start(work, f"Opening {path.name}…")

    def show_scan(self, scan: "OpenedScan", title: str) -> None:
        """Show the window in which a part of a scan is chosen."""
        from app.solid.scan_window import ScanWindow  # noqa: PLC0415 - see the module

        self.dialog = ScanWindow(
            scan.mesh, self._session.committed_job, title, scan.told, self._window
        )
        self.dialog.finished.connect(lambda _: self._on_finished(title))
        self.dialog.open()

    def _on_finished(self, title: str) -> None:
        dialog, self.dialog = self.dialog, None
        if dialog is None:
            return
        part = dialog.part
        dialog.deleteLater()
        if part is None:
            return
        from core.read.scan_panel import PanelWish, panel_from_scan  # noqa: PLC0415

        job, wish = self._session.committed_job, PanelWish(part.name, part.film, title)
        work = Work(lambda c: panel_from_scan(job, part.mesh, part.chosen, wish, c))
        work.done.connect(lambda made: self._take(made, part.name))
        self._start(work, "Laying the part flat…")

    def _take(self, made: "ScannedPanel", name: str) -> None:
        self._session.keep_scan(made.file, made.data)
        try:
            self._session.do(f"Add {name} from a scan", made.job)
        except LaplineError as error:
            show_error(error, self._window)
            return
        self._session.select(Selection("panel", (made.panel,), PanelId(made.panel)))

    # Work that goes on

    def _start(self, work: Work, words: str) -> None:
        self._work = work
        box = self._waiting = QProgressDialog(words, "Cancel", 0, 0, self._window)
        dress(box, "")
        box.setWindowTitle("Lapline")
        box.setMinimumDuration(400)
        box.setAutoReset(False)
        box.canceled.connect(work.cancel)
        work.progressed.connect(self._on_progress)
        work.failed.connect(self._on_failed)
        work.ended.connect(self._on_ended)
        self.busy_changed.emit(words)
        work.start()

    def _on_progress(self, step: object) -> None:
        if isinstance(step, Step) and self._waiting is not None:
            self._waiting.setLabelText(f"{step.words}…")

    def _on_failed(self, error: Exception) -> None:
        self._end_waiting()
        if not isinstance(error, LaplineError):
            raise error
        show_error(error, self._window)

    def _on_ended(self) -> None:
        self._work = None
        self._end_waiting()
        self.busy_changed.emit("")

    def _end_waiting(self) -> None:
        box, self._waiting = self._waiting, None
        if box is not None:
            box.canceled.disconnect()
            box.close()
            box.deleteLater()


def dropped_scan(data: QMimeData) -> Path | None:
    """Return the scan among what is dropped, or None."""
    for url in data.urls():
        if url.isLocalFile() and url.toLocalFile().lower().endswith(ENDINGS):
            return Path(url.toLocalFile())
    return None

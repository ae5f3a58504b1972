"""The commands around scans: a panel from a scan, and a scanned part seen in space.

What reads scans loads large libraries, so it is imported when it is first used.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.actions import Actions
from app.jobs import Control, Work
from app.messages import show_error
from app.opening import Reading, Source
from app.selection import Selection
from app.session import Session
from app.settings import AppSettings
from core.errors import LaplineError
from core.ids import PanelId

if TYPE_CHECKING:
    from app.solid.scan_window import ScanWindow
    from core.read.scan_panel import OpenedScan, ScannedPanel

SCANS = Source("scan", "Open a scan", "Scans", (".stl", ".obj", ".ply", ".3mf"))


class ScanCommands(QObject):
    """The commands of scans."""

    def __init__(
        self, window: QWidget, session: Session, settings: AppSettings, actions: Actions
    ) -> None:
        super().__init__(window)
        self._window, self._session, self._settings = window, session, settings
        self.reading = Reading(window)
        self.dialog: ScanWindow | None = None
        actions.on("from_scan", self.ask)

    def ask(self) -> None:
        """Ask for a scan and open it."""
        path = SCANS.ask(SCANS.folder(self._settings), self._window)
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> None:
        """Read a scan, then show the window in which a part of it is chosen."""
        if self.reading.is_busy or self.dialog is not None:
            return
        SCANS.remember(self._settings, path)
        work = Work(lambda control: _opened(path, control))
        work.done.connect(lambda scan: self.show_scan(scan, path.name))
        self.reading.start(work, f"Opening {path.name}…")

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
        self.reading.start(work, "Laying the part flat…")

    def _take(self, made: "ScannedPanel", name: str) -> None:
        self._session.keep_scan(made.file, made.data)
        try:
            self._session.do(f"Add {name} from a scan", made.job)
        except LaplineError as error:
            show_error(error, self._window)
            return
        self._session.select(Selection("panel", (made.panel,), PanelId(made.panel)))


def _opened(path: Path, control: Control) -> "OpenedScan":
    """Read a scan, and load what will show it, while the window stays free."""
    from core.read.scan_panel import open_scan  # noqa: PLC0415 - see the module
    from core.shape import picking, view_paint  # noqa: F401, PLC0415 - for the window to come

    return open_scan(path, control)

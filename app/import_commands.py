"""The command that brings panels in from drawing files, from the menu or dropped.

The dialog and the readers are imported when they are first used, for they load libraries of
their own.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from app.actions import Actions
from app.messages import show_error
from app.opening import Source
from app.selection import Selection
from app.session import Session
from app.settings import AppSettings
from core.errors import LaplineError
from core.ids import PanelId

if TYPE_CHECKING:
    from app.dialogs.import_outlines import ImportDialog

DRAWINGS = Source("import", "Import outlines", "Drawings", (".dxf", ".svg", ".svgz", ".pdf"))


class ImportCommands:
    """Import outlines."""

    def __init__(
        self, window: QWidget, session: Session, settings: AppSettings, actions: Actions
    ) -> None:
        self._window, self._session, self._settings = window, session, settings
        self._actions = actions
        self.dialog: ImportDialog | None = None
        actions.on("import_outlines", self.ask)

    def ask(self) -> None:
        """Ask for a file and open it."""
        path = DRAWINGS.ask(DRAWINGS.folder(self._settings), self._window)
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> None:
        """Show what a file holds, and import what the user takes of it."""
        from app.dialogs.import_outlines import ImportDialog  # noqa: PLC0415 - see the module

        if self.dialog is not None:
            return
        DRAWINGS.remember(self._settings, path)
        self.dialog = ImportDialog(path, self._session.committed_job, self._window)
        self.dialog.failed.connect(self._on_failed)
        self.dialog.finished.connect(self._on_finished)
        self.dialog.open()

    def _on_failed(self, error: LaplineError) -> None:
        show_error(error, self._window)

    def _on_finished(self) -> None:
        dialog, self.dialog = self.dialog, None
        if dialog is None:
            return
        if dialog.edit is not None:
            old = {panel.id for panel in self._session.committed_job.panels}
            sentence, job = dialog.edit
            self._session.do(sentence, job)
            fresh = tuple(panel.id for panel in job.panels if panel.id not in old)
            only = PanelId(fresh[0]) if len(fresh) == 1 else None
            self._session.select(Selection("panel", fresh, only))
            self._actions["zoom_fit"].trigger()
        dialog.deleteLater()

"""Handing work out: opens its window on the plan, and remembers what was chosen.

The writers are imported when they are first used: they would be a third of the start-up time.
"""

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec
from msgspec import structs
from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QWidget

from app.actions import Actions
from app.messages import waiting
from app.session import Session
from app.settings import AppSettings
from app.shape_words import how_all_lay
from app.shapes import Shapes
from core.document.edits.settings import set_settings
from core.document.job import BlankCut
from core.errors import LaplineError
from core.roll.left_out import stops

if TYPE_CHECKING:
    from app.handout.window import HandOutWindow
    from core.write.outputs import OutputOptions

FOLDER, CHOICES = "export_folder", "hand_out"


class HandOutCommands(QObject):
    """Opens the window that writes and prints; knows where files went last."""

    changed = Signal()
    finished = Signal(list)
    """The paths written."""

    def __init__(
        self,
        window: QWidget,
        session: Session,
        settings: AppSettings,
        actions: Actions,
        shapes: Shapes,
    ) -> None:
        super().__init__(window)
        self._shapes = shapes
        shapes.changed.connect(self._tell_of_shapes)
        self._window, self._session, self._settings = window, session, settings
        self.folder: Path | None = None
        """Where files were written last in this run."""
        self.dialog: HandOutWindow | None = None
        actions.on("hand_out", self.open)
        actions.on("open_folder", self.open_folder)

    def reasons(self) -> dict[str, str]:
        """Return why a command cannot be done now, "" when it can."""
        plan = self._session.plan
        reason = "" if plan.panels else "There is no panel yet"
        report = self._session.rolls if self._session.are_rolls_current else None
        stopping = stops(plan, report.rolls if report else None)
        stopped = reason or (f"{stopping[0].text} See Review" if stopping else "")
        return {
            "hand_out": stopped,
            "open_folder": "" if self.folder else "Nothing was written yet",
        }

    def open(self) -> None:
        """Open the window on the plan as it is now."""
        with waiting():
            from app.handout.window import HandOutWindow  # noqa: PLC0415 - see the module

            report = self._session.rolls if self._session.are_rolls_current else None
            self.dialog = HandOutWindow(
                self._session.plan,
                report.rolls if report else None,
                self._remembered(),
                self._folder(),
                self._window,
            )
        self._tell_of_shapes()
        self.dialog.written.connect(self._on_written)
        self.dialog.straight_wanted.connect(self._lay_straight)
        self.dialog.finished.connect(self._on_closed)
        self.dialog.open()

    def open_folder(self) -> None:
        """Show the files that were written last in the desktop's own program for folders."""
        if self.folder is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self.folder)))

    def _tell_of_shapes(self) -> None:
        """Say in the window whether the film lays, as soon as that is known."""
        if self.dialog is None:
            return
        if not self._shapes.is_current:
            self.dialog.foot.show_lays("Whether the film lays is being worked out…", "quiet")
            return
        self.dialog.foot.show_lays(how_all_lay(self._shapes.report.pieces), "warn")

    def _lay_straight(self) -> None:
        """Have the rolls laid so that straight cuts part all pieces, and hand that out."""
        assert self.dialog is not None
        job = self._session.committed_job
        settings = structs.replace(job.settings, blank_cut=BlankCut.ALL_STRAIGHT)
        self._session.do("Lay the rolls for cutting by hand", set_settings(job, settings))
        self.dialog.show_plan(self._session.plan)

    def _on_written(self, paths: list[Path]) -> None:
        assert self.dialog is not None
        self.folder = self.dialog.folder
        self._settings.set_text(FOLDER, str(self.folder))
        self._remember(self.dialog.choices.options)
        count = "1 file" if len(paths) == 1 else f"{len(paths)} files"
        self._session.message(f"{count} written to {self.folder}")
        self.finished.emit(paths)
        self.changed.emit()

    def _on_closed(self, _: int) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None

    def _remembered(self) -> "OutputOptions":
        """Return what was chosen last, with today's date; what no longer fits is dropped."""
        from core.write.outputs import OutputOptions  # noqa: PLC0415 - see the module

        try:
            options = msgspec.json.decode(self._settings.text(CHOICES), type=OutputOptions)
        except (msgspec.MsgspecError, LaplineError):
            options = OutputOptions()
        return replace(options, day=datetime.now().astimezone().date())

    def _remember(self, options: "OutputOptions") -> None:
        kept = msgspec.json.encode(replace(options, day=None))
        self._settings.set_text(CHOICES, kept.decode())

    def _folder(self) -> Path:
        home = self._session.path.parent if self._session.path else Path.home()
        return Path(self._settings.text(FOLDER) or home / "lapline-output")

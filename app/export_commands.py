"""The commands that write files for others, in a worker.

The writers are imported when they are first used: they would be a third of the start-up time.
"""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from app.actions import Actions
from app.jobs import Work
from app.messages import show_error, waiting
from app.session import Session
from app.settings import AppSettings
from core.errors import ExportFailed, LaplineError
from core.roll.model import RollPlan
from core.roll.rolls import roll_plan
from core.write.atomic import write_set

if TYPE_CHECKING:
    from app.dialogs.export import ExportWish

PICTURE_WIDTH_PX = 2400


class ExportCommands(QObject):
    """Export everything, the rolls, or a picture."""

    busy_changed = Signal(str)
    """What is being written, or "" when nothing is."""
    finished = Signal(list)
    """The paths written."""

    def __init__(
        self, window: QWidget, session: Session, settings: AppSettings, actions: Actions
    ) -> None:
        super().__init__(window)
        self._window, self._session, self._settings = window, session, settings
        self._work: Work | None = None
        self.folder: Path | None = None
        """Where files were written last in this run."""
        actions.on("export", self.ask_everything)
        actions.on("open_folder", self.open_folder)
        actions.on("export_dxf", self.ask_rolls)
        actions.on("export_picture", self.ask_picture)

    @property
    def is_busy(self) -> bool:
        """Whether something is being written."""
        return self._work is not None

    def ask_everything(self) -> None:
        """Ask for a folder and write all outputs into it."""
        with waiting():
            from app.dialogs.export import ExportDialog  # noqa: PLC0415 - see the module

        dialog = ExportDialog(self._folder(), self._window)
        if dialog.exec() == QDialog.DialogCode.Accepted and dialog.wish:
            self.everything(dialog.wish)

    def ask_rolls(self) -> None:
        """Ask for a folder and write the rolls' plotter files into it."""
        from app.dialogs.export import ExportWish  # noqa: PLC0415 - see the module
        from core.write.outputs import OutputOptions  # noqa: PLC0415

        folder = QFileDialog.getExistingDirectory(
            self._window, "Write the rolls as DXF into", str(self._folder())
        )
        if folder:
            today = datetime.now().astimezone().date()
            options = OutputOptions(has_pictures=False, day=today)
            self.everything(ExportWish(Path(folder), options))

    def ask_picture(self) -> None:
        """Ask for a file and write a picture of the panels."""
        start = str(
            self._folder() / f"{self._session.committed_job.name}.png".replace("/", "-")
        )
        path, _ = QFileDialog.getSaveFileName(
            self._window, "Picture of the panels", start, "PNG (*.png);;SVG (*.svg)"
        )
        if path:
            self.picture(Path(path))

    def open_folder(self) -> None:
        """Show the files that were written last in the desktop's own program for folders."""
        if self.folder is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self.folder)))

    def everything(self, wish: "ExportWish") -> None:
        """Write all outputs that are wished for."""
        plan = self._session.plan
        report = self._session.rolls if self._session.are_rolls_current else None
        self._settings.set_text("export_folder", str(wish.folder))

        def write() -> list[Path]:
            from core.write.outputs import write_all  # noqa: PLC0415 - see the module

            rolls: RollPlan = (report or roll_plan(plan)).rolls
            return write_all(plan, rolls, wish.folder, wish.options)

        self._run(f"Writing to {wish.folder.name}…", write)

    def picture(self, path: Path) -> None:
        """Write a picture of all panels; the file's ending says what kind."""
        plan = self._session.plan
        self._settings.set_text("export_folder", str(path.parent))

        def write() -> list[Path]:
            from core.write.pictures import panel_picture_svg  # noqa: PLC0415 - see the module
            from core.write.svg import svg_to_png  # noqa: PLC0415

            svg = panel_picture_svg(plan)
            is_svg = path.suffix.lower() == ".svg"
            data = svg.encode() if is_svg else svg_to_png(svg, PICTURE_WIDTH_PX)
            name = path.name if path.suffix else f"{path.name}.png"
            return write_set(path.parent, {name: data})

        self._run(f"Drawing {path.name}…", write)

    def _run(self, words: str, task: Callable[[], list[Path]]) -> None:
        if self._work is not None:
            self._session.message("Wait until the files are written")
            return
        self._work = Work(lambda _: task())
        self._work.done.connect(self._on_done)
        self._work.failed.connect(self._on_failed)
        self._work.ended.connect(self._on_ended)
        self.busy_changed.emit(words)
        self._work.start()

    def _on_done(self, paths: object) -> None:
        assert isinstance(paths, list)
        where = self.folder = paths[0].parent if paths else self._folder()
        count = "1 file" if len(paths) == 1 else f"{len(paths)} files"
        self._session.message(f"{count} written to {where}")
        self.finished.emit(paths)

    def _on_failed(self, error: Exception) -> None:
        if isinstance(error, OSError):
            error = ExportFailed(f"It could not be written: {error.strerror}.")
        if not isinstance(error, LaplineError):
            raise error
        show_error(error, self._window)

    def _on_ended(self) -> None:
        self._work = None
        self.busy_changed.emit("")

    def _folder(self) -> Path:
        home = self._session.path.parent if self._session.path else Path.home()
        fallback = home / "lapline-output"
        return Path(self._settings.text("export_folder") or fallback)

"""The commands around photos: a panel from a photo, the marker board, the photo on the canvas.

What reads photos loads large libraries, so it is imported when it is first used.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog, QInputDialog, QWidget

from app.actions import Actions
from app.jobs import Work
from app.messages import show_error
from app.opening import Reading, Source
from app.selection import Selection
from app.session import Session
from app.settings import AppSettings
from core.document.atomic import write_whole
from core.document.edits.photos import photo_of, replace_photo
from core.document.photo import Photo
from core.errors import LaplineError
from core.ids import PanelId

if TYPE_CHECKING:
    from app.photo.window import PhotoWindow
    from core.read.photo import Picture

PHOTOS = Source(
    "photo", "Open a photo", "Photos", (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif")
)
SHEETS = tuple((paper, sheet) for paper in ("A4", "Letter") for sheet in (1, 2, 3, 4))


class PhotoCommands(QObject):
    """The commands of photos."""

    def __init__(
        self, window: QWidget, session: Session, settings: AppSettings, actions: Actions
    ) -> None:
        super().__init__(window)
        self._window, self._session, self._settings = window, session, settings
        self._actions = actions
        self.reading = Reading(window)
        self.dialog: PhotoWindow | None = None
        actions.on("from_photo", self.ask)
        actions.on("save_board", self.ask_board)
        actions.on("show_photo", self.toggle)
        actions.on("photo_strength", self.ask_strength)
        for signal in (session.job_changed, session.selection_changed):
            signal.connect(self._follow)
        self._follow()

    def ask(self) -> None:
        """Ask for a photo and open it."""
        path = PHOTOS.ask(PHOTOS.folder(self._settings), self._window)
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> None:
        """Read a photo and show the window in which a panel is traced on it."""
        if self.reading.is_busy or self.dialog is not None:
            return
        PHOTOS.remember(self._settings, path)

        def read() -> "Picture":
            from core.read.photo import load_picture  # noqa: PLC0415 - see the module

            return load_picture(path)

        work = Work(lambda _: read())
        work.done.connect(self.show_picture)
        self.reading.start(work, f"Opening {path.name}…")

    def show_picture(self, picture: "Picture") -> None:
        """Show the photo window with a picture."""
        from app.photo.window import PhotoWindow  # noqa: PLC0415 - see the module

        self.dialog = PhotoWindow(picture, self._session.committed_job, self._window)
        self.dialog.board_wanted.connect(self.ask_board)
        self.dialog.finished.connect(self._on_finished)
        self.dialog.open()

    def _on_finished(self, _result: int) -> None:
        dialog, self.dialog = self.dialog, None
        if dialog is None:
            return
        traced = dialog.traced
        dialog.deleteLater()
        if traced is None:
            return
        self._session.keep_photo(traced.file, traced.data)
        name = traced.job.panel(traced.panel).name
        try:
            self._session.do(f"Add {name} from a photo", traced.job)
        except LaplineError as error:
            show_error(error, self._window)
            return
        self._session.select(Selection("panel", (traced.panel,), PanelId(traced.panel)))

    # The marker board

    def ask_board(self) -> None:
        """Ask which sheet on which paper, and where to write it."""
        words = [f"Sheet {sheet} on {paper}" for paper, sheet in SHEETS]
        parent = self.dialog or self._window
        choice, is_given = QInputDialog.getItem(
            parent,
            "Marker board",
            "Each sheet that lies in one photo needs a number of its own.",
            words,
            0,
            editable=False,
        )
        if not is_given:
            return
        paper, sheet = SHEETS[words.index(choice)]
        folder = Path(self._settings.text("export_folder", str(Path.home())))
        start = folder / f"marker-board-{sheet}-{paper}.pdf"
        path, _ = QFileDialog.getSaveFileName(
            parent, "Save the marker board", str(start), "PDF (*.pdf)"
        )
        if path:
            self.save_board(Path(path), paper, sheet)

    def save_board(self, path: Path, paper: str, sheet: int) -> None:
        """Write a sheet of the marker board."""
        from core.write.board import board_pdf  # noqa: PLC0415 - see the module

        try:
            write_whole(path, board_pdf(paper, sheet))
        except LaplineError as error:
            show_error(error, self.dialog or self._window)
            return
        self._session.message(f"{path.name} is written: print it at 100 %")

    # The photo on the canvas

    def chosen(self) -> Photo | None:
        """Return the photo of the selected panel; with one photo in the job, that one."""
        job, selection = self._session.job, self._session.selection
        panel = selection.panel or (selection.ids[0] if selection.kind == "panel" else None)
        if panel is not None:
            return photo_of(job, panel)
        return job.photos[0] if len(job.photos) == 1 else None

    def toggle(self) -> None:
        """Show the panel's photo on the canvas, or hide it."""
        photo = self.chosen()
        if photo is not None:
            verb = "Hide" if photo.is_shown else "Show"
            self._change(f"{verb} the photo", replace(photo, is_shown=not photo.is_shown))

    def ask_strength(self) -> None:
        """Ask how strongly the photo covers the panel's film."""
        photo = self.chosen()
        if photo is None:
            return
        value, is_given = QInputDialog.getInt(
            self._window,
            "Photo",
            "How strongly it shows, in %",
            round(photo.opacity_pct),
            5,
            100,
            5,
        )
        if is_given:
            self.set_strength(value)

    def set_strength(self, percent: float) -> None:
        """Set how strongly the chosen photo covers the panel's film."""
        photo = self.chosen()
        if photo is not None:
            changed = replace(photo, opacity_pct=float(percent), is_shown=True)
            self._change("Change the photo's strength", changed)

    def _change(self, sentence: str, photo: Photo) -> None:
        self._session.do(sentence, replace_photo(self._session.committed_job, photo))

    def _follow(self) -> None:
        photo = self.chosen()
        unless = "" if photo else "Select a panel that was traced on a photo"
        for name in ("show_photo", "photo_strength"):
            self._actions.set_ready(name, unless=unless)
        self._actions["show_photo"].setChecked(photo is not None and photo.is_shown)

"""The commands of stock and money: what to buy, the shelf, film that is cut."""

from PySide6.QtWidgets import QDialog, QWidget

from app.actions import Actions
from app.buying.window import BuyingWindow
from app.dialogs.finish import FinishDialog
from app.dialogs.shelf import ShelfDialog
from app.jobs import Work
from app.messages import show_error
from app.session import Session
from core.document.job import Job
from core.document.shelf import Shelf, StockConflict, stock_conflicts
from core.document.shelf_file import ShelfFile
from core.errors import LaplineError


class StockCommands:
    """Opens the buying window and the dialogs of the shelf."""

    def __init__(self, window: QWidget, session: Session, actions: Actions) -> None:
        self._window, self._session = window, session
        self._buying: BuyingWindow | None = None
        self._work: Work | None = None
        session.opened.connect(self._compare)
        actions.on("film_to_buy", self.show_buying)
        actions.on("shelf", self.ask_shelf)
        actions.on("film_cut", self.ask_cut)

    def reasons(self) -> dict[str, str]:
        """Return why the actions cannot be done now."""
        report = self._session.rolls
        has_pieces = report is not None and any(
            s.placements for f in report.rolls.films for s in f.sheets
        )
        empty = "" if has_pieces else "No piece lies on a roll yet"
        films = report.rolls.films if report else ()
        has_failed = not has_pieces and any(f.has_failed for f in films)
        none = "" if self._session.job.panels else "There is no panel yet"
        return {
            "film_to_buy": "No film could be laid out: see Review" if has_failed else none,
            "shelf": "" if self._session.job.films else "The job has no film",
            "film_cut": empty,
        }

    def show_buying(self) -> BuyingWindow:
        """Show the buying window, which stays open beside the main one."""
        if self._buying is None:
            self._buying = BuyingWindow(self._session, self._window)
        self._buying.show()
        self._buying.activateWindow()
        return self._buying

    def close(self) -> None:
        """Close what stands open."""
        if self._buying is not None:
            self._buying.close()

    def ask_shelf(self) -> None:
        """Show the shelf; what is moved between it and the job is done there."""
        try:
            dialog = ShelfDialog(self._session, ShelfFile(), self._window)
        except LaplineError as error:
            show_error(error, self._window)
            return
        dialog.exec()

    def ask_cut(self) -> None:
        """Tell the shelf that a film was cut."""
        report = self._session.rolls
        if report is None:
            return
        shelf_file = ShelfFile()
        shelf = self._read(shelf_file)
        if shelf is None:
            return
        dialog = FinishDialog(self._session, report, shelf_file, self._window)
        if dialog.exec() == QDialog.DialogCode.Accepted and dialog.job is not None:
            self._session.do(dialog.sentence, dialog.job)

    def _compare(self) -> None:
        """Look whether the shelf has changed since the job that is open took film from it."""
        job = self._session.committed_job
        if not any(s.shelf is not None for film in job.films for s in film.stock):
            return
        self._work = Work(lambda _: stock_conflicts(job, ShelfFile().read()))
        self._work.done.connect(lambda found: self._tell(job, found))
        self._work.failed.connect(self._tell_failure)
        self._work.start()

    def _tell(self, job: Job, conflicts: tuple[StockConflict, ...]) -> None:
        if conflicts and self._session.committed_job is job:
            more = f" (and {len(conflicts) - 1} more)" if len(conflicts) > 1 else ""
            self._session.message(f"{conflicts[0].text}{more} See Job, Shelf.")

    def _tell_failure(self, error: Exception) -> None:
        if not isinstance(error, LaplineError):
            raise error
        self._session.message(error.sentence())

    def _read(self, shelf_file: ShelfFile) -> Shelf | None:
        try:
            return shelf_file.read()
        except LaplineError as error:
            show_error(error, self._window)
            return None

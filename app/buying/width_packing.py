"""Packs every width on offer in the background, so that their prices can be compared."""

from PySide6.QtCore import QObject, Signal

from app.jobs import Control, Work
from app.session import Session
from core.errors import LaplineError
from core.progress import Step
from core.roll.rolls import RollReport
from core.roll.width_search import PackedWidth, has_choice, pack_widths, with_packed


class WidthPacking(QObject):
    """The one search over the widths that may be going on."""

    changed = Signal()
    """It began, came further, or ended."""
    found = Signal(object)
    """The PackedWidth of one width."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._work: Work | None = None
        self._plan = session.plan
        self.words = ""
        self.share = 0.0
        """How far it is, from 0 to 1."""
        session.plan_changed.connect(self._on_plan_changed)

    @property
    def is_running(self) -> bool:
        """Whether a search is going on."""
        return self._work is not None

    def why_not(self) -> str:
        """Return why no search can begin now; "" when one can."""
        report = self._session.rolls
        if report is None or not self._session.are_rolls_current:
            return "The rolls are being laid out"
        if not has_choice(self._session.plan, report.rolls):
            return "No film is on offer at several widths: see Other widths in the film"
        return ""

    def start(self, seconds: float) -> None:
        """Pack each width of each film for so long."""
        report = self._session.rolls
        if self.is_running or report is None:
            return
        plan, rolls = self._session.plan, report.rolls
        self._plan, self.words, self.share = plan, "Packing every width", 0.0

        def search(control: Control) -> None:
            for packed in pack_widths(plan, rolls, seconds, control):
                control.tell(packed)

        self._work = Work(search)
        self._work.progressed.connect(self._on_told)
        self._work.failed.connect(self._on_failed)
        self._work.ended.connect(self._on_ended)
        self._work.start()
        self.changed.emit()

    def stop(self) -> None:
        """End the search; widths that were packed to the end count."""
        if self._work is not None:
            self.words = "Stopping…"
            self._work.cancel()
            self.changed.emit()

    def _on_plan_changed(self) -> None:
        if self._work is not None and self._session.plan is not self._plan:
            self.stop()

    def _on_told(self, told: object) -> None:
        if isinstance(told, Step):
            self.words, self.share = told.words, told.share or self.share
            self.changed.emit()
        elif isinstance(told, PackedWidth) and self._session.plan is self._plan:
            self._show_on_rolls(told)
            self.found.emit(told)

    def _show_on_rolls(self, packed: PackedWidth) -> None:
        """Show what was packed at the width that is laid out, where it is shorter."""
        report = self._session.rolls
        if report is None or not self._session.are_rolls_current:
            return
        rolls = with_packed(self._plan, report.rolls, packed)
        if rolls is not report.rolls:
            self._session.show_rolls(RollReport(rolls, report.findings))

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, LaplineError):
            raise error
        self._session.message(error.sentence())

    def _on_ended(self) -> None:
        self._work, self.words, self.share = None, "", 0.0
        self.changed.emit()

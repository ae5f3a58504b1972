"""Keeps the rolls up with the plan: in a worker, after a short rest, stale answers dropped."""

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Signal
from shiboken6 import isValid

from app.jobs import Work
from core.errors import LaplineError
from core.plan.model import JobPlan
from core.roll.rolls import RollReport, roll_plan

REST_MS = 120


class RollKeeper(QObject):
    """Lays out the rolls of the newest plan."""

    found = Signal(object)
    """A RollReport of the newest plan."""
    refused = Signal(str)
    """Why the newest plan cannot be laid on its rolls."""

    def __init__(
        self,
        parent: QObject | None = None,
        lay_out: Callable[[JobPlan], RollReport] = roll_plan,
    ) -> None:
        super().__init__(parent)
        self._lay_out = lay_out
        self._wanted: JobPlan | None = None
        self._work: Work | None = None
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._start)

    @property
    def is_busy(self) -> bool:
        """Whether an answer is still to come."""
        return self._rest.isActive() or self._work is not None

    def want(self, plan: JobPlan) -> None:
        """Ask for the rolls of a plan; an earlier wish is forgotten."""
        self._wanted = plan
        self._rest.start()

    def _start(self) -> None:
        if self._work is not None or self._wanted is None:
            return
        plan = self._wanted
        self._work = Work(lambda _: self._lay_out(plan))
        self._work.done.connect(lambda report: self._on_done(plan, report))
        self._work.failed.connect(self._on_failed)
        self._work.start()

    def _on_done(self, plan: JobPlan, report: RollReport) -> None:
        if not isValid(self):  # the window was closed before the work came to its end
            return
        self._work = None
        if plan is self._wanted:
            self.found.emit(report)
        elif not self._rest.isActive():
            self._start()

    def _on_failed(self, error: Exception) -> None:
        if not isValid(self):
            return
        self._work = None
        if not isinstance(error, LaplineError):
            raise error
        self.refused.emit(error.sentence())

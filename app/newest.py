"""Slow answers to the newest question: in a worker, after a short rest, stale ones dropped."""

from collections.abc import Callable
from typing import Generic, TypeVar

from PySide6.QtCore import QObject, QTimer, Signal
from shiboken6 import isValid

from app.jobs import Control, Work
from core.errors import LaplineError

Q = TypeVar("Q")


class Newest(QObject, Generic[Q]):
    """Answers the newest question; whatever was asked before is cancelled and forgotten."""

    found = Signal(object)
    """The answer to the newest question."""
    told = Signal(object)
    """How far it is."""
    refused = Signal(str)
    """Why the newest question has no answer."""

    def __init__(
        self,
        answer: Callable[[Q, Control], object],
        rest_ms: int,
        parent: QObject | None = None,
    ) -> None:
        """Prepare to answer.

        Args:
            answer: does the work, in the pool; raises Cancelled when it is asked to stop.
            rest_ms: so long nothing else may be asked before it begins.
            parent: what it belongs to.
        """
        super().__init__(parent)
        self._answer = answer
        self._wanted: Q | None = None
        self._work: Work | None = None
        self._asked: Q | None = None
        self._rest = QTimer(self, singleShot=True, interval=rest_ms)
        self._rest.timeout.connect(self._start)

    @property
    def is_busy(self) -> bool:
        """Whether an answer is still to come."""
        return self._wanted is not None

    def want(self, question: Q) -> None:
        """Ask; what was asked before is not answered any more."""
        self._wanted = question
        if self._work is not None and self._asked is not question:
            self._work.cancel()
        self._rest.start()

    def drop(self) -> None:
        """Want nothing any more."""
        self._wanted = None
        self._rest.stop()
        if self._work is not None:
            self._work.cancel()

    def _start(self) -> None:
        if self._work is not None or self._wanted is None:
            return
        question = self._asked = self._wanted
        self._work = Work(lambda control: self._answer(question, control))
        self._work.progressed.connect(self._on_told)
        self._work.done.connect(lambda answer: self._on_done(question, answer))
        self._work.failed.connect(lambda error: self._on_failed(question, error))
        self._work.ended.connect(self._on_ended)
        self._work.start()

    def _on_told(self, progress: object) -> None:
        if isValid(self):
            self.told.emit(progress)

    def _on_done(self, question: Q, answer: object) -> None:
        # The window may have been closed before the work came to its end.
        if isValid(self) and question is self._wanted:
            self._wanted = None
            self.found.emit(answer)

    def _on_failed(self, question: Q, error: Exception) -> None:
        is_newest = isValid(self) and question is self._wanted
        if is_newest:
            self._wanted = None
        if not isinstance(error, LaplineError):
            if is_newest:  # whoever waits for the answer is told, too, that none comes
                self.refused.emit(f"Lapline made a mistake ({type(error).__name__}).")
            raise error
        if is_newest:
            self.refused.emit(error.sentence())

    def _on_ended(self) -> None:
        if not isValid(self):
            return
        self._work = None
        if self._wanted is not None and not self._rest.isActive():
            self._start()

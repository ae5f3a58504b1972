"""Background work: runs beside the window, tells its progress, and can be cancelled.

A worker never touches widgets. What it says crosses to the window's thread by queued signals
of the Work and is sent on from there, so that any callable may listen. After a cancel only
``ended`` arrives.
"""

import threading
from collections.abc import Callable
from typing import TypeVar

from PySide6.QtCore import QEventLoop, QObject, QRunnable, Qt, QThreadPool, Signal
from shiboken6 import isValid

from core.errors import Cancelled

LEAST_THREADS = 4
"""On whatever machine: a long search must not keep a file from being opened."""


class Control:
    """What running work sees of the outside."""

    def __init__(self, tell: Callable[[object], None]) -> None:
        self._cancel = threading.Event()
        self._tell = tell

    def cancel(self) -> None:
        """Ask the work to stop."""
        self._cancel.set()

    def is_cancelled(self) -> bool:
        """Whether the work should stop."""
        return self._cancel.is_set()

    def tell(self, progress: object) -> None:
        """Report something on the way."""
        self._tell(progress)


class Work(QObject):
    """One piece of background work; it stays alive until it has ended."""

    progressed = Signal(object)
    done = Signal(object)
    failed = Signal(object)
    """The exception; not sent for Cancelled."""
    ended = Signal()
    """After done, failed or cancel, whichever it was."""

    _told = Signal(object)
    _came = Signal(object)
    _fell = Signal(object)

    def __init__(self, task: Callable[[Control], object], *, keeps_best: bool = False) -> None:
        """Prepare the work.

        Args:
            task: what to do, in the pool.
            keeps_best: whether the answer counts even after a cancel.
        """
        super().__init__()
        self.control = Control(lambda progress: self._send("_told", progress))
        self._task = task
        self._keeps_best = keeps_best
        queued = Qt.ConnectionType.QueuedConnection
        self._told.connect(self._on_told, queued)
        self._came.connect(self._on_came, queued)
        self._fell.connect(self._on_fell, queued)

    def start(self) -> None:
        """Run in the pool."""
        _running.add(self)
        pool = QThreadPool.globalInstance()
        pool.setMaxThreadCount(max(pool.maxThreadCount(), LEAST_THREADS))
        pool.start(_Runner(self))

    def cancel(self) -> None:
        """Ask the work to stop; ``ended`` tells when it has."""
        self.control.cancel()

    def run(self) -> None:
        """Do the work in the calling thread. Called by the pool."""
        try:
            answer = self._task(self.control)
        except Cancelled:
            self._send("_fell", None)
        except Exception as error:  # noqa: BLE001 - the one place where work's errors are caught
            self._send("_fell", error)
        else:
            self._send("_came", answer)

    def _send(self, signal: str, what: object) -> None:
        """Cross to the window's thread, unless the program ended before the work did."""
        if isValid(self):
            getattr(self, signal).emit(what)

    def _on_told(self, progress: object) -> None:
        if not self.control.is_cancelled():
            self.progressed.emit(progress)

    def _on_came(self, answer: object) -> None:
        if self._keeps_best or not self.control.is_cancelled():
            self.done.emit(answer)
        self._end()

    def _on_fell(self, error: Exception | None) -> None:
        if error is not None:
            self.failed.emit(error)
        self._end()

    def _end(self) -> None:
        _running.discard(self)
        self.ended.emit()


class _Runner(QRunnable):
    def __init__(self, work: Work) -> None:
        super().__init__()
        self._work = work

    def run(self) -> None:
        self._work.run()


_running: set[Work] = set()
"""Work under way, kept from being collected."""


T = TypeVar("T")


def patiently(task: Callable[[], T]) -> T:
    """Do something in the pool and return its answer, while the window goes on being painted.

    What is typed and clicked meanwhile is heard afterwards.

    Raises:
        Exception: whatever the task raises.
    """
    answers: list[T] = []
    errors: list[Exception] = []
    loop = QEventLoop()
    work = Work(lambda _: task())
    work.done.connect(answers.append)
    work.failed.connect(errors.append)
    work.ended.connect(loop.quit)
    work.start()
    loop.exec(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents)
    if errors:
        raise errors[0]
    if not answers:
        raise Cancelled("It was stopped.")
    return answers[0]


def cancel_all(wait_ms: int = 4000) -> None:
    """Cancel what is under way and wait for it. Called when the window closes."""
    for work in tuple(_running):
        work.cancel()
    QThreadPool.globalInstance().waitForDone(wait_ms)

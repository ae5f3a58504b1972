"""The strip solver's processes: started together, read together, ended together."""

import json
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from queue import Empty, Queue
from typing import Any

from core.errors import LaplineError
from core.roll import worker

_POLL_SECONDS = 0.05
WORKER = Path(worker.__file__)

Placed = list[list[Any]]
"""Id, turn, x and y of each item, as the solver has it."""


class SolverFailed(LaplineError):  # noqa: N818 - named for what happened
    """The solver's processes died or gave up; the layout found before stands."""


def answers(
    requests: Sequence[dict[str, Any]],
    seconds: float,
    is_cancelled: Callable[[], bool],
    script: Path = WORKER,
    at_once: int = 1,
) -> Iterator[Placed]:
    """Run workers and yield each layout that is shorter than all before.

    When several wait, the shortest alone is yielded. No process is left behind, however the
    caller leaves.

    Args:
        requests: the first ``at_once`` are worked on; of the others, one for each worker that
            dies.
        seconds: until all workers are ended.
        is_cancelled: asked all the time.
        script: what a worker runs.
        at_once: how many workers there are.

    Raises:
        SolverFailed: when no worker is left and none came to its end.
    """
    deadline = time.monotonic() + seconds
    crew = _Crew(requests, script)
    least = float("inf")
    try:
        crew.start(at_once)
        while time.monotonic() < deadline and not is_cancelled():
            found = crew.hear()
            if found and found[0] < least:
                least = found[0]
                yield found[1]
            if crew.is_done():
                return
    finally:
        crew.end()


class _Crew:
    """Workers and what they say."""

    def __init__(self, requests: Sequence[dict[str, Any]], script: Path) -> None:
        self._requests = list(requests)
        self._script = script
        self._lines: Queue[tuple[int, str | None]] = Queue()
        self._processes: list[subprocess.Popen[str]] = []
        self._readers: list[threading.Thread] = []
        self._working: set[int] = set()
        self._has_finished = False
        self._faults: list[str] = []

    def start(self, count: int = 1) -> None:
        """Start workers on the next requests, as far as there are any."""
        for request in self._requests[:count]:
            self._start(request)
        del self._requests[:count]

    def _start(self, request: dict[str, Any]) -> None:
        process = _start_worker(self._script)
        number = len(self._processes)
        self._processes.append(process)
        self._working.add(number)
        reader = threading.Thread(target=self._read, args=(number, process), daemon=True)
        self._readers.append(reader)
        reader.start()
        _send(process, request)

    def hear(self) -> tuple[float, Placed] | None:
        """Wait a little, and return the shortest layout that was told, with its length."""
        best: tuple[float, Placed] | None = None
        for number, line in self._waiting():
            answer = json.loads(line) if line and line.startswith("{") else {}
            if "placed" in answer and (best is None or answer["width"] < best[0]):
                best = float(answer["width"]), answer["placed"]
            if "error" in answer:
                self._fail(number, f"gave up: {answer['error']}.")
            if answer.get("done"):
                self._has_finished = True
                self._working.discard(number)
            if line is None:
                self._fail(number, "stopped unexpectedly.")
        return best

    def is_done(self) -> bool:
        """Return whether no worker is left.

        Raises:
            SolverFailed: when none of them came to its end.
        """
        if self._working:
            return False
        if not self._has_finished:
            raise SolverFailed(f"The layout solver {self._faults[0]}")
        return True

    def _fail(self, number: int, why: str) -> None:
        if number in self._working:
            self._working.discard(number)
            self._faults.append(why)
            self.start()

    def end(self) -> None:
        """End all workers, whatever they do."""
        for process in self._processes:
            process.kill()
        for process, reader in zip(self._processes, self._readers, strict=True):
            process.wait()
            reader.join()
            _close(process)

    def _read(self, number: int, process: "subprocess.Popen[str]") -> None:
        assert process.stdout is not None
        for line in process.stdout:
            self._lines.put((number, line))
        self._lines.put((number, None))

    def _waiting(self) -> list[tuple[int, str | None]]:
        """Return all lines that wait, after waiting a little for the first."""
        found: list[tuple[int, str | None]] = []
        try:
            found.append(self._lines.get(timeout=_POLL_SECONDS))
            while True:
                found.append(self._lines.get_nowait())
        except Empty:
            return found


def _start_worker(script: Path = WORKER) -> "subprocess.Popen[str]":
    try:
        return subprocess.Popen(
            [sys.executable, "-P", str(script)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
    except OSError as error:
        raise SolverFailed(f"The layout solver did not start: {error}.") from error


def _send(process: "subprocess.Popen[str]", request: dict[str, Any]) -> None:
    """Hand the request over; a worker that is gone already is found when its output ends."""
    assert process.stdin is not None
    try:
        process.stdin.write(json.dumps(request) + "\n")
        process.stdin.flush()
    except OSError:
        return


def _close(process: "subprocess.Popen[str]") -> None:
    for pipe in (process.stdin, process.stdout):
        assert pipe is not None
        try:
            pipe.close()
        except OSError:  # a dead worker did not take all of its request
            continue

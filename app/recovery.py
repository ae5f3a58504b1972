"""Keeps unsaved work through a crash: a copy beside the settings, offered at the next start.

Each running window has a slot of its own in the recovery folder: the copy, a note on where the
job is from, and a lock that the system frees when the process dies. A slot whose lock is free
was left by a crash. A clean exit removes its slot.
"""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from PySide6.QtCore import QLockFile, QObject, QSaveFile, QStandardPaths, QTimer

from app.jobs import Work
from app.session import Session
from core.document.file import JobFile, load_job, save_job
from core.errors import LaplineError

DELAY_MS = 2000


def recovery_folder() -> Path:
    """Return the folder for this user, made when it is not there."""
    place = QStandardPaths.StandardLocation.AppLocalDataLocation
    folder = Path(QStandardPaths.writableLocation(place)) / "recovery"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@dataclass(frozen=True)
class Leftover:
    """Unsaved work of a run that ended badly; held until discarded or the program ends."""

    copy: Path
    name: str
    path: Path | None
    when: datetime
    lock: QLockFile

    def load(self) -> JobFile:
        """Read the copy. FileError when it is damaged."""
        return load_job(self.copy)

    def discard(self) -> None:
        """Remove it for good."""
        self.copy.unlink(missing_ok=True)
        self.copy.with_suffix(".json").unlink(missing_ok=True)
        self.lock.unlock()


def find_leftovers(folder: Path) -> list[Leftover]:
    """Return what crashed runs have left, newest first; that of running windows is skipped."""
    found = []
    for copy in folder.glob("*.lapline"):
        lock = _lock(copy)
        if not lock.tryLock(0):
            continue
        when = datetime.fromtimestamp(copy.stat().st_mtime, UTC).astimezone()
        note = _read_note(copy.with_suffix(".json"))
        path = Path(note["path"]) if note.get("path") else None
        found.append(Leftover(copy, note.get("name") or "A job", path, when, lock))
    return sorted(found, key=lambda leftover: leftover.when, reverse=True)


class Recovery(QObject):
    """Writes the open job's copy a moment after each change."""

    def __init__(self, session: Session, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._copy = folder / f"{uuid4().hex}.lapline"
        self._lock = _lock(self._copy)
        self._lock.tryLock(0)
        self._work: Work | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(DELAY_MS)
        self._timer.timeout.connect(self._write)
        session.file_changed.connect(self._on_file_changed)

    @property
    def copy(self) -> Path:
        """Where the copy lies, when there is one."""
        return self._copy

    @property
    def is_writing(self) -> bool:
        """Whether a copy is being written."""
        return self._work is not None

    def write_now(self) -> None:
        """Write the copy at once, in this thread. Used when the program is about to die."""
        self._write_copy(self._session.file, self._session.path)

    def finish(self) -> None:
        """Remove the slot; the program ends cleanly."""
        self._timer.stop()
        self._remove()
        self._lock.unlock()

    def _on_file_changed(self) -> None:
        if not self._session.is_dirty:
            self._timer.stop()
            self._remove()
        elif not self._timer.isActive():
            self._timer.start()

    def _write(self) -> None:
        if self._work is not None:
            self._timer.start()
            return
        file, path = self._session.file, self._session.path
        self._work = Work(lambda _: self._write_copy(file, path))
        self._work.failed.connect(self._on_failed)
        self._work.ended.connect(self._on_ended)
        self._work.start()

    def _write_copy(self, file: JobFile, path: Path | None) -> None:
        note = json.dumps({"name": file.job.name, "path": str(path) if path else ""})
        saver = QSaveFile(str(self._copy.with_suffix(".json")))
        if saver.open(QSaveFile.OpenModeFlag.WriteOnly):
            saver.write(note.encode())
            saver.commit()
        save_job(self._copy, file)

    def _on_failed(self, error: Exception) -> None:
        reason = error.sentence() if isinstance(error, LaplineError) else str(error)
        self._session.message(f"The safety copy could not be written: {reason}")

    def _on_ended(self) -> None:
        self._work = None
        if not self._session.is_dirty:
            self._remove()

    def _remove(self) -> None:
        self._copy.unlink(missing_ok=True)
        self._copy.with_suffix(".json").unlink(missing_ok=True)


def _lock(copy: Path) -> QLockFile:
    lock = QLockFile(str(copy.with_suffix(".lock")))
    lock.setStaleLockTime(0)
    return lock


def _read_note(path: Path) -> dict[str, str]:
    try:
        note = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(k): str(v) for k, v in note.items()} if isinstance(note, dict) else {}

"""The shelf's file: one for all jobs of a user, read whole, changed under a lock.

A writer reads the file, changes what it read and writes it back while it holds a lock that the
system frees when the process dies; so no change of another is lost. A file that cannot be read
is never written over.
"""

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from secrets import token_hex
from time import monotonic, sleep
from typing import Any

import msgspec
import platformdirs
from filelock import FileLock, Timeout

from core.document.atomic import replace_files
from core.document.broken_text import broken_words
from core.document.places import limit_in_words, place_in_words
from core.document.shelf import Shelf
from core.errors import Damaged, FileError, NewerVersion

FORMAT = "lapline-shelf"
VERSION = 1
MAX_BYTES = 32_000_000
_WAIT_SECONDS = 5.0
_LOOK_SECONDS = 0.02
_FOR_ALL = 0o666
"""All who may write to the folder may lock a shelf that they share; the umask counts."""
_READERS_BLOCK = sys.platform == "win32"
"""Whether a file that another process reads cannot be replaced."""


def default_shelf_path() -> Path:
    """Return where this user's shelf is kept: in the platform's data folder.

    The environment variable ``LAPLINE_SHELF`` names another file.
    """
    named = os.environ.get("LAPLINE_SHELF", "")
    return Path(named) if named else platformdirs.user_data_path("Lapline") / "shelf.json"


def new_key() -> str:
    """Return a key that no entry of any shelf has."""
    return token_hex(8)


class ShelfFile:
    """The shelf in a file."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or default_shelf_path()

    def read(self) -> Shelf:
        """Return what lies on the shelf; nothing when there is no file yet.

        Raises:
            Damaged, NewerVersion, FileError: it cannot be read.
        """
        try:
            data = self.path.read_bytes()
        except FileNotFoundError:
            return Shelf()
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise FileError(
                f"The shelf cannot be opened: {reason}.", where=str(self.path)
            ) from error
        return shelf_from_bytes(data, str(self.path))

    def change(self, make: Callable[[Shelf], Shelf]) -> Shelf:
        """Change the shelf and return it; ``make`` gets it as it is at that moment.

        Raises:
            ShelfConflict: from ``make``; nothing is changed then.
            FileError: it cannot be read, locked or written; the old file is whole then.
        """
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise FileError(
                f"No folder for the shelf can be made: {(error.strerror or '').lower()}.",
                where=str(self.path.parent),
                mend="Choose another place for it (LAPLINE_SHELF names its file).",
            ) from error
        with _locked(self.path.with_name(self.path.name + ".lock")):
            shelf = make(self.read())
            _write(self.path, shelf_to_bytes(shelf))
        return shelf


def shelf_to_bytes(shelf: Shelf) -> bytes:
    """Return the bytes of a shelf's file."""
    document = {"format": FORMAT, "version": VERSION, "shelf": msgspec.to_builtins(shelf)}
    return json.dumps(document, ensure_ascii=False, indent=1, sort_keys=True).encode() + b"\n"


def shelf_from_bytes(data: bytes, where: str) -> Shelf:
    """Return the shelf that bytes hold.

    Raises:
        Damaged: it is no shelf, or its content does not hold.
        NewerVersion: a newer Lapline wrote it.
    """
    mend = "Move the file away to start with an empty shelf."
    if len(data) > MAX_BYTES:
        raise Damaged("It is larger than a shelf can be.", where=where, mend=mend)
    try:
        plain: Any = msgspec.json.decode(data)
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        said = broken_words(error)
        raise Damaged(f"The shelf cannot be read: {said}.", where=where, mend=mend) from error
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        raise Damaged("It is not a shelf of Lapline.", where=where, mend=mend)
    version = plain.get("version")
    if isinstance(version, int) and version > VERSION:
        raise NewerVersion(
            f"A newer Lapline wrote the shelf: version {version}, this one reads {VERSION}.",
            where=where,
            mend="Use that one; the file is untouched.",
        )
    try:
        shelf = msgspec.convert(plain.get("shelf"), Shelf)
    except (msgspec.ValidationError, RecursionError) as error:
        limit, path = limit_in_words(str(error))
        place = place_in_words(path, plain.get("shelf"))
        raise Damaged(limit, where=f"{where}, {place}", mend=mend) from error
    keys = [entry.key for entry in shelf.entries]
    if version != VERSION or len(set(keys)) < len(keys):
        raise Damaged("Its version or its keys do not hold.", where=where, mend=mend)
    return shelf


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Hold the lock of a shelf, waiting a while for other writers.

    The system lets go of it when the process dies. Its file stays, so that all wait for one.
    """
    lock = FileLock(path, timeout=_WAIT_SECONDS, mode=_FOR_ALL)
    try:
        lock.acquire()
    except Timeout as error:
        raise FileError(
            "Another window is writing to the shelf.",
            where=str(path),
            mend="Try again in a moment.",
        ) from error
    except (OSError, NotImplementedError) as error:
        raise _not_writable("locked", path, error) from error
    try:
        yield
    finally:
        lock.release()


def _write(path: Path, data: bytes) -> None:
    """Write the shelf; on Windows a window that reads it at that moment is waited for."""
    end = monotonic() + _WAIT_SECONDS
    while True:
        try:
            replace_files({path: data})
        except PermissionError as error:
            if not _READERS_BLOCK or monotonic() > end:
                raise _not_writable("changed", path, error) from error
            sleep(_LOOK_SECONDS)
        except OSError as error:
            raise _not_writable("changed", path, error) from error
        else:
            return


def _not_writable(what: str, path: Path, error: Exception) -> FileError:
    reason = (getattr(error, "strerror", None) or str(error)).lower()
    return FileError(
        f"The shelf cannot be {what}: {reason}.",
        where=str(path),
        mend="See that you may write to its folder and file; nothing was changed.",
    )

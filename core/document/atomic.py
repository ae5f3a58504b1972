"""Writing files whole or not at all."""

import contextlib
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from core.errors import FileError


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that at any moment either the old one or the new one is there, whole.

    A link is followed; an existing file keeps its permissions.

    Raises:
        FileError: it cannot be written; the old file is untouched, nothing is left beside it.
    """
    try:
        replace_files({path: data})
    except OSError as error:
        raise FileError(
            f"It cannot be saved: {(error.strerror or str(error)).lower()}.",
            where=str(path),
            mend="Save it under another name or in another folder.",
        ) from error


def replace_files(files: Mapping[Path, bytes]) -> None:
    """Write files that belong together: all are safely on disk before any takes its name.

    Raises:
        OSError: one cannot be written; old files are untouched, nothing is left beside them.
    """
    staged: list[tuple[Path, Path]] = []
    try:
        for path, data in files.items():
            target = Path(os.path.realpath(path))
            if target.is_dir():
                raise IsADirectoryError(21, f"{path.name} is a folder there")
            if target.exists() and not os.access(target, os.W_OK):
                raise PermissionError(13, "it is write-protected")
            mode = target.stat().st_mode & 0o777 if target.exists() else None
            beside = target.parent / f".lapline-{secrets.token_hex(6)}.part"
            staged.append((beside, target))
            _write_and_sync(beside, data, mode)
        for beside, target in staged:
            beside.replace(target)
    finally:
        for beside, _ in staged:
            with contextlib.suppress(OSError):
                beside.unlink()
    for folder in dict.fromkeys(target.parent for _, target in staged):
        _sync_folder(folder)


def _write_and_sync(path: Path, data: bytes, mode: int | None) -> None:
    with path.open("xb") as file:
        if mode is not None:
            path.chmod(mode)
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Make the rename itself last; folders of some systems cannot be synced."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

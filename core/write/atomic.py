"""Writing files so that no half-written one is ever left behind.

All files of one set are first written beside their places under temporary names; only when the
last of them is safely on disk do they take their names. A failure before that leaves the
directory as it was.
"""

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from core.errors import ExportFailed

MEND = "Choose a folder that you may write to, with room on the disk."


def write_set(directory: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a directory, which is made when it is not there.

    Args:
        directory: where.
        files: contents by name; a name may lead into a folder ("panels/lid.svg").

    Returns:
        Their paths, in the order given.

    Raises:
        ExportFailed: when the directory cannot be made or written to; old files are then whole.
    """
    ready: list[tuple[str, Path]] = []
    try:
        for name, data in files.items():
            path = directory / name
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.is_dir():
                raise IsADirectoryError(21, f"{name} is a folder there")
            ready.append((_write_beside(path.parent, data), path))
        for temporary, path in ready:
            os.replace(temporary, path)  # noqa: PTH105 - the temporary is a plain string
    except OSError as error:
        for temporary, _ in ready:
            with contextlib.suppress(OSError):
                Path(temporary).unlink()
        reason = error.strerror or str(error)
        raise ExportFailed(
            f"It cannot be written: {reason.lower()}.", where=str(directory), mend=MEND
        ) from error
    return [path for _, path in ready]


def write_file(path: Path, data: bytes) -> Path:
    """Write one file; its directory is made when it is not there. Raises like write_set."""
    return write_set(path.parent, {path.name: data})[0]


def _write_beside(directory: Path, data: bytes) -> str:
    handle, name = tempfile.mkstemp(prefix=".lapline-", suffix=".part", dir=directory)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(0o666 & ~_umask())
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    return name


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask

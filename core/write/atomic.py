"""Outputs that belong together: written as a set, so that no half-written one stays."""

from collections.abc import Mapping
from pathlib import Path

from core.document.atomic import replace_files
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
    paths = {directory / name: data for name, data in files.items()}
    try:
        for path in paths:
            path.parent.mkdir(parents=True, exist_ok=True)
        replace_files(paths)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ExportFailed(
            f"It cannot be written: {reason.lower()}.", where=str(directory), mend=MEND
        ) from error
    return list(paths)


def write_file(path: Path, data: bytes) -> Path:
    """Write one file; its directory is made when it is not there. Raises like write_set."""
    return write_set(path.parent, {path.name: data})[0]

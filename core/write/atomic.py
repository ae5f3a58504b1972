"""Outputs that belong together: written as a set, so that no half-written one stays."""

from collections.abc import Iterable, Mapping
from enum import StrEnum
from itertools import count
from pathlib import Path

from core.document.atomic import replace_files
from core.errors import ExportFailed

MEND = "Choose a folder that you may write to, with room on the disk."


class Existing(StrEnum):
    """What becomes of files that have the names of those to be written.

    * refuse: nothing is written;
    * number: they stay, and all files of the new set get one number;
    * replace: the new ones take their place.
    """

    REFUSE = "refuse"
    NUMBER = "number"
    REPLACE = "replace"


def write_new_set(
    directory: Path, files: Mapping[str, bytes], existing: Existing
) -> list[Path]:
    """Write files as ``write_set`` does, minding those that are there already.

    Raises:
        ExportFailed: as write_set, and when files are there and it is to refuse.
    """
    if existing is Existing.NUMBER:
        return write_set(directory, _numbered(directory, files))
    taken = taken_names(directory, files)
    if existing is Existing.REFUSE and taken:
        more = f" and {len(taken) - 1} more are" if len(taken) > 1 else " is"
        raise ExportFailed(
            f"{taken[0]}{more} there already; nothing is written.",
            where=str(directory),
            mend="Choose another folder, or have the new files numbered or the old replaced.",
        )
    return write_set(directory, files)


def set_number(directory: Path, names: Iterable[str]) -> int:
    """Return the number that a set of files gets where all of it is to be new.

    1 stands for none: all names are free. Any other is put behind each of them.
    """
    own = tuple(names)
    return next(
        n
        for n in count(1)
        if not taken_names(directory, (_with_number(name, n) for name in own))
    )


def taken_names(directory: Path, names: Iterable[str]) -> list[str]:
    """Return those of some names that files in a directory have."""
    return [name for name in names if (directory / name).exists()]


def _numbered(directory: Path, files: Mapping[str, bytes]) -> Mapping[str, bytes]:
    """Return the files under names that are all free, with one number if need be."""
    number = set_number(directory, files)
    return {_with_number(name, number): data for name, data in files.items()}


def _with_number(name: str, number: int) -> str:
    if number == 1:
        return name
    stem, dot, ending = name.rpartition(".")
    return f"{stem}-{number}{dot}{ending}" if dot else f"{name}-{number}"


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

"""The job file: how a job is written and read back. See docs/job-format.md.

Reading validates everything and refuses whole; writing is byte-stable and atomic.
"""

import inspect
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

import msgspec

from core.document import migrations
from core.document.archive import MAX_FILE_BYTES, MAX_JOB_BYTES, is_archive, pack, unpack
from core.document.atomic import write_whole
from core.document.broken_text import broken_words
from core.document.checks import iter_problems
from core.document.job import Job
from core.document.places import limit_in_words, place_in_words, quoted
from core.errors import Damaged, FileError, MigrationFailed, NewerVersion, NotAJob

FORMAT = "lapline-job"
VERSION = 1
LINE_WIDTH = 140


@dataclass(frozen=True)
class JobFile:
    """What a job file holds: the job, photos and scans by name."""

    job: Job
    photos: Mapping[str, bytes] = field(default_factory=dict)
    scans: Mapping[str, bytes] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "photos", MappingProxyType(dict(self.photos)))
        object.__setattr__(self, "scans", MappingProxyType(dict(self.scans)))


def load_job(path: Path) -> JobFile:
    """Read a job file: a ``.lapline``, or a bare ``job.json``.

    Raises:
        NotAJob, NewerVersion, Damaged, MigrationFailed: see core/errors.py.
        FileError: the file cannot be read at all.
    """
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= MAX_FILE_BYTES else b""
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise FileError(f"It cannot be opened: {reason}.", where=str(path)) from error
    if size > MAX_FILE_BYTES:
        raise NotAJob("It is larger than a Lapline job can be.", where=str(path))
    return from_bytes(data, str(path))


def save_job(path: Path, file: JobFile) -> None:
    """Write a job file whole or not at all.

    Raises:
        FileError: it cannot be written; an old file of that name is untouched.
        Damaged: the job does not hold, and would not load again.
    """
    write_whole(path, to_bytes(file))


def to_bytes(file: JobFile) -> bytes:
    """Return a job file's bytes; equal jobs give equal bytes on every machine."""
    job = _to_job(msgspec.to_builtins(file.job), "", file.photos, file.scans)
    document = {"format": FORMAT, "version": VERSION, "job": msgspec.to_builtins(job)}
    try:
        text = _written(document, 0).encode() + b"\n"
    except UnicodeEncodeError as error:
        raise Damaged(f"A text in the job is not one: {error.reason}.") from error
    return pack(text, file.photos, file.scans)


def from_bytes(data: bytes, where: str) -> JobFile:
    """Return what a job file's bytes hold; ``where`` is said in refusals."""
    job_json, photos, scans = unpack(data, where) if is_archive(data) else (data, {}, {})
    plain = _brought_up_to_date(_decoded(job_json, where, is_bare=not is_archive(data)), where)
    return JobFile(_to_job(plain, where, photos, scans), photos, scans)


def job_schema() -> dict[str, Any]:
    """Return the JSON schema (draft 2020-12) of ``job.json``."""
    schema = msgspec.json.schema(_Document)
    for part in schema["$defs"].values():
        if "description" in part:  # indented by the source up to Python 3.12
            part["description"] = inspect.cleandoc(part["description"])
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


class _Document(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A Lapline job file."""

    format: Literal["lapline-job"]
    version: Literal[1]
    job: Job


def _decoded(job_json: bytes, where: str, *, is_bare: bool) -> dict[str, Any]:
    """Return the outermost object of ``job.json``, of whatever version."""
    broken: type[FileError] = NotAJob if is_bare else Damaged
    if len(job_json) > MAX_JOB_BYTES:
        raise broken("It is larger than a Lapline job can be.", where=where)
    try:
        plain = msgspec.json.decode(job_json)
        json.loads(job_json, object_pairs_hook=_refuse_repeated_keys)
    except UnicodeDecodeError as error:
        raise broken("Its text is not UTF-8.", where=where) from error
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        what = "It is not a Lapline job" if is_bare else "The job in it cannot be read"
        said = broken_words(error)
        mend = "Open a job that Lapline saved, or an earlier copy of this one."
        raise broken(f"{what}: {said}.", where=where, mend=mend) from error
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        raise NotAJob("It is not a Lapline job.", where=where)
    return plain


def _refuse_repeated_keys(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"{quoted(twice)} stands twice in one object")
    return found


def _brought_up_to_date(plain: dict[str, Any], where: str) -> object:
    """Return the job object as this version writes it."""
    version = plain.get("version")
    if type(version) is not int or version < 1:
        raise Damaged(f"Its version is {quoted(version)}, not a number from 1.", where=where)
    if version > VERSION:
        raise NewerVersion(
            f"A newer Lapline wrote it: file version {version}, this one reads {VERSION}.",
            where=where,
            mend="Open it with that one; the file is untouched.",
        )
    extra = sorted(set(plain) - {"format", "version", "job"})
    if extra or "job" not in plain:
        what = f"The entry {extra[0]} is not known" if extra else "The entry job is missing"
        raise Damaged(f"{what}.", where=where)
    job = plain["job"]
    if version == VERSION or not isinstance(job, dict):
        return job
    try:
        return migrations.migrate(job, version, VERSION)
    except MigrationFailed as error:
        raise MigrationFailed(error.what, where=where, mend=error.mend) from error


def _to_job(
    plain: object, where: str, photos: Mapping[str, bytes], scans: Mapping[str, bytes]
) -> Job:
    """Return the job of plain values, all of it checked."""
    try:
        job = msgspec.convert(plain, Job)
    except (msgspec.ValidationError, RecursionError) as error:
        limit, path = limit_in_words(str(error))
        place = ", ".join(part for part in (where, place_in_words(path, plain)) if part)
        raise Damaged(limit, where=place) from error
    problems = list(iter_problems(job, photos, scans))
    if problems:
        first = problems[0]
        words = place_in_words(first.path, plain)
        more = f" (And {len(problems) - 1} more.)" if len(problems) > 1 else ""
        raise Damaged(
            first.what,
            where=", ".join(part for part in (where, words) if part),
            mend=first.mend + more,
        )
    return job


_ON_ONE_LINE = json.JSONEncoder(ensure_ascii=False, sort_keys=True, allow_nan=False).encode
_SHORT = 6
"""Up to so many entries (a node has them) one line is tried before all else, to save time."""


def _written(value: object, depth: int) -> str:
    """Return JSON with sorted keys, broken into lines only where one does not suffice."""
    if not isinstance(value, dict | list | tuple):
        return _ON_ONE_LINE(value)
    if len(value) <= _SHORT:
        line = _ON_ONE_LINE(value)
        if len(line) + depth <= LINE_WIDTH:
            return line
    if isinstance(value, dict):
        parts = [f"{_ON_ONE_LINE(k)}: {_written(value[k], depth + 1)}" for k in sorted(value)]
        opening, closing = "{}"
    else:
        parts = [_written(item, depth + 1) for item in value]
        opening, closing = "[]"
    line = f"{opening}{', '.join(parts)}{closing}"
    if len(line) + depth <= LINE_WIDTH and "\n" not in line:
        return line
    inside = "\n" + " " * (depth + 1)
    return f"{opening}{inside}{f',{inside}'.join(parts)}\n{' ' * depth}{closing}"

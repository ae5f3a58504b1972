"""The outer shell of a job file: a zip of ``job.json``, photos and scans, read with suspicion.

Entries are stored, not deflated: photos are compressed already, and what a deflater writes
differs from one build of zlib to the next, which would break "the same job, the same bytes".
"""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Mapping

from core.document.places import quoted
from core.errors import Damaged, InputError, NotAJob

JOB_ENTRY = "job.json"
PHOTOS = "photos/"
SCANS = "scans/"
MAX_FILE_BYTES = 512 * 2**20
MAX_JOB_BYTES = 64 * 2**20
MAX_PHOTO_BYTES = 128 * 2**20
MAX_SCAN_BYTES = 128 * 2**20
MAX_ENTRIES = 1000

_NAME = re.compile(r"\w[\w .()+-]{0,99}")
_METHODS = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    OSError,
    ValueError,
    RuntimeError,  # an encrypted entry; NotImplementedError, an odd compression
    IndexError,
    OverflowError,
)


def is_archive(data: bytes) -> bool:
    """Return whether the bytes start as a zip does."""
    return data[:4] in (b"PK\x03\x04", b"PK\x05\x06")


def pack(
    job_json: bytes, photos: Mapping[str, bytes], scans: Mapping[str, bytes] | None = None
) -> bytes:
    """Return the zip: fixed dates, order, attributes and compression.

    Raises:
        InputError: a photo or scan has a name that is not usable in a file.
    """
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr(_entry(JOB_ENTRY), job_json)
        for folder, word, held in ((PHOTOS, "photo", photos), (SCANS, "scan", scans or {})):
            for name in sorted(held):
                if not is_entry_name(name):
                    raise InputError(
                        f"A {word} cannot be named {quoted(name)}.",
                        mend="Use letters, digits, spaces, dots and hyphens.",
                    )
                archive.writestr(_entry(folder + name), held[name])
    return buffer.getvalue()


def unpack(data: bytes, where: str) -> tuple[bytes, dict[str, bytes], dict[str, bytes]]:
    """Return ``job.json``, the photos and the scans of a zip.

    Raises:
        NotAJob: a zip without ``job.json``.
        Damaged: entries that do not belong, that are too large, or that cannot be read.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = _checked(archive, where)
            held = {info.filename: _read(archive, info) for info in entries}
    except _BROKEN as error:
        raise Damaged(
            "A part of it is encrypted."
            if "encrypted" in str(error)
            else "The file is broken, or only a part of it is there.",
            where=where,
            mend="Take an earlier copy of it, or fetch it again.",
        ) from error
    job_json = held.pop(JOB_ENTRY)
    return job_json, _within(PHOTOS, held), _within(SCANS, held)


def _within(folder: str, held: Mapping[str, bytes]) -> dict[str, bytes]:
    return {n.removeprefix(folder): data for n, data in held.items() if n.startswith(folder)}


def is_entry_name(name: str) -> bool:
    """Return whether a photo or scan may be called so on every system."""
    return bool(_NAME.fullmatch(name)) and not name.endswith((".", " "))


def _entry(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
    info.create_system = 3  # else it differs between systems
    info.external_attr = 0o644 << 16
    return info


def _checked(archive: zipfile.ZipFile, where: str) -> list[zipfile.ZipInfo]:
    """Return the entries to read, none of them before its name and size are known to be fit."""
    entries = [info for info in archive.infolist() if info.filename not in {PHOTOS, SCANS}]
    names = [info.filename for info in entries]
    if JOB_ENTRY not in names:
        raise NotAJob("It is a zip, but not a Lapline job.", where=where)
    if len(entries) > MAX_ENTRIES or len(set(names)) < len(names):
        raise Damaged("The file has too many entries, or one twice.", where=where)
    for info in entries:
        name = info.filename
        most = _most_bytes(name)
        if most is None:
            raise Damaged(f"It holds {quoted(name)}, which does not belong there.", where=where)
        if info.file_size > most or info.compress_type not in _METHODS:
            raise Damaged(f"Its entry {name} is too large, or oddly packed.", where=where)
    if sum(info.file_size for info in entries) > MAX_FILE_BYTES:
        raise Damaged("It unpacks to more than a job can be.", where=where)
    return entries


def _most_bytes(entry: str) -> int | None:
    """Return how large an entry may be; None for one that does not belong."""
    if entry == JOB_ENTRY:
        return MAX_JOB_BYTES
    for folder, most in ((PHOTOS, MAX_PHOTO_BYTES), (SCANS, MAX_SCAN_BYTES)):
        if entry.startswith(folder) and is_entry_name(entry.removeprefix(folder)):
            return most
    return None


def _read(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    """Read one entry, never more of it than it says it has."""
    with archive.open(info) as stream:
        data = stream.read(info.file_size)
        if len(data) < info.file_size:
            raise EOFError(f"{info.filename} ends too soon")
        stream.read(1)  # its check sum is judged at its end
    return data

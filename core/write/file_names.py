"""File names made of the names in a job: plain, safe on every system, unique."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date

RESERVED = {"con", "prn", "aux", "nul"} | {f"{d}{n}" for d in ("com", "lpt") for n in range(10)}
"""Names of devices, which Windows keeps for itself (its rules on naming files)."""

_SPELLINGS = str.maketrans(
    {
        "ä": "ae",
        "ö": "oe",
        "ü": "ue",
        "ß": "ss",
        "æ": "ae",
        "ø": "o",
        "å": "aa",
        "đ": "d",
        "ł": "l",
    }
)
_LONGEST = 80
_LONGEST_PART = 40


def safe_name(*parts: str, fallback: str = "unnamed") -> str:
    """Return one file name without ending: lower-case ASCII words joined by hyphens.

    Degenerate input: parts without a letter or digit that ASCII has give the fallback.

    >>> safe_name("Grün / matt", "r1")
    'gruen-matt-r1'
    """
    text = unicodedata.normalize("NFC", " ".join(parts)).lower().translate(_SPELLINGS)
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    name = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST].strip("-")
    if not name:
        name = fallback
    return f"{name}-1" if name in RESERVED else name


def output_name(job: str, parts: Sequence[str], day: date | None) -> str:
    """Return the name of an output, without ending: job, what it holds, and the day.

    Long names are shortened part by part, so that what tells files apart stays.

    >>> output_name("Library trike", ("Deep fjord", "r1"), date(2026, 3, 9))
    'library-trike-deep-fjord-r1-2026-03-09'
    """
    words = [safe_name(part)[:_LONGEST_PART].strip("-") for part in (job, *parts)]
    return "-".join([*words, day.isoformat()] if day else words)


def unique_names(names: Iterable[str]) -> list[str]:
    """Return the names, those met before with -2, -3, ... added.

    >>> unique_names(["white-r1", "white-r1", "black-r1"])
    ['white-r1', 'white-r1-2', 'black-r1']
    """
    taken: set[str] = set()
    result = []
    for name in names:
        free, number = name, 1
        while free in taken:
            number += 1
            free = f"{name}-{number}"
        taken.add(free)
        result.append(free)
    return result

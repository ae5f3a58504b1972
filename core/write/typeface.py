"""The bundled typeface: its files, and how wide a text is in it.

Pictures are set in Inter (SIL Open Font License 1.1, see ``fonts/LICENCE.txt``). Widths come
from the font itself, so that a label that fits in the reckoning fits in the picture. The files
have quadratic outlines (made from Inter 3.19's cubic ones, to half a unit of 2048), as PDF
writers embed no others.
"""

from functools import cache, lru_cache
from pathlib import Path

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # it has no types

FAMILY = "Inter"
CAP_HEIGHT_EM = 0.727
"""Height of Inter's capitals in em (its OS/2 table: 1490 of 2048 units)."""

_FONTS = Path(__file__).parent / "fonts"
_REGULAR, _BOLD = _FONTS / "Inter-Regular.ttf", _FONTS / "Inter-SemiBold.ttf"
MISSING_SIGN = "□"
"""Stands for a character that the typeface lacks."""


def font_files() -> list[str]:
    """Return the paths of the bundled font files."""
    return [str(_REGULAR), str(_BOLD)]


def font_file(*, is_bold: bool = False) -> Path:
    """Return the path of the regular or the bold font file."""
    return _BOLD if is_bold else _REGULAR


def settable(text: str, *, is_bold: bool = False) -> str:
    """Return a text as it can be set: in other letters where the typeface lacks its own.

    What Inter has not (it has Latin, Greek and Cyrillic) is spelled in Latin letters,
    so that names stay apart and can be said; control characters become spaces.

    >>> settable("Türe, дверь, 部品")
    'Türe, дверь, BuPin'
    """
    if text.isascii() and text.isprintable():
        return text  # the typeface has them all
    known, _ = _advances(is_bold=is_bold)
    plain = "".join(c if c.isprintable() else " " for c in text)
    return "".join(c if c in known else _spelled(c) for c in plain)


@cache
def _spelled(character: str) -> str:
    """Return a character in Latin letters, or a box when there is no such spelling."""
    from anyascii import anyascii  # noqa: PLC0415 - seldom needed

    return anyascii(character) or MISSING_SIGN


def text_width_mm(text: str, height_mm: float, *, is_bold: bool = False) -> float:
    """Return the width of a text, as it can be set, whose capitals are ``height_mm`` high."""
    return _width_em(text, is_bold=is_bold) * height_mm / CAP_HEIGHT_EM


@lru_cache(20_000)
def _width_em(text: str, *, is_bold: bool) -> float:
    advances, missing = _advances(is_bold=is_bold)
    try:
        return sum(map(advances.__getitem__, text))
    except KeyError:
        return sum(advances.get(c, missing) for c in settable(text, is_bold=is_bold))


@cache
def _advances(*, is_bold: bool) -> tuple[dict[str, float], float]:
    """Return the advance of each character, in em, and that of a missing one."""
    with TTFont(_BOLD if is_bold else _REGULAR, lazy=True) as font:
        units = font["head"].unitsPerEm
        metrics = font["hmtx"].metrics
        cmap = font.getBestCmap()
        known = {chr(code): metrics[glyph][0] / units for code, glyph in cmap.items()}
        return known, metrics[".notdef"][0] / units

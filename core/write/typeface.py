"""The bundled typeface: its files, and how wide a text is in it.

Pictures are set in Inter (SIL Open Font License 1.1, see ``fonts/LICENCE.txt``). Widths come
from the font itself, so that a label that fits in the reckoning fits in the picture. The files
have quadratic outlines (made from Inter 3.19's cubic ones, to half a unit of 2048), as PDF
writers embed no others.
"""

from functools import cache
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
    """Return a text with a box for each character that the typeface lacks, none of control.

    >>> settable("Türe 部")
    'Türe □'
    """
    known, _ = _advances(is_bold=is_bold)
    plain = "".join(c if c.isprintable() else " " for c in text)
    return "".join(c if ord(c) in known else MISSING_SIGN for c in plain)


def text_width_mm(text: str, height_mm: float, *, is_bold: bool = False) -> float:
    """Return the width of a text whose capitals are ``height_mm`` high.

    Degenerate input: characters that the font lacks count as wide as its blank box.
    """
    advances, missing = _advances(is_bold=is_bold)
    em = height_mm / CAP_HEIGHT_EM
    return em * sum(advances.get(ord(c), missing) for c in text)


@cache
def _advances(*, is_bold: bool) -> tuple[dict[int, float], float]:
    """Return the advance of each code point, in em, and that of a missing one."""
    with TTFont(_BOLD if is_bold else _REGULAR, lazy=True) as font:
        units = font["head"].unitsPerEm
        metrics = font["hmtx"].metrics
        cmap = font.getBestCmap()
        known = {code: metrics[glyph][0] / units for code, glyph in cmap.items()}
        return known, metrics[".notdef"][0] / units

"""Letters as strokes for a pen: plain ones of our own, and outlines for all other characters.

A plotter's own letters differ from machine to machine, so labels are drawn. Letters, digits and
signs of ASCII are single strokes on a grid 4 wide and 6 high; small letters are drawn as
capitals. What is not among them (Ü, Ж) is drawn as the outline that the bundled typeface has.
"""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

# The library has no types.
from fontTools.pens.basePen import decomposeQuadraticSegment  # type: ignore[import-untyped]
from fontTools.pens.recordingPen import DecomposingRecordingPen  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from numpy.typing import NDArray

from core.write.drawing import Text
from core.write.typeface import CAP_HEIGHT_EM, font_files

Points = NDArray[np.float64]

_HIGH = 6.0
_ADVANCE = 5.5
_CURVE_STEPS = 4

# Strokes are parted by spaces; a point is a column (0 to 4) and a row (0 the base line, 6 the
# height of capitals; a and b are one and two below the base line).
_LETTERS = {
    "A": "002640 1333",
    "B": "00063645443303 3342413000",
    "C": "4536160501103041",
    "D": "00063645413000",
    "E": "46060040 0333",
    "F": "460600 0333",
    "G": "45361605011030414323",
    "H": "0006 4046 0343",
    "I": "1030 1636 2026",
    "J": "0110304146",
    "K": "0006 460340",
    "L": "060040",
    "M": "0006234640",
    "N": "00064046",
    "O": "163645413010010516",
    "P": "00063645443303",
    "Q": "163645413010010516 2240",
    "R": "00063645443303 2340",
    "S": "453616050413334241301001",
    "T": "0646 2026",
    "U": "060110304146",
    "V": "062046",
    "W": "0610233046",
    "X": "0046 0640",
    "Y": "062346 2320",
    "Z": "06460040",
    "0": "163645413010010516 1135",
    "1": "142620 1030",
    "2": "05163645440040",
    "3": "0516364544334241301001 1333",
    "4": "30360242",
    "5": "460603334241301001",
    "6": "453616050110304142331302",
    "7": "064610",
    "8": "13040516364544331302011030414233",
    "9": "011030414536160504133344",
    "-": "1333",
    "_": "0040",
    "+": "2125 0343",
    ".": "2021",
    ",": "211a",
    ":": "2122 2425",
    ";": "2425 211a",
    "/": "0046",
    "\\": "0640",
    "(": "36252130",
    ")": "16252110",
    "[": "36161030",
    "]": "16363010",
    "'": "2624",
    '"': "1614 3634",
    "!": "2622 2021",
    "?": "05163645443322 2021",
    "#": "1016 3036 0242 0444",
    "%": "0046 0506161505 3031414030",
    "&": "4004051625240201102042",
    "*": "2125 0442 0244",
    "=": "0242 0444",
    "<": "450341",
    ">": "054301",
    "|": "2a26",
    "^": "142634",
    "`": "1625",
    "{": "36252413222130",
    "}": "16252433222110",
    "~": "03143243",
    "$": "453616050413334241301001 2026",
}


def text_strokes(text: Text) -> tuple[Points, ...]:
    """Return the strokes of a line of text where it stands, each of shape (n, 2), in mm.

    Degenerate input: characters that even the typeface lacks are drawn as a box.
    """
    size = text.height_mm / _HIGH
    glyphs = [_glyph(c) for c in text.text]
    advances = np.array([0.0, *(glyph.advance for glyph in glyphs)])
    width = float(advances.sum()) - (_ADVANCE - 4.0 if glyphs else 0.0)
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    lengths = [length for glyph in glyphs for length in glyph.lengths]
    if not lengths:
        return ()
    points = np.concatenate([glyph.points for glyph in glyphs])
    sizes = [len(glyph.points) for glyph in glyphs]
    points[:, 0] += np.repeat(start + np.cumsum(advances)[:-1], sizes)
    angle = math.radians(text.angle_deg)
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    placed = points * size @ turn + text.at
    ends = np.cumsum(lengths).tolist()
    return tuple(placed[end - n : end] for end, n in zip(ends, lengths, strict=True))


def stroke_width(text: str) -> float:
    """Return the width of a line of text at capital height 1."""
    return max(0.0, sum(_glyph(c).advance for c in text) - (_ADVANCE - 4.0)) / _HIGH


@dataclass(frozen=True, slots=True)
class _Glyph:
    """A character on the grid: points of all strokes, how many each has, what it advances."""

    points: Points
    lengths: tuple[int, ...]
    advance: float


@cache
def _glyph(character: str) -> _Glyph:
    if character.isspace():
        return _Glyph(np.zeros((0, 2)), (), _ADVANCE * 0.7)
    capital = character.upper()
    plain = _LETTERS.get(capital)
    if plain is None:
        strokes, advance = _outlined(capital if len(capital) == 1 else character)
    else:
        strokes, advance = [_stroke(word) for word in plain.split()], _ADVANCE
    points = np.concatenate([np.zeros((0, 2)), *strokes])
    return _Glyph(points, tuple(map(len, strokes)), advance)


def _stroke(word: str) -> Points:
    rows = {"a": -1.0, "b": -2.0}
    pairs = zip(word[::2], word[1::2], strict=True)
    return np.array([(float(c), rows[r] if r in rows else float(r)) for c, r in pairs])


def _outlined(character: str) -> tuple[list[Points], float]:
    """Return the outlines of a character in the bundled typeface."""
    with TTFont(font_files()[0], lazy=True) as font:
        name = font.getBestCmap().get(ord(character), ".notdef")
        glyphs = font.getGlyphSet()
        pen = DecomposingRecordingPen(glyphs)
        glyphs[name].draw(pen)
        scale = _HIGH / (CAP_HEIGHT_EM * font["head"].unitsPerEm)
        advance = float(font["hmtx"].metrics[name][0]) * scale
    contours: list[list[Points]] = []
    for operator, given in pen.value:
        points = [np.array(p, dtype=float) * scale for p in given]
        if operator == "moveTo":
            contours.append(points)
        elif operator == "lineTo":
            contours[-1] += points
        elif operator == "qCurveTo":
            for quadratic in decomposeQuadraticSegment(given):
                control, end = (np.array(p, dtype=float) * scale for p in quadratic)
                contours[-1] += _curve(contours[-1][-1], control, end)
        elif operator == "closePath":
            contours[-1].append(contours[-1][0])
    return [np.array(contour) for contour in contours], advance


def _curve(start: Points, control: Points, end: Points) -> list[Points]:
    """Return points along a quadratic curve, its end last, its start left out."""
    steps = np.arange(1, _CURVE_STEPS + 1) / _CURVE_STEPS
    return [(1 - t) ** 2 * start + 2 * (1 - t) * t * control + t * t * end for t in steps]

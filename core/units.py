"""Lengths as people write them: millimetres inside, "75 cm" or "29 1/2 in" outside.

An inch is 25.4 mm exactly (the international inch, by the yard and pound agreement of 1959); a
foot is twelve of them.
"""

import re
import unicodedata
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Never

from core.errors import InputError


class Units(StrEnum):
    """What lengths are shown in; inside all are millimetres."""

    MM = "mm"
    CM = "cm"
    IN = "in"


MM_PER_INCH = Fraction(254, 10)
LONGEST_MM = 1_000_000

_MM_PER = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "ft": 12 * MM_PER_INCH,
    "foot": 12 * MM_PER_INCH,
    "feet": 12 * MM_PER_INCH,
    "'": 12 * MM_PER_INCH,
}
_FEET = {"ft", "foot", "feet", "'"}
_INCHES = {"in", "inch", "inches", '"'}
_DECIMALS = {Units.MM: 1, Units.CM: 2, Units.IN: 3}
_TOKEN = re.compile(r"\s*(\d+(?:[.,]\d+)?|[.,]\d+|[a-z]+|[-+*/'\"])", re.ASCII)
_NUMBER = re.compile(r"[\d.,]+", re.ASCII)
_LIKE = str.maketrans(
    {"−": "-", "×": "*", "·": "*", "″": '"', "′": "'", "”": '"', "’": "'", "⁄": "/"}
)
_MEND = 'Write it like "75 cm", "29 1/2 in" or "750+2*15".'


def parse_length(text: str, units: Units) -> float:
    """Return the length in mm that a person typed.

    Understands decimals with point or comma, fractions (``29 1/2 in``), feet and inches
    (``2 ft 5 1/2 in``), sums, differences, products and quotients (``750+2*15``), each part
    with a unit of its own. Bare numbers are in ``units``. A minus gives a negative length;
    whoever needs a positive one says so.

    Raises:
        InputError: says what was not understood.

    >>> parse_length("29 1/2 in", Units.MM)
    749.3
    >>> parse_length("75 cm + 2*15", Units.MM)
    780.0
    """
    total = _Reader(text, units).total()
    if abs(total) > LONGEST_MM:
        raise InputError(f"{_shown(text)} is longer than a kilometre.", mend="Check the unit.")
    return float(total)


def format_length(mm: float, units: Units, *, decimals: int | None = None) -> str:
    """Return a length with its unit, as a person reads it.

    ``decimals`` fixes how many there are; by default they are as many as needed, at most 1 for
    mm, 2 for cm and 3 for inches.

    >>> format_length(749.3, Units.IN), format_length(8.0, Units.MM, decimals=1)
    ('29.5 in', '8.0 mm')
    """
    places = _DECIMALS[units] if decimals is None else decimals
    value = Decimal(str(mm))
    if not value.is_finite():
        raise InputError(f"{mm} is no length.")
    shown = value * 10 / Decimal(int(_MM_PER[units] * 10))
    digits = f"{shown.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}"
    if decimals is None and "." in digits:
        digits = digits.rstrip("0").rstrip(".")
    if not digits.strip("-0."):
        digits = digits.lstrip("-")
    return f"{digits} {units.value}"


class _Reader:
    """Reads one typed length, token by token, in exact fractions."""

    def __init__(self, text: str, units: Units) -> None:
        self._text = text
        self._units = units
        self._tokens = self._split(text)
        self._next = 0

    def total(self) -> Fraction:
        """Return the sum in mm; all of the text must be part of it."""
        sign = self._sign(needs_one=False)
        total = sign * self._length()
        while self._peek():
            sign = self._sign(needs_one=True)
            total += sign * self._length()
        return total

    def _split(self, text: str) -> list[str]:
        if not text.strip():
            raise InputError("No length was given.", mend=_MEND)
        if len(text) > 100:
            raise InputError("That is too long for a length.", mend=_MEND)
        plain = "".join(_vulgar(c) for c in text).translate(_LIKE).lower()
        tokens, at = [], 0
        plain = plain.rstrip()
        while at < len(plain):
            match = _TOKEN.match(plain, at)
            if match is None:
                self._refuse(plain[at:].strip())
            tokens.append(match[1])
            at = match.end()
        return tokens

    def _peek(self, ahead: int = 0) -> str:
        place = self._next + ahead
        return self._tokens[place] if place < len(self._tokens) else ""

    def _take(self) -> str:
        token = self._peek()
        self._next += 1
        return token

    def _sign(self, *, needs_one: bool) -> int:
        if self._peek() in ("+", "-"):
            return -1 if self._take() == "-" else 1
        if needs_one:
            self._refuse(self._peek())
        return 1

    def _length(self) -> Fraction:
        """Read a product with at most one unit; after feet, inches may follow at once."""
        value, unit = self._product()
        if unit in _FEET and _NUMBER.match(self._peek()):
            inches, second = self._product()
            if second not in _INCHES and (second or unit != "'"):
                raise InputError(
                    f"{_shown(self._text)}: after feet come inches.", mend='Write "2 ft 5 in".'
                )
            return value * _MM_PER[unit] + inches * MM_PER_INCH
        return value * _MM_PER[unit or self._units.value]

    def _product(self) -> tuple[Fraction, str]:
        value, unit = self._number(), self._unit()
        while self._peek() in ("*", "/"):
            sign = self._take()
            factor = self._number()
            if sign == "/" and factor == 0:
                raise InputError(f"{_shown(self._text)} divides by nothing.", mend=_MEND)
            value = value / factor if sign == "/" else value * factor
            second = self._unit()
            if second and unit:
                self._refuse(second)
            unit = unit or second
        return value, unit

    def _number(self) -> Fraction:
        """Read a number, or a whole number and a fraction."""
        whole = self._figure()
        if _NUMBER.match(self._peek()) and self._peek(1) == "/" and whole.denominator == 1:
            above = self._figure()
            self._take()
            below = self._figure()
            if not 0 < above < below:
                self._refuse(f"{above}/{below}")
            return whole + above / below
        return whole

    def _figure(self) -> Fraction:
        token = self._take()
        if not _NUMBER.match(token):
            self._refuse(token)
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", token):
            raise InputError(
                f"{_shown(token)} can be read in two ways.",
                mend=f"Write {token.replace(',', '')} or {token.replace(',', '.')}.",
            )
        return Fraction(token.replace(",", "."))

    def _unit(self) -> str:
        if self._peek() in _MM_PER:
            return self._take()
        if self._peek().isalpha():
            self._refuse(self._peek())
        return ""

    def _refuse(self, scrap: str) -> Never:
        is_part = bool(scrap) and scrap.strip() != self._text.strip()
        what = f"{_shown(scrap)} in {_shown(self._text)}" if is_part else _shown(self._text)
        ending = "is not a length" if not scrap else "was not understood"
        raise InputError(f"{what} {ending}.", mend=_MEND)


def _vulgar(character: str) -> str:
    """Write out a fraction that is one character, such as a half."""
    if unicodedata.category(character) == "No":
        plain = unicodedata.normalize("NFKD", character).replace("⁄", "/")
        return f" {plain}" if "/" in plain else character
    return character


def _shown(text: str) -> str:
    return f'"{text.strip()}"'

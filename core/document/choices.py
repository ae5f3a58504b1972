"""What a person decided about single pieces: how often they may be cut, and from what.

A piece is named by its id, which it keeps while lines move; a choice for a piece that is not
there (any more) waits until it comes back.
"""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from core.document.path import Coord

Tries = Annotated[int, Meta(ge=1, le=20)]
PieceName = Annotated[str, Meta(min_length=1, max_length=500)]
SheetName = Annotated[str, Meta(max_length=12)]
"""Id of a roll or offcut in stock, or ``buy`` for film to buy."""


class Difficulty(StrEnum):
    """How hard a piece is to lay; hard ones are planned with more tries."""

    EASY = "easy"
    HARD = "hard"


class Place(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where a piece lies on its sheet: turned about its panel's origin, then moved."""

    angle_deg: Coord
    dx_mm: Coord
    dy_mm: Coord


class Pin(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One try of a piece, tied to a roll or offcut, or to a place on it.

    Attributes:
        place: None leaves it to the layout where on the sheet the piece lies.
    """

    stock: SheetName
    attempt: Tries = 1
    place: Place | None = None


class PieceChoice(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was decided about one piece.

    Attributes:
        tries: how many times it may have to be cut; None takes the panel's.
        pins: at most one a try.
        forbidden: rolls and offcuts that it must not be cut from.
    """

    piece: PieceName
    tries: Tries | None = None
    pins: tuple[Pin, ...] = ()
    forbidden: tuple[SheetName, ...] = ()

"""Films and the stock of each: what can be laid, and what is on the shelf."""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from core.document.path import Id, Length, Name, Percent, Positive


class Grain(StrEnum):
    """How far a film's direction ties the way its pieces lie on the roll."""

    NONE = "none"
    TWO_WAY = "two_way"
    ONE_WAY = "one_way"
    QUARTER_TURN = "quarter_turn"


class Finish(StrEnum):
    """How a film's face looks."""

    GLOSS = "gloss"
    SATIN = "satin"
    MATT = "matt"
    METALLIC = "metallic"
    BRUSHED = "brushed"
    WEAVE = "weave"
    PATTERN = "pattern"


class Roll(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="roll"):
    """A roll, or what is left of one; as wide as its film is."""

    id: Id
    length_mm: Positive
    note: Name = ""


class Offcut(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="offcut"):
    """A left-over rectangle; its length runs along the roll's direction."""

    id: Id
    length_mm: Positive
    width_mm: Positive
    note: Name = ""


Stock = Roll | Offcut


class Film(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One film: a colour and finish, its roll and its limits.

    The default limits are round, generic figures (common practice, no source).

    Attributes:
        colour: swatch, ``#rrggbb``.
        rank: base colour lowest; at a seam the higher rank lies on top.
        edge_margin_mm: strip along the roll's edges that is not used.
        min_inside_radius_mm: smallest radius of an inside corner that does not tear.
        bunching_limit_pct, stretch_limit_pct: how much length the film can lose or gain.
    """

    id: Id
    name: Name
    colour: Annotated[str, Meta(pattern="^#[0-9a-f]{6}$")]
    finish: Finish = Finish.GLOSS
    rank: Annotated[int, Meta(ge=0, le=1000)] = 0
    roll_width_mm: Positive = 1520.0
    edge_margin_mm: Length = 10.0
    grain: Grain = Grain.NONE
    price_per_m: Length = 0.0
    min_inside_radius_mm: Length = 2.0
    bunching_limit_pct: Percent = 2.0
    stretch_limit_pct: Percent = 8.0
    stock: tuple[Stock, ...] = ()

"""Films and the stock of each: what can be laid, what is on the shelf, what can be bought."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from core.document.path import Id, Length, Name, Percent, Point, Positive

Ring = Annotated[tuple[Point, ...], Meta(min_length=3, max_length=5000)]
"""A closed outline without its first point repeated."""


class FilmKind(StrEnum):
    """How a film was made, which says how far it lets itself be formed."""

    CAST = "cast"
    POLYMERIC = "polymeric"
    MONOMERIC = "monomeric"


@dataclass(frozen=True, slots=True)
class KindLimits:
    """How much length films of a kind lose or gain, in per cent."""

    bunching_pct: float
    stretch_pct: float
    warm_stretch_pct: float


KIND_LIMITS = {
    FilmKind.CAST: KindLimits(2.0, 5.0, 10.0),
    FilmKind.POLYMERIC: KindLimits(1.0, 2.5, 2.5),
    FilmKind.MONOMERIC: KindLimits(0.5, 1.0, 1.0),
}
"""Round, generic figures (common practice, no source); a film's data sheet comes first."""


class Grain(StrEnum):
    """How far a film's direction ties the way its pieces lie on the roll."""

    NONE = "none"
    TWO_WAY = "two_way"
    ONE_WAY = "one_way"
    QUARTER_TURN = "quarter_turn"


class Turning(StrEnum):
    """How pieces of a film without grain are turned."""

    ANY = "any"
    QUARTERS = "quarters"


class Finish(StrEnum):
    """How a film's face looks."""

    GLOSS = "gloss"
    SATIN = "satin"
    MATT = "matt"
    METALLIC = "metallic"
    BRUSHED = "brushed"
    WEAVE = "weave"
    PATTERN = "pattern"


class ShelfPlace(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where on the shelf that jobs share a roll or offcut was taken from.

    Attributes:
        key: of the shelf's entry.
        revision: of the entry when it was taken; a later one there says that others changed it.
    """

    key: Annotated[str, Meta(pattern=r"^[0-9a-f]{8,32}$")]
    revision: Annotated[int, Meta(ge=1)]


class DamagedStretch(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A stretch of a roll or offcut that is not to be used.

    Attributes:
        start_mm, end_mm: along the roll, from its free end.
        low_mm, high_mm: across it, from its lower edge; None reaches to the edge.
    """

    start_mm: Length
    end_mm: Positive
    low_mm: Length | None = None
    high_mm: Positive | None = None
    note: Name = ""


class Roll(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="roll"):
    """A roll, or what is left of one.

    Attributes:
        length_mm: what is left of it.
        width_mm: None: as wide as its film is on offer.
        is_opened: cut from before; opened rolls are used up before new ones.
    """

    id: Id
    length_mm: Positive
    width_mm: Positive | None = None
    is_opened: bool = False
    damaged: tuple[DamagedStretch, ...] = ()
    note: Name = ""
    shelf: ShelfPlace | None = None


class Offcut(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="offcut"):
    """A left-over piece of film; its length runs along the roll's direction.

    Attributes:
        length_mm, width_mm: of the rectangle, or of the rectangle around ``outline``.
        outline: its rim, from 0 to length and width; None for a plain rectangle.
        openings: holes in it.
    """

    id: Id
    length_mm: Positive
    width_mm: Positive
    outline: Ring | None = None
    openings: tuple[Ring, ...] = ()
    damaged: tuple[DamagedStretch, ...] = ()
    note: Name = ""
    shelf: ShelfPlace | None = None


Stock = Roll | Offcut


class Offer(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A roll width that the shop has, and its price."""

    width_mm: Positive
    price_per_m: Length = 0.0


class Film(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One film: a colour and finish, its roll and its limits.

    The default limits are round, generic figures (common practice, no source).

    Attributes:
        colour: swatch, ``#rrggbb``.
        rank: base colour lowest; at a seam the higher rank lies on top.
        roll_width_mm: width of its rolls, and of film still to be bought.
        edge_margin_mm: strip along the roll's edges that is not used.
        turning: how pieces may be turned where there is no grain.
        offers: other widths that the shop has, beside ``roll_width_mm`` at ``price_per_m``.
        buy_step_mm: the shop sells lengths in steps of this.
        min_inside_radius_mm: smallest radius of an inside corner that does not tear.
        bunching_limit_pct, stretch_limit_pct: how much length the film can lose or gain.
        warm_stretch_limit_pct: how much it can gain when it is warmed.
    """

    id: Id
    name: Name
    colour: Annotated[str, Meta(pattern="^#[0-9a-f]{6}$")]
    finish: Finish = Finish.GLOSS
    kind: FilmKind = FilmKind.CAST
    rank: Annotated[int, Meta(ge=0, le=1000)] = 0
    roll_width_mm: Positive = 1520.0
    edge_margin_mm: Length = 10.0
    grain: Grain = Grain.NONE
    turning: Turning = Turning.ANY
    price_per_m: Length = 0.0
    offers: tuple[Offer, ...] = ()
    buy_step_mm: Positive = 500.0
    min_inside_radius_mm: Length = 2.0
    bunching_limit_pct: Percent = 2.0
    stretch_limit_pct: Percent = 5.0
    warm_stretch_limit_pct: Percent = 10.0
    stock: tuple[Stock, ...] = ()

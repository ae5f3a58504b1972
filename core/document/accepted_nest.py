"""A finished nest that the user accepted: a decision, kept with the print of its pieces."""

from typing import Annotated

from msgspec import Meta, Struct

from core.document.path import Coord, Id, Positive


class KeptPlacement(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where one try of one piece lies: turned about its panel's origin, then moved."""

    piece: Annotated[str, Meta(max_length=500)]
    attempt: Annotated[int, Meta(ge=1, le=20)]
    angle_deg: Coord
    dx_mm: Coord
    dy_mm: Coord


class KeptSheet(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The placements on one sheet: a roll or offcut in stock, or ``buy`` for film to buy."""

    stock: Annotated[str, Meta(max_length=12)]
    placements: tuple[KeptPlacement, ...]


class AcceptedNest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A film's accepted nest in one variant; dropped with a finding when its pieces change.

    Attributes:
        fingerprint: hash over pieces, stock, gap and grain, as roll/problem.py makes it.
    """

    variant: Id
    film: Id
    fingerprint: Annotated[str, Meta(max_length=64)]
    sheets: tuple[KeptSheet, ...]
    found_length_mm: Positive


class FilmCut(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A film was cut by its layout, and the shelf that jobs share was told.

    Attributes:
        day: such as ``2026-11-25``.
    """

    variant: Id
    film: Id
    fingerprint: Annotated[str, Meta(max_length=64)]
    day: Annotated[str, Meta(pattern=r"^\d{4}-\d{2}-\d{2}$")]

"""Photos of a job: the ground on which a panel was traced."""

from typing import Annotated

from msgspec import Meta, Struct

from core.document.path import Coord, Id, Length, Name, Percent

FileName = Annotated[str, Meta(min_length=1, max_length=100)]
Pixels = Annotated[int, Meta(ge=1, le=100_000)]


class Photo(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A flat picture under a panel; its pixels lie in the job file's ``photos/``.

    Attributes:
        file: its name there.
        title: the name of the file that it was made from.
        width_px, height_px: its size.
        to_mm: the homography from its pixels to the panel's frame, row by row: pixels count
            from its upper left corner, x to the right and y down, mm with y up.
        error_mm: how far a length over ``error_over_mm`` may be off, with 95 % certainty.
        panel: the panel that it is the ground of.
        is_shown: whether the canvas shows it.
        opacity_pct: how strongly.
    """

    id: Id
    file: FileName
    title: Name = ""
    width_px: Pixels
    height_px: Pixels
    to_mm: tuple[Coord, Coord, Coord, Coord, Coord, Coord, Coord, Coord, Coord]
    error_mm: Length
    error_over_mm: Length
    panel: Id
    is_shown: bool = True
    opacity_pct: Percent = 50.0

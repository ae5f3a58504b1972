"""Seams, stripes and inlays: the lines along which films meet; relief cuts; paint spots.

Every line along which films meet has a left and a right side, seen along its direction. A
stripe and an inlay lie on the left of their own lines, so that one rule serves all three:
``Side.LEFT`` on top of a stripe's rule means that the stripe itself is on top.
"""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from core.document.path import Id, Length, Name, Path, Point


class Side(StrEnum):
    """A side of a line, seen along its direction."""

    LEFT = "left"
    RIGHT = "right"


class Under(StrEnum):
    """How far the under film runs on beneath the top film."""

    LAP = "lap"
    FULL = "full"


class SeamCut(StrEnum):
    """How the edge that is seen is made."""

    PRE_CUT = "pre_cut"
    CUTTING_TAPE = "cutting_tape"
    BUTT = "butt"


class SeamRule(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the two films along a line meet.

    Attributes:
        on_top: the side that the user wants on top; None leaves it to rank, flow and size.
        lap_mm: lap width; None takes the job's. A butt seam has none whatever this says.
        under: a lap of that width, or film all the way beneath (an overlay).
        cut: None takes the job's way of cutting seams.
    """

    on_top: Side | None = None
    lap_mm: Length | None = None
    under: Under = Under.LAP
    cut: SeamCut | None = None


class Seam(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="seam"):
    """An open path along which film ends and other film begins."""

    id: Id
    nodes: Annotated[Path, Meta(min_length=2)]
    name: Name = ""
    rule: SeamRule = SeamRule()


class Stripe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="stripe"):
    """A centre line and a width that may taper: two seams and an accent between them.

    Attributes:
        run: shared by the stripes that are one line over several panels of a variant.
    """

    id: Id
    nodes: Annotated[Path, Meta(min_length=2)]
    start_width_mm: Length
    end_width_mm: Length
    film: Id
    name: Name = ""
    rule: SeamRule = SeamRule()
    run: Id | None = None


class Inlay(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="inlay"):
    """A closed shape set in a panel."""

    id: Id
    nodes: Annotated[Path, Meta(min_length=2)]
    film: Id
    name: Name = ""
    rule: SeamRule = SeamRule()


class Relief(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="relief"):
    """A cut from the rim into a piece, which lets film lie that is in surplus; divides nothing.

    Attributes:
        nodes: from the rim (of the panel, of an opening, or a seam) to the inner end.
        hole_mm: across, of the round hole at the inner end, against tearing; 0 for none. The
            default is common practice, no source.
    """

    id: Id
    nodes: Annotated[Path, Meta(min_length=2)]
    name: Name = ""
    hole_mm: Annotated[float, Meta(ge=0, le=50)] = 3.0


DividingLine = Seam | Stripe | Inlay
"""A line along which films meet."""
Line = DividingLine | Relief


class PaintSpot(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A point that gives the region it lies in a film."""

    id: Id
    at: Point
    film: Id


def line_name(line: Line) -> str:
    """Return what a line is called on screens and in findings.

    >>> line_name(Seam(id="s2", nodes=()))
    'Seam 2'
    """
    kind = "Relief cut" if isinstance(line, Relief) else type(line).__name__
    return line.name or f"{kind} {line.id[1:]}"

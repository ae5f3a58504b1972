"""What a person draws to work by, and what is never cut: guides and dimensions.

They belong to the job and not to a variant: a guide says where something lies on the vehicle,
and a dimension says a size of it.
"""

from typing import Literal

from msgspec import Struct

from core.document.path import Coord, Id, Point


class GuideLine(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A straight line right across the canvas, to draw by.

    Attributes:
        way: ``upright`` at one x, or ``level`` at one y.
        at_mm: that x or y, in the canvas's frame.
    """

    id: Id
    way: Literal["upright", "level"]
    at_mm: Coord


class DimensionEnd(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One end of a dimension: a point, or a node that it follows.

    Attributes:
        at: in the frame of ``panel``, or of the canvas where there is none.
        panel: the panel that the end moves with.
        owner: the panel, opening or line that has ``node``; None for a mere point.
        node: the node that the end follows; ``at`` says where it was when it was measured.
    """

    at: Point
    panel: Id | None = None
    owner: Id | None = None
    node: Id | None = None


class Dimension(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A size that is shown on the drawing; what it amounts to follows from its ends.

    A dimension one of whose nodes is not there, in a variant or after an edit, is not shown;
    it comes back with its node.

    Attributes:
        offset_mm: how far to the left of start to end the dimension line stands off.
    """

    id: Id
    start: DimensionEnd
    end: DimensionEnd
    offset_mm: Coord = 0.0

"""Variants: each one answer to "what goes where" over the same panels."""

from msgspec import Struct

from core.document.choices import PieceChoice
from core.document.lines import DividingLine, Inlay, Line, PaintSpot, Relief, Seam, Stripe
from core.document.path import Id, Name


class Scheme(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What one variant draws and colours on one panel.

    Later lines lie over earlier ones where they colour: inlays over stripes.
    """

    panel: Id
    seams: tuple[Seam, ...] = ()
    stripes: tuple[Stripe, ...] = ()
    inlays: tuple[Inlay, ...] = ()
    spots: tuple[PaintSpot, ...] = ()
    reliefs: tuple[Relief, ...] = ()

    @property
    def dividing_lines(self) -> tuple[DividingLine, ...]:
        """The lines along which films meet, in the order in which they colour."""
        return (*self.seams, *self.stripes, *self.inlays)

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines: those along which films meet, then relief cuts."""
        return (*self.dividing_lines, *self.reliefs)


class Variant(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A named set of schemes; a panel without one is covered whole in its base film.

    Attributes:
        pieces: what was decided about single pieces.
    """

    id: Id
    name: Name
    schemes: tuple[Scheme, ...] = ()
    pieces: tuple[PieceChoice, ...] = ()

    def choice(self, piece: str) -> PieceChoice:
        """Return what was decided about a piece; nothing when it was not chosen for."""
        found = (c for c in self.pieces if c.piece == piece)
        return next(found, PieceChoice(piece=piece))

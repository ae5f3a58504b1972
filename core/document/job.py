"""The job: everything a person decided, as one frozen tree of plain values."""

from enum import StrEnum
from typing import Annotated, Protocol, TypeVar

from msgspec import Meta, Struct

from core.document.accepted_nest import AcceptedNest, FilmCut
from core.document.choices import Tries
from core.document.drafting import Dimension, GuideLine
from core.document.film import Film
from core.document.lines import SeamCut
from core.document.panel import Panel
from core.document.path import Length, Name, Positive
from core.document.photo import Photo
from core.document.variant import Scheme, Variant
from core.ids import FilmId, PanelId, PhotoId, VariantId
from core.units import Units as Units  # noqa: PLC0414 - re-exported: it is part of the job


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


T = TypeVar("T", bound=_HasId)


def _find(items: tuple[T, ...], wanted: str) -> T:
    for item in items:
        if item.id == wanted:
            return item
    raise KeyError(wanted)


class BlankCut(StrEnum):
    """How blanks are cut off their roll: by straight cuts from edge to edge, or by the plotter.

    * straight: the cuts change direction as often as they must;
    * three_stages: they change it twice at most;
    * all_straight: pre-cut pieces are freed by straight cuts as well, each as the rectangle
      around it, for whoever has no plotter;
    * plotter: blanks lie among the other pieces, wherever least film is used.
    """

    STRAIGHT = "straight"
    THREE_STAGES = "three_stages"
    ALL_STRAIGHT = "all_straight"
    PLOTTER = "plotter"


class Settings(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The job's own defaults (common practice, no source).

    Attributes:
        lap_mm: lap of a seam that names none.
        seam_cut: how seams are cut that do not say.
        gap_mm: between pieces on the roll.
        grip_mm: surplus on each side of a blank.
        blank_step_mm: a blank's sides are rounded up to this.
        blank_cut: how blanks are cut off their roll.
        tick_spacing_mm: at most this far apart stand match ticks along a seam.
        tries: how many times an easy piece may have to be cut.
        hard_tries: how many times a hard one.
        lead_mm, trail_mm: waste of the machine at a roll's start, and behind its last piece.
        longest_feed_mm: how much film the machine takes in one go; None: any length.
        keep_from_mm: what is left beside the pieces is kept when it is so wide at least.
        tape_price_per_m: of cutting tape.
        tape_tail_mm: cutting tape left free at each end of a run, to pull by.
        grid_mm: spacing of the grid that can be drawn by.
    """

    lap_mm: Length = 8.0
    seam_cut: SeamCut = SeamCut.PRE_CUT
    gap_mm: Length = 5.0
    grip_mm: Length = 100.0
    blank_step_mm: Positive = 5.0
    blank_cut: BlankCut = BlankCut.STRAIGHT
    tick_spacing_mm: Positive = 250.0
    tries: Tries = 1
    hard_tries: Tries = 2
    lead_mm: Length = 0.0
    trail_mm: Length = 0.0
    longest_feed_mm: Positive | None = None
    keep_from_mm: Positive = 150.0
    tape_price_per_m: Length = 0.0
    tape_tail_mm: Length = 100.0
    grid_mm: Positive = 10.0


class Job(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One colour change: its films, its panels, its variants."""

    name: Name
    films: tuple[Film, ...]
    variants: Annotated[tuple[Variant, ...], Meta(min_length=1)]
    panels: tuple[Panel, ...] = ()
    units: Units = Units.MM
    currency: Annotated[str, Meta(max_length=8)] = ""
    settings: Settings = Settings()
    nests: tuple[AcceptedNest, ...] = ()
    cuts: tuple[FilmCut, ...] = ()
    photos: tuple[Photo, ...] = ()
    guides: tuple[GuideLine, ...] = ()
    dimensions: tuple[Dimension, ...] = ()

    def film(self, film: FilmId | str) -> Film:
        """Return the film; KeyError when the job has none of that id."""
        return _find(self.films, film)

    def panel(self, panel: PanelId | str) -> Panel:
        """Return the panel; KeyError when the job has none of that id."""
        return _find(self.panels, panel)

    def photo(self, photo: PhotoId | str) -> Photo:
        """Return the photo; KeyError when the job has none of that id."""
        return _find(self.photos, photo)

    def guide(self, guide: str) -> GuideLine:
        """Return the guide; KeyError when the job has none of that id."""
        return _find(self.guides, guide)

    def dimension(self, dimension: str) -> Dimension:
        """Return the dimension; KeyError when the job has none of that id."""
        return _find(self.dimensions, dimension)

    def variant(self, variant: VariantId | str) -> Variant:
        """Return the variant; KeyError when the job has none of that id."""
        return _find(self.variants, variant)

    def scheme(self, variant: VariantId | str, panel: PanelId | str) -> Scheme:
        """Return the variant's scheme of a panel; an empty one when nothing is drawn yet."""
        schemes = self.variant(variant).schemes
        return next((s for s in schemes if s.panel == panel), Scheme(panel=panel))

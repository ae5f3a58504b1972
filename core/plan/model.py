"""The words of a plan: regions, stretches of seam, pieces, tape runs, findings.

All are frozen values in the frame of their panel (mm, y up); polygons are shapely's, outer
rings counter-clockwise. A plan is derived and never saved.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon

from core.document.job import Job
from core.document.lines import SeamCut, Side
from core.document.variant import Variant
from core.ids import CopyId, FilmId, LineId, PanelId, PieceId, RegionId
from core.plan.cutting import (
    CutSpec,
    FilmRelief,
    ReliefCut,
    cut_shape,
    match_ticks,
    without_notches,
)
from core.plan.film_shape import FilmShape, Ground, on_film
from core.shape.model import Development, Network

Points = NDArray[np.float64]
G = TypeVar("G", bound=shapely.Geometry)


class SourceKind(StrEnum):
    """What a stretch of boundary comes from."""

    RIM = "rim"
    OPENING = "opening"
    SEAM = "seam"
    STRIPE = "stripe"
    INLAY = "inlay"


@dataclass(frozen=True, slots=True, order=True)
class Source:
    """Where a stretch of boundary comes from.

    Attributes:
        id: edge id (rim), ``opening/edge`` (opening), or line id.
        side: for lines, the side on which the bounded area lies.
    """

    kind: SourceKind
    id: str
    side: Side | None = None


@dataclass(frozen=True, slots=True)
class LabelledRing:
    """A closed ring, not repeating its first point, with the source of each segment.

    Attributes:
        points: shape (n, 2), mm.
        sources: n sources; the i-th is that of the segment from point i to the next.
    """

    points: Points
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True)
class Region:
    """One visible area of one film."""

    id: RegionId
    film: FilmId
    polygon: Polygon
    rings: tuple[LabelledRing, ...]


class Reason(StrEnum):
    """Why one film lies on top of the other."""

    USER = "as you set it"
    RANK = "higher rank"
    FLOW = "further upstream"
    SIZE = "smaller piece"


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a line along which two regions meet.

    Attributes:
        id: ``s3``, or ``s3.2`` when the line is a border between several pairs of regions.
        top, under: the region whose edge is seen; the one whose film runs on beneath it.
        top_side: the side of the line on which the top region lies.
        lap_mm: lap width; 0 for a butt seam. When ``is_full`` the film runs all the way
            beneath.
        path: the border itself, running in the line's direction (against it where the panel is
            mirrored, so that ``top_side`` holds there too).
    """

    id: str
    line: LineId
    top: RegionId
    under: RegionId
    top_side: Side
    reason: Reason
    lap_mm: float
    is_full: bool
    cut: SeamCut
    path: LineString | MultiLineString

    @property
    def length_mm(self) -> float:
        """Length of the border."""
        return float(self.path.length)


@dataclass(frozen=True, slots=True)
class TapeRun:
    """A run of cutting tape, laid on the part along a seam before the top film goes down."""

    stretch: str
    line: LineId
    piece: PieceId
    path: LineString | MultiLineString
    length_mm: float


@dataclass(frozen=True, slots=True)
class HardRule:
    """When a piece on a curved part counts as hard, and how often it may have to be cut then.

    Attributes:
        range_pct: a piece that needs more of a range of strain is hard.
    """

    range_pct: float
    tries: int


@dataclass(frozen=True)
class Piece:
    """One cut-out of film: region + laps + edge turns.

    Attributes:
        regions: the regions that it shows; more than one when the film runs through in one
            piece beneath a stripe.
        order: place in its panel's lay order, from 1.
        label: what is written on it: panel, side, order.
        final: the film that stays on the part.
        flow_deg: the panel's flow arrow, in the frame of ``final``; the grain is set by it.
        spec: what its cut shape and ticks are made by.
        seam_paths: the borders along which it meets other pieces.
        tries: how many are to be cut, if it is not hard.
        ground: what it is laid on; None where the panel is flat.
        hard: when it counts as hard; None where the user has said how many tries.
        relief_cuts: those that run through it.

    ``final``, ``seam_paths`` and ``map_ticks`` lie in the panel's map; ``flat``, ``cut`` and
    ``ticks`` in the film. On a flat panel these are one. The film is not turned against the
    map on the whole, so ``flow_deg`` holds in both.
    """

    id: PieceId
    panel: CopyId
    label: str
    regions: tuple[RegionId, ...]
    film: FilmId
    order: int
    final: Polygon
    tries: int
    flow_deg: float
    spec: CutSpec
    seam_paths: tuple[LineString | MultiLineString, ...]
    ground: Ground | None = None
    hard: HardRule | None = None
    relief_cuts: tuple[ReliefCut, ...] = ()

    @property
    def is_hard(self) -> bool:
        """Whether its shape makes it hard to lay; the film is developed for that."""
        if self.hard is None or self.development is None:
            return False
        return self.development.range_pct > self.hard.range_pct

    @property
    def planned_tries(self) -> int:
        """How many are to be cut."""
        return self.hard.tries if self.hard is not None and self.is_hard else self.tries

    @property
    def known_tries(self) -> int:
        """``planned_tries`` if that is known, else ``tries``: for whoever must not wait."""
        return self.planned_tries if self._is_film_known else self.tries

    @property
    def is_blank(self) -> bool:
        """Whether it is trimmed on the part, and so cut off the roll as a rectangle."""
        return self.spec.is_blank

    @cached_property
    def film_shape(self) -> FilmShape:
        """What becomes of the film; worked out when it is first asked for."""
        return (
            FilmShape()
            if self.ground is None
            else self.ground.film_of(self.final, self.relief_cuts)
        )

    @property
    def development(self) -> Development | None:
        """How the film is laid flat; None where it is the final shape itself."""
        return self.film_shape.development

    @property
    def flat(self) -> Polygon:
        """The film that stays on the part, laid flat."""
        return self.final if self.development is None else self.development.outline

    @property
    def known_flat(self) -> Polygon:
        """``flat`` if it was worked out before, else ``final``: for whoever must not wait."""
        return self.flat if self._is_film_known else self.final

    @property
    def _is_film_known(self) -> bool:
        return self.ground is None or "film_shape" in self.__dict__

    @cached_property
    def cut(self) -> Polygon:
        """What is cut off the roll: ``flat`` with inside corners rounded, or a blank.

        Relief cuts are notches in it where they open, with the hole at their end.
        """
        return cut_shape(self.flat, self.spec, self.reliefs)

    @cached_property
    def cut_but_reliefs(self) -> Polygon:
        """``cut`` as it would be without relief cuts."""
        return cut_shape(without_notches(self.flat, self.reliefs), self.spec)

    @cached_property
    def reliefs(self) -> tuple[FilmRelief, ...]:
        """Its relief cuts on the film."""
        return self.film_shape.reliefs(self.relief_cuts)

    @property
    def known_reliefs(self) -> tuple[FilmRelief, ...]:
        """``reliefs`` if the film was worked out before, else none: for who must not wait."""
        return self.reliefs if self._is_film_known else ()

    @cached_property
    def inner_cuts(self) -> tuple[LineString, ...]:
        """What is cut within ``cut``, as lines without width; a blank has none."""
        lines = () if self.is_blank else tuple(r.line for r in self.reliefs)
        return tuple(line for line in lines if line is not None)

    @cached_property
    def map_ticks(self) -> tuple[LineString, ...]:
        """Match ticks across the piece's seams, clipped to ``final``."""
        return match_ticks(self.seam_paths, self.final, self.spec)

    @cached_property
    def ticks(self) -> tuple[LineString, ...]:
        """The match ticks on the film."""
        return tuple(self.on_film(tick) for tick in self.map_ticks)

    def on_film(self, geometry: G) -> G:
        """Return where a geometry of the panel's map lies on the flat film."""
        return on_film(self.development, geometry)


class Severity(StrEnum):
    """How much a finding matters."""

    STOP = "stop"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """Something the user can mend.

    Attributes:
        check: code such as ``S204``; never reused.
        where: a place on the panel, or None.
        lines: ids of the lines concerned.
        text: what is wrong and what mends it, in the bench's words.
    """

    check: str
    severity: Severity
    text: str
    panel: CopyId | None = None
    where: tuple[float, float] | None = None
    lines: tuple[LineId, ...] = ()


@dataclass(frozen=True)
class PanelPlan:
    """Everything that follows for one physical panel.

    Attributes:
        id: the copy; ``of`` is the job's panel.
        side: "left" or "right" of a pair, else None. The right one's geometry is mirrored in x.
        is_mirrored: whether all geometry here is mirrored against the drawn panel.
        outline: the panel itself, with its openings.
        extended: with edge turns.
        pieces: in lay order; empty when a finding stops the panel.
    """

    id: CopyId
    of: PanelId
    name: str
    side: str | None
    is_mirrored: bool
    outline: Polygon
    extended: Polygon
    regions: tuple[Region, ...]
    stretches: tuple[Stretch, ...]
    pieces: tuple[Piece, ...]
    tape_runs: tuple[TapeRun, ...]
    findings: tuple[Finding, ...]

    def region(self, region: RegionId) -> Region:
        """Return a region; KeyError when there is none."""
        return {r.id: r for r in self.regions}[region]


@dataclass(frozen=True)
class JobPlan:
    """Everything that follows from one variant of a job.

    Attributes:
        scans: networks of the job's scans, by the name of their file.
    """

    job: Job
    variant: Variant
    panels: tuple[PanelPlan, ...]
    scans: Mapping[str, Network] = field(default_factory=dict, repr=False)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, those that stop the job first."""
        order = list(Severity)
        found = [f for p in self.panels for f in p.findings]
        return tuple(sorted(found, key=lambda f: order.index(f.severity)))

    @property
    def is_stopped(self) -> bool:
        """Whether a finding stops the job."""
        return any(f.severity is Severity.STOP for f in self.findings)

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """All pieces, panel by panel in lay order."""
        return tuple(piece for p in self.panels for piece in p.pieces)

    def film_area_mm2(self, film: FilmId | str) -> float:
        """Area of all pieces of a film as cut, each counted once."""
        return sum(p.cut.area for p in self.pieces if p.film == film)

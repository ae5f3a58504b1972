"""The words of a roll plan: items, sheets, placements.

A sheet lies with x along the roll from its free end and y across it. A placement turns an
item's polygon about the origin, then moves it.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely import LineString, MultiPolygon, Polygon, box
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from core.ids import CopyId, FilmId, PieceId, StockId
from core.plan.model import Severity

PROVED_MM = 1e-3
"""A layout this near to its bound is the shortest there is."""

ItemKey = tuple[PieceId, int]
"""Piece and try: which item it is."""


@dataclass(frozen=True, slots=True)
class Item:
    """One try of one piece, to be placed.

    Attributes:
        polygon: the piece's cut shape in its panel's frame (mirrored already where the panel
            is).
        angles_deg: the turns its grain allows, or None when it may lie any way.
        is_blank: a rectangle that is cut free by straight cuts alone.
        inner_cuts: lines without width that are cut within it.
    """

    piece: PieceId
    attempt: int
    panel: CopyId
    label: str
    polygon: Polygon
    angles_deg: tuple[float, ...] | None
    is_blank: bool = False
    inner_cuts: tuple[LineString, ...] = ()

    @property
    def key(self) -> ItemKey:
        """Piece and try."""
        return self.piece, self.attempt


@dataclass(frozen=True, slots=True)
class Sheet:
    """One piece of stock of a film.

    Attributes:
        id: stock id, or ``buy`` for film that is still to be bought.
        kind: "roll" or "offcut".
        length_mm: None for the film to buy, which is as long as it must be.
        margin_mm: kept clear along all edges.
        lead_mm, trail_mm: kept clear at the start, and beyond the last piece, by the machine;
            the margin counts in them.
        section_mm: the machine's longest feed, counted from the start: no piece lies across
            the end of one; None for any.
        outline: what film there is within the rectangle of length and width; None for all.
        blocked: damage, or film that is not to be used: no piece lies on it.
    """

    id: StockId
    kind: str
    width_mm: float
    length_mm: float | None
    margin_mm: float
    lead_mm: float = 0.0
    trail_mm: float = 0.0
    section_mm: float | None = None
    outline: Polygon | None = None
    blocked: tuple[Polygon, ...] = ()

    @property
    def start_mm(self) -> float:
        """Where the usable film begins."""
        return max(self.margin_mm, self.lead_mm)

    @property
    def end_mm(self) -> float:
        """What is kept clear beyond the last piece."""
        return max(self.margin_mm, self.trail_mm)

    @property
    def is_plain(self) -> bool:
        """Whether all within the margins may be used, in one stretch."""
        return self.outline is None and not self.blocked and self.section_mm is None

    def usable(self, length_mm: float | None = None) -> Polygon:
        """Return the rectangle that may be used; ``length_mm`` stands in for an open length."""
        length = self.length_mm if self.length_mm is not None else (length_mm or 0.0)
        m, start = self.margin_mm, self.start_mm
        return box(start, m, max(length - self.end_mm, start), max(self.width_mm - m, m))

    def free(self, length_mm: float | None = None) -> Polygon | MultiPolygon:
        """Return what may be used: the outline within its margin, without what is blocked."""
        area: BaseGeometry = self.usable(length_mm)
        if self.outline is not None:
            area = shapely.intersection(area, self.outline.buffer(-self.margin_mm))
        if self.blocked:
            area = shapely.difference(area, shapely.union_all(self.blocked))
        parts = [p for p in shapely.get_parts(area) if isinstance(p, Polygon) and p.area > 0]
        return parts[0] if len(parts) == 1 else MultiPolygon(parts)


@dataclass(frozen=True)
class Placement:
    """Where one item lies on its sheet."""

    item: Item
    angle_deg: float
    dx_mm: float
    dy_mm: float

    @cached_property
    def polygon(self) -> Polygon:
        """The item's polygon on the sheet."""
        return affine_transform(self.item.polygon, self.matrix)

    @property
    def inner_cuts(self) -> tuple[LineString, ...]:
        """The item's inner cuts on the sheet."""
        return tuple(affine_transform(line, self.matrix) for line in self.item.inner_cuts)

    @cached_property
    def matrix(self) -> tuple[float, float, float, float, float, float]:
        """The placement as shapely's (a, b, d, e, x, y)."""
        c, s = _cos_sin(self.angle_deg)
        return (c, -s, s, c, self.dx_mm, self.dy_mm)


@dataclass(frozen=True, slots=True)
class Pin:
    """A piece that the user pinned to its place: all else is laid around it."""

    sheet: StockId
    placement: Placement


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """What lies on one sheet.

    Attributes:
        used_length_mm: from the sheet's end to the farthest piece, margin included.
        engine: what laid it out: "quick", "strip", "kept" and so on.
        least_mm: a length of usable film that nothing beats, where the engine knows one.
        seconds: time it took to find.
    """

    sheet: Sheet
    gap_mm: float
    placements: tuple[Placement, ...]
    used_length_mm: float
    engine: str
    least_mm: float = 0.0
    seconds: float = 0.0

    @property
    def job_length_mm(self) -> float:
        """Used length without retakes; 0 when nothing but retakes lies on it."""
        ends = [p.polygon.bounds[2] for p in self.placements if p.item.attempt == 1]
        return float(max(ends)) + self.sheet.end_mm if ends else 0.0

    @property
    def job_end_mm(self) -> float | None:
        """Where a cut across parts the job from the retakes behind it, if one does."""
        job = [p.polygon.bounds[2] for p in self.placements if p.item.attempt == 1]
        retakes = [p.polygon.bounds[0] for p in self.placements if p.item.attempt > 1]
        if not job or not retakes or max(job) > min(retakes) + PROVED_MM:
            return None
        return float(max(job) + min(retakes)) / 2

    @property
    def pieces_area_mm2(self) -> float:
        """Area of all pieces on it."""
        return sum(p.item.polygon.area for p in self.placements)

    @property
    def utilisation(self) -> float:
        """Area of the pieces over the used length times the sheet's width; 0 when empty."""
        used = self.used_length_mm * self.sheet.width_mm
        return self.pieces_area_mm2 / used if used else 0.0

    @property
    def bound_mm(self) -> float:
        """A length that no layout of the pieces can beat: their area over the usable width."""
        if not self.placements:
            return 0.0
        width = self.sheet.width_mm - 2 * self.sheet.margin_mm
        length = max(self.pieces_area_mm2 / width if width > 0 else 0.0, self.least_mm)
        return self.sheet.start_mm + length + self.sheet.end_mm

    @property
    def gap_to_bound(self) -> float:
        """How much longer it is than the bound, as a share of the bound; 0 when empty."""
        bound = self.bound_mm
        return self.used_length_mm / bound - 1 if bound else 0.0

    @property
    def is_shortest(self) -> bool:
        """Whether it is proved that nothing shorter exists."""
        return bool(self.placements) and self.used_length_mm <= self.bound_mm + PROVED_MM


FAILED = "N508"
"""The finding of a film whose pieces could not be laid out at all."""


@dataclass(frozen=True, slots=True)
class Cause:
    """Why a piece lies nowhere, in parts, so that pieces with one cause are told together.

    Attributes:
        check: code of the finding that tells it.
        weight: of that finding.
        fate: what becomes of the piece, and of several; empty where the whole film is meant.
        why: what all pieces with this cause share.
        mend: what mends it for one piece, and for several.
        figure: the piece's own measure, or "".
    """

    check: str
    weight: Severity
    fate: tuple[str, str]
    why: str
    mend: tuple[str, str]
    figure: str = ""


@dataclass(frozen=True, slots=True)
class Missing:
    """Film that the stock does not give.

    Attributes:
        length_mm: how much more of the roll is needed for pieces that fit on no sheet in stock;
            None for a piece that fits on no roll of the film at all.
        cause: why such a piece lies nowhere.
    """

    text: str
    length_mm: float | None = None
    items: tuple[Item, ...] = ()
    cause: Cause | None = None


@dataclass(frozen=True, slots=True)
class FilmRolls:
    """One film's sheets with what lies on them, stock first, then what is to be bought."""

    film: FilmId
    sheets: tuple[SheetPlan, ...]
    missing: tuple[Missing, ...]

    @property
    def used_lengths_mm(self) -> tuple[float, ...]:
        """Length used of each roll, those to be bought and retakes included; no offcuts."""
        return tuple(s.used_length_mm for s in self.sheets if s.sheet.kind == "roll")

    @property
    def job_lengths_mm(self) -> tuple[float, ...]:
        """Length used of each roll for the job alone, should no retake be needed."""
        return tuple(s.job_length_mm for s in self.sheets if s.sheet.kind == "roll")

    @property
    def used_length_mm(self) -> float:
        """Length used of all rolls."""
        return sum(self.used_lengths_mm)

    @property
    def job_length_mm(self) -> float:
        """Length used of all rolls for the job alone."""
        return sum(self.job_lengths_mm)

    @property
    def to_buy_mm(self) -> float:
        """Length of film that the stock does not give."""
        return sum((s.used_length_mm for s in self.sheets if s.sheet.length_mm is None), 0.0)

    @property
    def has_failed(self) -> bool:
        """Whether its pieces could not be laid out at all."""
        return any(m.cause is not None and m.cause.check == FAILED for m in self.missing)

    @property
    def is_needed(self) -> bool:
        """Whether any piece lies on the film, or should."""
        return bool(self.missing) or any(s.placements for s in self.sheets)


@dataclass(frozen=True, slots=True)
class RollPlan:
    """All films of one job plan."""

    films: tuple[FilmRolls, ...]


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine, exact at quarter turns."""
    quarter, rest = divmod(angle_deg % 360.0, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    return math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))

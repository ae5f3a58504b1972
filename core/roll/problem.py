"""What is to be laid on a film's stock: one item per piece and try, and the sheets there are.

Grain is read against the piece's flow arrow, so that a directional film runs alike on every
panel, a mirrored one included (its arrow is mirrored with it).
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely import Polygon

from core.document.film import Film, Grain, Turning
from core.document.job import BlankCut, Settings
from core.ids import FilmId, StockId
from core.plan.model import Finding, JobPlan, Piece
from core.roll.model import Item, ItemKey, Pin, Sheet
from core.roll.stock import sheet_to_buy, stock_sheets
from core.roll.wishes import wishes_of
from core.units import Units

BUY = StockId("buy")
"""Id of the open roll that stands for film still to be bought."""

_PRINT_MM = 1e-3
"""Geometry is rounded to this for the fingerprint: noise in the last digit keeps a nest."""


@dataclass(frozen=True)
class FilmProblem:
    """All that decides how one film's pieces may lie.

    Attributes:
        stock: offcuts and rolls on the shelf, in the order in which the film lists them.
        gap_mm: kept between any two pieces that the plotter cuts; blanks lie edge to edge.
        units: what lengths are told in; no part of the fingerprint.
        pinned: what lies where the user put it.
        forbidden: items with the sheets that they may not lie on.
        stages: how many times the cuts that free blanks may change direction; None for any.
        settings: the job's, for what the machine wastes and takes in one go.
        told: wishes that cannot be had.
    """

    film: Film
    items: tuple[Item, ...]
    stock: tuple[Sheet, ...]
    gap_mm: float
    units: Units = Units.MM
    pinned: tuple[Pin, ...] = ()
    forbidden: tuple[tuple[ItemKey, frozenset[StockId]], ...] = ()
    stages: int | None = None
    settings: Settings = field(default_factory=Settings)
    told: tuple[Finding, ...] = ()

    @property
    def film_id(self) -> FilmId:
        """The film's typed id."""
        return FilmId(self.film.id)

    @cached_property
    def buy(self) -> Sheet:
        """The open roll that stands for film still to be bought."""
        return sheet_to_buy(BUY, self.film, self.settings)

    @cached_property
    def barred(self) -> dict[ItemKey, frozenset[StockId]]:
        """The sheets that an item may not lie on, by its key; a pin bars all but its own."""
        sheets = frozenset(s.id for s in (*self.stock, self.buy))
        barred = dict(self.forbidden)
        for pin in self.pinned:
            barred[pin.placement.item.key] = sheets - {pin.sheet}
        return barred

    @cached_property
    def fingerprint(self) -> str:
        """Hash over outlines, allowed turns, gap and sheets; equal while a kept nest holds."""
        content = {
            "gap": _rounded(self.gap_mm),
            "sheets": [_print_of_sheet(s) for s in (*self.stock, self.buy)],
            "items": sorted(_print_of(item) for item in self.items),
            **self._wishes,
        }
        return hashlib.sha256(json.dumps(content).encode()).hexdigest()

    @property
    def _wishes(self) -> dict[str, object]:
        """What the user asked of the layout, as far as anything is asked."""
        pins = [
            [
                p.sheet,
                *p.placement.item.key,
                _rounded(p.placement.angle_deg),
                _rounded(p.placement.dx_mm),
                _rounded(p.placement.dy_mm),
            ]
            for p in self.pinned
        ]
        barred = sorted([*key, sorted(sheets)] for key, sheets in self.forbidden)
        wishes = {"pinned": pins, "forbidden": barred, "stages": self.stages}
        return {name: wish for name, wish in wishes.items() if wish}


def film_problems(plan: JobPlan) -> tuple[FilmProblem, ...]:
    """Return one problem per film of the job, in the job's order; some have no items."""
    return tuple(film_problem(plan, film) for film in plan.job.films)


def film_problem(plan: JobPlan, film: Film) -> FilmProblem:
    """Return the problem of one film; a film unlike the job's own stands in for it."""
    job = plan.job
    items = items_of(film, [p for p in plan.pieces if p.film == film.id], job.settings)
    stock = stock_sheets(film, job.settings)
    sheets = (*stock, sheet_to_buy(BUY, film, job.settings))
    wishes = wishes_of(plan.variant.pieces, items, sheets, job.settings.gap_mm)
    return FilmProblem(
        film=film,
        items=items,
        stock=stock,
        gap_mm=job.settings.gap_mm,
        units=job.units,
        pinned=wishes.pinned,
        forbidden=wishes.forbidden,
        stages=3 if job.settings.blank_cut is BlankCut.THREE_STAGES else None,
        settings=job.settings,
        told=wishes.told,
    )


def items_of(film: Film, pieces: list[Piece], settings: Settings) -> tuple[Item, ...]:
    """Return one item per piece and try, piece by piece."""
    return tuple(
        Item(
            piece=piece.id,
            attempt=attempt,
            panel=piece.panel,
            label=piece.label,
            polygon=piece.cut,
            angles_deg=allowed_angles(film.grain, piece.flow_deg, film.turning),
            is_blank=_is_cut_straight(piece, settings.blank_cut),
            inner_cuts=piece.inner_cuts,
        )
        for piece in pieces
        for attempt in range(1, piece.planned_tries + 1)
    )


def _is_cut_straight(piece: Piece, cut: BlankCut) -> bool:
    return cut is BlankCut.ALL_STRAIGHT or (piece.is_blank and cut is not BlankCut.PLOTTER)


def allowed_angles(
    grain: Grain, flow_deg: float, turning: Turning = Turning.ANY
) -> tuple[float, ...] | None:
    """Return the turns that bring a flow arrow where the grain wants it; None when any will do.

    >>> allowed_angles(Grain.TWO_WAY, 90.0)
    (270.0, 90.0)
    """
    turns = {
        Grain.ONE_WAY: (0.0,),
        Grain.TWO_WAY: (0.0, 180.0),
        Grain.QUARTER_TURN: (0.0, 90.0, 180.0, 270.0),
        Grain.NONE: (0.0, 90.0, 180.0, 270.0),
    }
    if grain is Grain.NONE and turning is Turning.ANY:
        return None
    return tuple((turn - flow_deg) % 360.0 for turn in turns[grain])


def outline_fault(item: Item) -> str | None:
    """Say why an item's outline cannot be cut at all, or None when it is sound."""
    shape = item.polygon
    checks: tuple[tuple[Callable[[], bool], str], ...] = (
        (lambda: shape.is_empty, "it has no outline"),
        (
            lambda: not np.isfinite(shapely.get_coordinates(shape)).all(),
            "a corner is no number",
        ),
        (lambda: not shape.is_valid, "its outline crosses or touches itself"),
        (lambda: shape.area <= 0.0, "it has no area"),
    )
    return next((text for is_so, text in checks if is_so()), None)


def _print_of_sheet(sheet: Sheet) -> list[object]:
    """Return what of a sheet counts for the fingerprint; what is not asked for adds nothing."""
    lengths = (sheet.width_mm, sheet.length_mm, sheet.margin_mm)
    found: list[object] = [sheet.id, sheet.kind, *map(_rounded, lengths)]
    if sheet.lead_mm or sheet.trail_mm or not sheet.is_plain:
        rings = [r for part in (sheet.outline, *sheet.blocked) if part for r in _rings_of(part)]
        found += [
            *map(_rounded, (sheet.lead_mm, sheet.trail_mm, sheet.section_mm)),
            str([sheet.outline is None, *rings]),
        ]
    return found


def _rings_of(polygon: Polygon) -> list[list[list[int]]]:
    return [_ring_print(r.coords) for r in (polygon.exterior, *polygon.interiors)]


def _print_of(item: Item) -> list[object]:
    """Return what of an item counts for the fingerprint, fit for sorting."""
    rings = _rings_of(item.polygon)
    angles = None if item.angles_deg is None else [_rounded(a) for a in item.angles_deg]
    blank = ["blank"] if item.is_blank else []
    return [item.piece, item.attempt, rings[0], sorted(rings[1:]), str(angles), *blank]


def _ring_print(coords: object) -> list[list[int]]:
    """Return a ring in whole thousandths, started at its least point whatever it started at."""
    # Inputs lie on a grid of 1e-4 mm, where rounding has its ties; 0.53 moves them off it.
    cells = np.floor(np.asarray(coords, dtype=float)[:-1, :2] / _PRINT_MM + 0.53).astype(
        np.int64
    )
    start = int(np.lexsort((cells[:, 1], cells[:, 0]))[0]) if len(cells) else 0
    listed: list[list[int]] = np.roll(cells, -start, axis=0).tolist()
    return listed


def _rounded(value: float | None) -> int | None:
    return None if value is None else int(np.floor(value / _PRINT_MM + 0.53))

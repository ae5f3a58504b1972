"""What a plotter needs: the pieces as they lie on a sheet, or one by one.

A sheet's drawing has x along the roll from its free end and y across it, the origin in the
sheet's corner, and four layers: ``CUT-LINES``, ``MATCH-TICKS``, ``PIECE-LABELS`` and
``ROLL-FRAME``. A label stands inside its piece: panel, side, place in the lay order; film; an
arrow along the panel's flow.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from shapely import LineString, MultiLineString, Polygon, box
from shapely.affinity import affine_transform

from core.document.job import Job
from core.plan.model import JobPlan, Piece
from core.roll.model import FilmRolls, Item, Placement, SheetPlan
from core.write.drawing import (
    Drawing,
    Layer,
    Purpose,
    Shape,
    Text,
    area_runs,
    line_runs,
    open_run,
)
from core.write.labels import BlockSize, LabelSpot, fit_block, inner_point

CUT = Layer("CUT-LINES", Purpose.CUT)
TICKS = Layer("MATCH-TICKS", Purpose.TICK)
LABELS = Layer("PIECE-LABELS", Purpose.LABEL)
FRAME = Layer("ROLL-FRAME", Purpose.FRAME)

_CHARACTER = 1.0
"""Width of a character at capital height 1 in the plain fonts of plotters: a safe guess."""
_LINE = 1.6
_LEAST_MM, _MOST_MM = 3.0, 10.0
_ARROW = 2.2


@dataclass(frozen=True, slots=True)
class _Laid:
    """One piece as it lies: its cut shape, ticks and flow on the sheet."""

    piece: Piece
    attempt: int
    cut: Polygon
    ticks: tuple[LineString, ...]
    flow_deg: float


def sheet_drawing(rolls: FilmRolls, sheet: SheetPlan, plan: JobPlan) -> Drawing:
    """Return the drawing of one sheet of a film on which something lies."""
    pieces = {piece.id: piece for piece in plan.pieces}
    film = plan.job.film(rolls.film)
    laid = [_laid(p, pieces[p.item.piece]) for p in sheet.placements]
    return _drawing(f"{film.name} {sheet.sheet.id}", sheet_frame(sheet), laid, plan.job)


def sheet_frame(sheet: SheetPlan) -> Polygon:
    """Return what of a sheet is taken: an offcut whole, a roll as far as it is used."""
    whole = sheet.sheet.kind == "offcut" and sheet.sheet.length_mm is not None
    length = sheet.sheet.length_mm if whole else sheet.used_length_mm
    return box(0.0, 0.0, float(length or 0.0), sheet.sheet.width_mm)


def piece_drawing(piece: Piece, job: Job) -> Drawing:
    """Return a drawing of one piece, its flow along x, its lower left corner in the origin."""
    c, s = math.cos(math.radians(-piece.flow_deg)), math.sin(math.radians(-piece.flow_deg))
    turned = affine_transform(piece.cut, (c, -s, s, c, 0.0, 0.0))
    x0, y0, _, _ = turned.bounds
    item = Item(piece.id, 1, piece.panel, piece.label, piece.cut, None)
    laid = _laid(Placement(item, -piece.flow_deg, -x0, -y0), piece)
    return _drawing(piece.label, box(*laid.cut.bounds), [laid], job, has_frame=False)


def _laid(placement: Placement, piece: Piece) -> _Laid:
    matrix = placement.matrix
    ticks = tuple(affine_transform(tick, matrix) for tick in piece.ticks)
    flow = piece.flow_deg + placement.angle_deg
    return _Laid(piece, placement.item.attempt, placement.polygon, ticks, flow)


def _drawing(
    name: str, frame: Polygon, laid: Iterable[_Laid], job: Job, *, has_frame: bool = True
) -> Drawing:
    shapes: list[Shape] = []
    texts: list[Text] = []
    if has_frame:
        shapes.append(Shape(FRAME.name, area_runs(frame)))
    for one in laid:
        shapes.append(Shape(CUT.name, area_runs(one.cut), str(one.piece.id)))
        ticks = line_runs(MultiLineString(list(one.ticks)))
        if ticks:
            shapes.append(Shape(TICKS.name, ticks, str(one.piece.id)))
        label, arrow = _label(one, job.film(one.piece.film).name)
        texts += label
        shapes += arrow
    return Drawing(name, frame.bounds, (CUT, TICKS, LABELS, FRAME), tuple(shapes), tuple(texts))


def _label(one: _Laid, film: str) -> tuple[list[Text], list[Shape]]:
    """Return the largest label that fits: in full with arrow, then ever shorter ones."""
    name = one.piece.label + (f" retake {one.attempt - 1}" if one.attempt > 1 else "")
    for lines, has_arrow in (([name, film], True), ([name], True), ([name], False)):
        width = max(map(len, lines)) * _CHARACTER + (_ARROW + 0.8 if has_arrow else 0.0)
        size = BlockSize(width + 1.0, max(len(lines) * _LINE, _ARROW if has_arrow else 0) + 0.6)
        spot = fit_block(one.cut, size, _LEAST_MM, _MOST_MM)
        if spot is not None:
            return _set_block(lines, width, spot, one.flow_deg if has_arrow else None)
    number = str(one.piece.order)
    spot = fit_block(one.cut, BlockSize(len(number) + 0.4, 1.4), _LEAST_MM, _MOST_MM)
    return _set_block(
        [number], len(number), spot or LabelSpot(inner_point(one.cut)[0], 0.0, _LEAST_MM), None
    )


def _set_block(
    lines: list[str], width: float, spot: LabelSpot, flow_deg: float | None
) -> tuple[list[Text], list[Shape]]:
    """Set lines, with a flow arrow before them unless ``flow_deg`` is None, in a spot."""
    h, angle = spot.height_mm, math.radians(spot.angle_deg)
    c, s = math.cos(angle), math.sin(angle)

    def place(x: float, y: float) -> tuple[float, float]:
        return (spot.centre[0] + c * x - s * y, spot.centre[1] + s * x + c * y)

    left = -width * h / 2
    shapes = []
    if flow_deg is not None:
        middle = place(left + _ARROW * h / 2, 0.0)
        shapes.append(arrow_shape(LABELS.name, middle, _ARROW * h, flow_deg))
        left += (_ARROW + 0.8) * h
    top = (len(lines) - 1) * _LINE * h / 2
    texts = [
        Text(LABELS.name, line, place(left, top - i * _LINE * h - h / 2), h, spot.angle_deg)
        for i, line in enumerate(lines)
    ]
    return texts, shapes


def arrow_shape(
    layer: str, middle: tuple[float, float], length: float, angle_deg: float
) -> Shape:
    """Return an arrow as lines: a shaft and a head of two strokes."""
    a = math.radians(angle_deg)
    c, s = math.cos(a), math.sin(a)

    def at(x: float, y: float) -> tuple[float, float]:
        x, y = x * length, y * length
        return (middle[0] + c * x - s * y, middle[1] + s * x + c * y)

    shaft = open_run([at(-0.5, 0.0), at(0.5, 0.0)])
    head = open_run([at(0.2, 0.18), at(0.5, 0.0), at(0.2, -0.18)])
    return Shape(layer, (shaft, head))

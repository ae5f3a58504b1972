"""What a plotter needs: the pieces as they lie on a sheet, or one by one.

A sheet's drawing has x along the roll from its free end and y across it, the origin in the
sheet's corner. Only ``CUT-LINES`` is cut; ``MATCH-TICKS``, ``CENTRE-MARKS`` and
``PIECE-LABELS`` are for a pen, and ``ROLL-FRAME`` is for the eye. What is drawn on a piece:
core/write/piece_marks.py.
"""

import math
from collections.abc import Iterable, Iterator

import shapely
from shapely import MultiLineString, Polygon, box
from shapely.affinity import affine_transform

from core.plan.model import JobPlan, PanelPlan, Piece
from core.progress import Progress, watched
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
from core.write.piece_marks import CENTRES, LABELS, TICKS, LaidPiece, centre_marks, piece_label
from core.write.sections import Span

CUT = Layer("CUT-LINES", Purpose.CUT)
FRAME = Layer("ROLL-FRAME", Purpose.FRAME)
LAYERS = (CUT, TICKS, CENTRES, LABELS, FRAME)


def sheet_drawing(
    rolls: FilmRolls,
    sheet: SheetPlan,
    plan: JobPlan,
    progress: Progress | None = None,
    *,
    is_mirrored: bool = False,
) -> Drawing:
    """Return the drawing of one sheet of a film on which something lies.

    Args:
        rolls: the film's.
        sheet: one of its sheets.
        plan: what the pieces are of.
        progress: is told of each piece, and may cancel.
        is_mirrored: whether it will be cut from the liner side; the labels say so.

    Raises:
        Cancelled: when it was stopped.
    """
    panels = {piece.id: (panel, piece) for panel in plan.panels for piece in panel.pieces}
    film = plan.job.film(rolls.film)
    laid = (
        _laid(placement, *panels[placement.item.piece], plan, is_mirrored=is_mirrored)
        for placement in watched(sheet.placements, "piece", progress)
    )
    return _drawing(f"{film.name} {sheet.sheet.id}", sheet_frame(sheet), laid)


def sheet_spans(sheet: SheetPlan) -> Iterator[Span]:
    """Yield how far each piece on a sheet reaches along the feed."""
    for placement in sheet.placements:
        x0, _, x1, _ = placement.polygon.bounds
        item = placement.item
        yield Span(source_of(item), label_of(item), float(x0), float(x1))


def source_of(item: Item) -> str:
    """Return what a drawing calls one try of a piece: the piece's id, retakes numbered."""
    return f"{item.piece}/{item.attempt}" if item.attempt > 1 else str(item.piece)


def label_of(item: Item) -> str:
    """Return what is written on one try of a piece."""
    return item.label + (f" retake {item.attempt - 1}" if item.attempt > 1 else "")


def sheet_frame(sheet: SheetPlan) -> Polygon:
    """Return what of a sheet is taken: an offcut whole, a roll as far as it is used."""
    whole = sheet.sheet.kind == "offcut" and sheet.sheet.length_mm is not None
    length = sheet.sheet.length_mm if whole else sheet.used_length_mm
    return box(0.0, 0.0, float(length or 0.0), sheet.sheet.width_mm)


def piece_drawing(piece: Piece, plan: JobPlan, *, is_mirrored: bool = False) -> Drawing:
    """Return a drawing of one piece, its flow along x, its lower left corner in the origin."""
    c, s = math.cos(math.radians(-piece.flow_deg)), math.sin(math.radians(-piece.flow_deg))
    turned = affine_transform(piece.cut, (c, -s, s, c, 0.0, 0.0))
    x0, y0, _, _ = turned.bounds
    panel = next(panel for panel in plan.panels if panel.id == piece.panel)
    item = Item(piece.id, 1, piece.panel, piece.label, piece.cut, None)
    placement = Placement(item, -piece.flow_deg, -x0, -y0)
    laid = _laid(placement, panel, piece, plan, is_mirrored=is_mirrored)
    return _drawing(piece.label, box(*laid.cut.bounds), [laid], has_frame=False)


def _laid(
    placement: Placement, panel: PanelPlan, piece: Piece, plan: JobPlan, *, is_mirrored: bool
) -> LaidPiece:
    matrix = placement.matrix
    has_flow = plan.job.panel(panel.of).flow_deg is not None
    return LaidPiece(
        source=source_of(placement.item),
        label=label_of(placement.item),
        film=plan.job.film(piece.film).name,
        order=piece.order,
        count=len(panel.pieces),
        is_mirrored=panel.is_mirrored,
        is_from_liner=is_mirrored,
        cut=placement.polygon,
        ticks=tuple(affine_transform(tick, matrix) for tick in piece.ticks),
        centres=tuple(affine_transform(m, matrix) for m in centre_marks(panel, piece)),
        up_deg=90.0 + placement.angle_deg,
        flow_deg=piece.flow_deg + placement.angle_deg if has_flow else None,
        inner_cuts=tuple(affine_transform(line, matrix) for line in piece.inner_cuts),
    )


def _drawing(
    name: str, frame: Polygon, laid: Iterable[LaidPiece], *, has_frame: bool = True
) -> Drawing:
    shapes: list[Shape] = []
    texts: list[Text] = []
    if has_frame:
        shapes.append(Shape(FRAME.name, area_runs(frame)))
    for one in laid:
        inner = [
            open_run(shapely.get_coordinates(line), is_opening=True) for line in one.inner_cuts
        ]
        cuts = (*area_runs(one.cut), *inner)
        shapes.append(Shape(CUT.name, cuts, one.source, label=one.label))
        for layer, lines in ((TICKS, one.ticks), (CENTRES, one.centres)):
            if lines:
                runs = line_runs(MultiLineString(list(lines)))
                shapes.append(Shape(layer.name, runs, one.source, label=one.label))
        words, arrows = piece_label(one)
        texts += words
        shapes += arrows
    return Drawing(name, frame.bounds, LAYERS, tuple(shapes), tuple(texts))

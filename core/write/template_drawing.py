"""One piece at true size, as it is drawn on paper: what to cut, fold, lap and line up.

The drawing is in the frame of the piece's film, laid flat. What stands in the panel's map
(seams, laps, rim, marks) is brought there by ``Piece.on_film``.
"""

from collections.abc import Iterator

import shapely
from shapely import LineString, MultiLineString, Point, Polygon
from shapely.affinity import affine_transform, rotate
from shapely.geometry.base import BaseGeometry

from core.plan.model import JobPlan, PanelPlan, Piece
from core.write.drawing import (
    Drawing,
    Layer,
    Look,
    Purpose,
    Shape,
    Text,
    area_runs,
    line_runs,
)
from core.write.hatching import hatch_lines
from core.write.labels import BlockSize, LabelSpot, fit_block
from core.write.page import SOFT
from core.write.piece_marks import arrow_shape
from core.write.scheme_panel import hidden_bands
from core.write.template_lines import TemplateLine
from core.write.typeface import text_width_mm
from core.write.wording import piece_seams, seam_name

_LAYERS = {
    TemplateLine.CUT: Layer("CUT-LINES", Purpose.CUT),
    TemplateLine.TICK: Layer("MATCH-TICKS", Purpose.TICK),
}
GUIDES = Layer("GUIDE-LINES", Purpose.PICTURE)
LABELS = Layer("PIECE-LABELS", Purpose.LABEL)

ROOM_MM = 2.0
"""Around the cut shape, so that its line is whole at the window's edge."""
_HATCH_MM = 4.0
_LINE = 1.7
_SEAM_NAME_MM = 2.2
_LEAST_MM, _MOST_MM = 2.2, 7.0


def template_drawing(plan: JobPlan, panel: PanelPlan, piece: Piece) -> Drawing:
    """Return a piece at true size."""
    shapes = [_shape(kind, lines, piece) for kind, lines in _lines(plan, panel, piece)]
    texts = list(_seam_names(plan, panel, piece))
    label, arrows = _label(plan, piece)
    x0, y0, x1, y1 = piece.cut.bounds
    return Drawing(
        piece.label,
        (x0 - ROOM_MM, y0 - ROOM_MM, x1 + ROOM_MM, y1 + ROOM_MM),
        (*_LAYERS.values(), GUIDES, LABELS),
        (*(s for s in shapes if s.runs), *arrows),
        (*texts, *label),
    )


def kinds_of_line(plan: JobPlan, panel: PanelPlan, piece: Piece) -> list[TemplateLine]:
    """Return the kinds of line that a piece's template has, in the order of the legend."""
    drawn = {kind for kind, lines in _lines(plan, panel, piece) if not lines.is_empty}
    return [kind for kind in TemplateLine if kind in drawn]


def _lines(
    plan: JobPlan, panel: PanelPlan, piece: Piece
) -> Iterator[tuple[TemplateLine, BaseGeometry]]:
    """Yield the lines of each kind, those that cover others last."""
    final = piece.flat
    regions = {region.id: region for region in panel.regions}
    laps = [piece.on_film(band) for _, band in hidden_bands(piece, regions)]
    if laps:
        yield TemplateLine.LAP, hatch_lines(shapely.union_all(laps), _HATCH_MM, 45.0)
    yield TemplateLine.CENTRE, _centre_lines(piece, final)
    rim = shapely.intersection(panel.outline.boundary, piece.final.buffer(-0.05))
    yield TemplateLine.RIM, piece.on_film(_only_lines(rim))
    yield TemplateLine.MARK, _marks(plan, panel, piece)
    if piece.is_blank:
        yield TemplateLine.TRIM, final.boundary
    yield TemplateLine.CUT, piece.cut
    seams = [shapely.line_merge(s.path) for s in piece_seams(panel, piece)]
    near = shapely.intersection(shapely.union_all(seams), piece.final.buffer(0.05))
    yield TemplateLine.SEAM, piece.on_film(shapely.line_merge(_only_lines(near)))
    yield TemplateLine.TICK, MultiLineString(list(piece.ticks))


def _only_lines(geometry: BaseGeometry) -> MultiLineString:
    parts = shapely.get_parts(shapely.get_parts(geometry))
    lines = ("LineString", "LinearRing")
    return MultiLineString([p for p in parts if p.geom_type in lines and not p.is_empty])


def _centre_lines(piece: Piece, final: BaseGeometry) -> BaseGeometry:
    """Return the lines through the middle of the piece, along its flow and across it."""
    level = rotate(final, -piece.flow_deg, origin=(0, 0))
    x0, y0, x1, y1 = level.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    both = MultiLineString([[(x0, y), (x1, y)], [(x, y0), (x, y1)]])
    turned = rotate(both, piece.flow_deg, origin=(0, 0))
    return _only_lines(shapely.intersection(turned, piece.cut))


def _marks(plan: JobPlan, panel: PanelPlan, piece: Piece) -> BaseGeometry:
    """Return the rims of the marks that the piece covers."""
    side = -1.0 if panel.is_mirrored else 1.0
    rims = []
    for mark in plan.job.panel(panel.of).marks:
        path = LineString(mark.path) if len(mark.path) > 1 else Point(mark.path[0])
        area = affine_transform(
            path.buffer(max(mark.radius_mm, 1.0), quad_segs=12), (side, 0, 0, 1, 0, 0)
        )
        if piece.final.intersects(area):
            rims.append(piece.on_film(area.boundary))
    return shapely.union_all(rims)


def _shape(kind: TemplateLine, lines: BaseGeometry, piece: Piece) -> Shape:
    layer = _LAYERS.get(kind, GUIDES)
    runs = area_runs(lines) if isinstance(lines, Polygon) else line_runs(lines)
    return Shape(layer.name, runs, str(piece.id), kind.look)


def _seam_names(plan: JobPlan, panel: PanelPlan, piece: Piece) -> Iterator[Text]:
    """Yield each seam's name, level beside the middle of it, inside the piece."""
    for stretch in piece_seams(panel, piece):
        part = max(shapely.get_parts(shapely.line_merge(stretch.path)), key=lambda p: p.length)
        name = seam_name(plan, panel, stretch)
        width = text_width_mm(name, _SEAM_NAME_MM)
        middle = piece.on_film(part.interpolate(0.38, normalized=True))
        x, y = shapely.get_coordinates(middle)[0].tolist()
        anchor = "end" if piece.cut.representative_point().x < x else "start"
        side = -1.0 if anchor == "end" else 1.0
        x, y = x + 2.0 * side, y + 2.0
        if piece.cut.contains(LineString([(x, y), (x + width * side, y)])):
            yield Text(
                LABELS.name,
                name,
                (x, y),
                _SEAM_NAME_MM,
                anchor=anchor,
                colour=TemplateLine.SEAM.value.colour,
            )


def _label(plan: JobPlan, piece: Piece) -> tuple[list[Text], list[Shape]]:
    """Return what is written on a piece, as large as fits, with a flow arrow beneath."""
    lines = [piece.label, plan.job.film(piece.film).name]
    width = max(text_width_mm(line, 1.0, is_bold=True) for line in lines)
    body = piece.cut.buffer(-ROOM_MM)
    block = BlockSize(width + 1, _LINE * 3.4)
    spot = fit_block(body, block, _LEAST_MM, _MOST_MM) if isinstance(body, Polygon) else None
    if spot is None:
        return [], []
    texts = [
        Text(
            LABELS.name,
            line,
            _beside(spot, 0.0, (0.75 - i) * _LINE * spot.height_mm),
            spot.height_mm,
            angle_deg=spot.angle_deg,
            anchor="middle",
            is_bold=i == 0,
        )
        for i, line in enumerate(lines)
    ]
    middle = _beside(spot, 0.0, -1.1 * _LINE * spot.height_mm)
    arrow = arrow_shape(LABELS.name, middle, 3 * spot.height_mm, piece.flow_deg)
    look = Look(stroke=SOFT, width_mm=0.4, is_round=True)
    return texts, [Shape(LABELS.name, arrow.runs, str(piece.id), look)]


def _beside(spot: LabelSpot, x: float, y: float) -> tuple[float, float]:
    """Return a place by its distances along and up from the middle of a spot."""
    turned = rotate(Point(x, y), spot.angle_deg, origin=(0, 0))
    return (spot.centre[0] + turned.x, spot.centre[1] + turned.y)

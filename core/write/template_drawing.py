"""A template as a drawing: lines in their styles, names of seams, a label with its arrow."""

from collections.abc import Iterator

import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate

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
from core.write.labels import BlockSize, LabelSpot, fit_block
from core.write.page import SOFT
from core.write.piece_marks import arrow_shape
from core.write.template_art import Lines, TemplateArt
from core.write.template_lines import TemplateLine
from core.write.typeface import text_width_mm

_LAYERS = {
    TemplateLine.CUT: Layer("CUT-LINES", Purpose.CUT),
    TemplateLine.TICK: Layer("MATCH-TICKS", Purpose.TICK),
}
GUIDES = Layer("GUIDE-LINES", Purpose.PICTURE)
LABELS = Layer("PIECE-LABELS", Purpose.LABEL)

ROOM_MM = 2.0
"""Around the cut shape, so that its line is whole at the window's edge."""
_LINE = 1.7
_SEAM_NAME_MM = 2.2
_LEAST_MM, _MOST_MM = 2.2, 7.0


def template_drawing(art: TemplateArt) -> Drawing:
    """Return a template at true size."""
    shapes = [_shape(lines, art.source) for lines in art.lines]
    label, arrows = _label(art)
    x0, y0, x1, y1 = art.cut.bounds
    return Drawing(
        art.name,
        (x0 - ROOM_MM, y0 - ROOM_MM, x1 + ROOM_MM, y1 + ROOM_MM),
        (*_LAYERS.values(), GUIDES, LABELS),
        (*(s for s in shapes if s.runs), *arrows),
        (*_seam_names(art), *label),
    )


def _shape(lines: Lines, source: str) -> Shape:
    kind, geometry = lines
    layer = _LAYERS.get(kind, GUIDES)
    runs = area_runs(geometry) if isinstance(geometry, Polygon) else line_runs(geometry)
    return Shape(layer.name, runs, source, kind.look)


def _seam_names(art: TemplateArt) -> Iterator[Text]:
    """Yield each seam's name, level beside its place, where it fits inside."""
    inside = art.cut.representative_point()
    for name, spot in art.seams:
        width = text_width_mm(name, _SEAM_NAME_MM)
        x, y = shapely.get_coordinates(spot)[0].tolist()
        anchor = "end" if inside.x < x else "start"
        side = -1.0 if anchor == "end" else 1.0
        x, y = x + 2.0 * side, y + 2.0
        if art.cut.contains(LineString([(x, y), (x + width * side, y)])):
            colour = TemplateLine.SEAM.value.colour
            yield Text(LABELS.name, name, (x, y), _SEAM_NAME_MM, anchor=anchor, colour=colour)


def _label(art: TemplateArt) -> tuple[list[Text], list[Shape]]:
    """Return what is written on it, as large as fits, with a flow arrow beneath."""
    lines = art.label
    width = max(text_width_mm(line, 1.0, is_bold=True) for line in lines)
    body = art.cut.buffer(-ROOM_MM)
    block = BlockSize(width + 1, _LINE * (len(lines) + 1.4))
    spot = fit_block(body, block, _LEAST_MM, _MOST_MM) if isinstance(body, Polygon) else None
    if spot is None:
        return [], []
    top = (len(lines) - 0.5) / 2
    texts = [
        Text(
            LABELS.name,
            line,
            _beside(spot, 0.0, (top - i) * _LINE * spot.height_mm),
            spot.height_mm,
            angle_deg=spot.angle_deg,
            anchor="middle",
            is_bold=i == 0,
        )
        for i, line in enumerate(lines)
    ]
    if art.flow_deg is None:
        return texts, []
    middle = _beside(spot, 0.0, (top - len(lines) + 0.15) * _LINE * spot.height_mm)
    arrow = arrow_shape(LABELS.name, middle, 3 * spot.height_mm, art.flow_deg)
    look = Look(stroke=SOFT, width_mm=0.4, is_round=True)
    return texts, [Shape(LABELS.name, arrow.runs, art.source, look)]


def _beside(spot: LabelSpot, x: float, y: float) -> tuple[float, float]:
    """Return a place by its distances along and up from the middle of a spot."""
    turned = rotate(Point(x, y), spot.angle_deg, origin=(0, 0))
    return (spot.centre[0] + turned.x, spot.centre[1] + turned.y)

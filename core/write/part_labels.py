"""Labels of the parts of a piece that is too long for one section."""

import shapely
from shapely import Polygon, box

from core.write.drawing import Drawing, Purpose, Shape, Text
from core.write.label_room import roomy_point
from core.write.labels import BlockSize, LabelSpot, fit_block

_LEAST_MM, _MOST_MM = 3.0, 10.0


def part_label(
    drawing: Drawing, shape: Shape, ends_mm: tuple[float, float], words: str
) -> tuple[Text, ...]:
    """Return what is written on a part of a piece, inside it.

    Args:
        drawing: of the sheet; without a layer for labels nothing is written.
        shape: the piece's cut lines, whole.
        ends_mm: where along the feed the part starts and ends.
        words: behind the piece's own label.

    Degenerate input: a part too small for its label gets it all the same, in small letters.
    """
    layer = next((x.name for x in drawing.layers if x.purpose is Purpose.LABEL), None)
    outer = [Polygon(r.points) for r in shape.runs if not r.is_opening]
    if layer is None or not outer:
        return ()
    inner = [Polygon(r.points) for r in shape.runs if r.is_opening]
    area = shapely.difference(shapely.union_all(outer), shapely.union_all(inner))
    _, y0, _, y1 = area.bounds
    parts = shapely.get_parts(area.intersection(box(ends_mm[0], y0, ends_mm[1], y1)))
    room = max((p for p in parts if isinstance(p, Polygon)), key=lambda p: p.area, default=None)
    if room is None:
        return ()
    line = f"{shape.label or shape.source}, {words}"
    block = BlockSize(float(len(line)), 1.6)
    least = LabelSpot(roomy_point(room), 0.0, _LEAST_MM)
    spot = fit_block(room, block, _LEAST_MM, _MOST_MM) or least
    return (
        Text(
            layer,
            line,
            spot.centre,
            spot.height_mm,
            spot.angle_deg,
            anchor="middle",
            source=shape.source,
        ),
    )

"""The first cut on a plotter: a square of 100 mm with a round opening, to be measured.

It goes through all that a job's pieces go through, so that it proves scale, blade, overcut,
order and pens before good film is cut.
"""

import shapely
from shapely import Point, box

from core.write.cut_sheets import CUT, LAYERS
from core.write.drawing import Drawing, Shape, Text, area_runs, open_run
from core.write.piece_marks import CENTRES, LABELS, flow_arrow

SQUARE_MM = 100.0
OPENING_MM = 40.0
"""Across the round opening."""
_EDGE_MM = 10.0


def check_square() -> Drawing:
    """Return the drawing of the check square; its arrow points along the feed."""
    middle = _EDGE_MM + SQUARE_MM / 2
    hole = Point(middle, middle).buffer(OPENING_MM / 2, quad_segs=32)
    far = _EDGE_MM + SQUARE_MM
    square = shapely.difference(box(_EDGE_MM, _EDGE_MM, far, far), hole)
    name = "check square"
    length = (open_run([(_EDGE_MM, middle), (_EDGE_MM + 6, middle)]),)
    texts = [("along the feed", 98.0), (f"{SQUARE_MM:.0f} mm", 90.0)]
    return Drawing(
        name,
        (0.0, 0.0, far + _EDGE_MM, far + _EDGE_MM),
        LAYERS,
        (
            Shape(CUT.name, area_runs(square), name, label=name),
            Shape(CENTRES.name, length, name, label=name),
            flow_arrow((23.0, 92.0), 14.0, 0.0),
        ),
        tuple(Text(LABELS.name, words, (34.0, y), 4.0, source=name) for words, y in texts),
    )

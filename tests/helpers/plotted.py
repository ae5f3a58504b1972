"""Small drawings for a plotter, and the judges of what is cut in them."""

import numpy as np
from shapely import LineString, Polygon

from core.write.drawing import Drawing, Layer, Purpose, Shape, area_runs

CUT = Layer("CUT", Purpose.CUT)
TICK = Layer("TICK", Purpose.TICK)
LABEL = Layer("LABEL", Purpose.LABEL)
FRAME = Layer("FRAME", Purpose.FRAME)


def drawing_of(areas, extent=(0, 0, 2000, 1000)):
    """A drawing whose cuts are areas by the name of their piece."""
    shapes = tuple(Shape("CUT", area_runs(a), s, label=s) for s, a in areas.items())
    return Drawing("test", extent, (CUT, TICK, LABEL, FRAME), shapes)


def cuts_of(drawing):
    """(source, run) of each cut, in order."""
    return [(s.source, r) for s in drawing.shapes_for(Purpose.CUT) for r in s.runs]


def line_of(run):
    """A run as a line; a ring is closed."""
    points = np.vstack([run.points, run.points[:1]]) if run.is_closed else run.points
    return LineString(points)


def ring_and_overcut(
    line: LineString, overcut_mm: float, within: float = 1e-6
) -> tuple[Polygon, LineString]:
    """Part a closed cut with overcut into its ring and what runs on.

    The ring closes where the line comes by its beginning again, its length less the overcut.
    """
    length = line.length - overcut_mm
    points = np.array(line.coords)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    k = int(np.argmin(np.abs(along - length)))
    assert abs(along[k] - length) < within, "a line closes at a point of its own"
    assert np.allclose(points[k], points[0], atol=within), "it comes back to its beginning"
    return Polygon(points[:k]), LineString(points[k:])

"""Turns the plan's polygons into Qt's paths. No geometry is computed here."""

from collections.abc import Iterable

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath, QPolygonF
from shapely import LineString, Polygon


def painter_path(polygon: Polygon, lines: Iterable[LineString] = ()) -> QPainterPath:
    """Return a polygon with its openings, and lines in it, as a path in its own frame."""
    path = QPainterPath()
    for ring in (polygon.exterior, *polygon.interiors):
        points = [QPointF(x, y) for x, y in ring.coords]
        path.addPolygon(QPolygonF(points))
        path.closeSubpath()
    for line in lines:
        # There and back, so that nothing is filled between its ends.
        way = [*line.coords, *reversed(line.coords)]
        path.addPolygon(QPolygonF([QPointF(x, y) for x, y in way]))
    return path

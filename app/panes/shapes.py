"""Turns the plan's polygons into Qt's paths. No geometry is computed here."""

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath, QPolygonF
from shapely import Polygon


def painter_path(polygon: Polygon) -> QPainterPath:
    """Return a polygon with its openings as a path, in the polygon's own frame."""
    path = QPainterPath()
    for ring in (polygon.exterior, *polygon.interiors):
        points = [QPointF(x, y) for x, y in ring.coords]
        path.addPolygon(QPolygonF(points))
        path.closeSubpath()
    return path

"""From the plan's shapes to Qt's painter paths, without a Python loop over points."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from PySide6.QtCore import QByteArray, QDataStream, Qt
from PySide6.QtGui import QPainterPath
from shapely import LineString, MultiLineString, Polygon

from core.document.hit import iter_segments
from core.document.path import Path
from core.geometry.coarse import coarse_runs, coarseness_mm

Points = NDArray[np.float64]
_ELEMENT = np.dtype([("type", ">i4"), ("x", ">f8"), ("y", ">f8")])


def joined_path(runs: list[Points]) -> QPainterPath:
    """Return one path of several polylines; fills follow the odd-even rule.

    The points go through Qt's own stream format (count, then type, x and y of each element,
    then where the last run starts and the fill rule), which is many times quicker than adding
    them one by one.
    """
    path = QPainterPath()
    runs = [run for run in runs if len(run)]
    if not runs:
        return path
    sizes = [len(run) for run in runs]
    elements = np.empty(sum(sizes), dtype=_ELEMENT)
    points = np.concatenate(runs)
    elements["type"] = 1
    starts = np.cumsum([0, *sizes[:-1]])
    elements["type"][starts] = 0
    elements["x"], elements["y"] = points[:, 0], points[:, 1]
    head = np.array([len(elements)], ">i4").tobytes()
    tail = np.array([starts[-1], Qt.FillRule.OddEvenFill.value], ">i4").tobytes()
    stream = QDataStream(QByteArray(head + elements.tobytes() + tail))
    stream >> path
    return path


def _rings(shape: Polygon) -> list[Points]:
    return [shapely.get_coordinates(r) for r in (shape.exterior, *shape.interiors)]


def polygon_path(*shapes: Polygon) -> QPainterPath:
    """Return the rings of polygons; where two of them overlap the fill leaves a gap."""
    return joined_path(
        [ring for shape in shapes if not shape.is_empty for ring in _rings(shape)]
    )


def line_path(*lines: LineString | MultiLineString) -> QPainterPath:
    """Return the lines as one path."""
    parts = [part for line in lines for part in shapely.get_parts(line)]
    return joined_path([shapely.get_coordinates(part) for part in parts])


class SeenPath:
    """Shapes as one path to stroke, with fewer points the smaller they are seen.

    Strokes cost by the point, so this is what keeps many panels in sight quick.
    """

    def __init__(self, *shapes: Polygon | LineString | MultiLineString) -> None:
        self._shapes = shapes
        self.full = _any_path(shapes)
        self._coarse: dict[float, QPainterPath] = {}

    def at(self, px_mm: float) -> QPainterPath:
        """Return the path for a zoom: how many millimetres a screen pixel shows."""
        stray = coarseness_mm(px_mm)
        if stray == 0.0 or not self._shapes:
            return self.full
        if stray not in self._coarse:
            self._coarse[stray] = joined_path(coarse_runs(self._shapes, stray))
        return self._coarse[stray]


def _any_path(shapes: Sequence[Polygon | LineString | MultiLineString]) -> QPainterPath:
    path = polygon_path(*(s for s in shapes if isinstance(s, Polygon)))
    path.addPath(line_path(*(s for s in shapes if not isinstance(s, Polygon))))
    return path


def node_path(nodes: Path, *, closed: bool) -> QPainterPath:
    """Return a node path as Qt draws it, curves and all."""
    path = QPainterPath()
    if not nodes:
        return path
    path.moveTo(*nodes[0].at)
    for a, b in iter_segments(nodes, closed=closed):
        if a.after is None and b.before is None:
            path.lineTo(*b.at)
            continue
        out, into = a.after or (0.0, 0.0), b.before or (0.0, 0.0)
        path.cubicTo(
            a.at[0] + out[0],
            a.at[1] + out[1],
            b.at[0] + into[0],
            b.at[1] + into[1],
            *b.at,
        )
    return path

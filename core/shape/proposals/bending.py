"""Seams as the shortest way over the surface between their ends, in the panel's map."""

import numpy as np
import shapely
from scipy.optimize import minimize
from shapely import LineString

from core.shape.metric import Metric
from core.shape.model import Points

_STEPS = 20
_WAVES = 3
_NODE_MM = 1.5


def shortest_way(metric: Metric, line: LineString) -> LineString:
    """Return the shortest way between the ends of a line, by few nodes.

    It bends away from the straight line of the map in a few waves.
    """
    start, end = np.asarray(line.coords[0]), np.asarray(line.coords[-1])
    share = np.linspace(0, 1, _STEPS + 1)[:, None]
    waves = np.sin(np.pi * share * np.arange(1, _WAVES + 1))
    square = np.array([-(end - start)[1], (end - start)[0]]) / max(line.length, 1e-9)

    def way(heights: Points) -> Points:
        return np.asarray(start + share * (end - start) + (waves @ heights)[:, None] * square)

    def length(heights: Points) -> float:
        points = way(heights)
        return float(metric.lengths(points[:-1], points[1:]).sum())

    found = minimize(length, np.zeros(_WAVES), method="BFGS", options={"gtol": 1e-3})
    return LineString(shapely.get_coordinates(LineString(way(found.x)).simplify(_NODE_MM)))

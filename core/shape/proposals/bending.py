"""Seams as the shortest way over the surface between their ends, in the panel's map."""

import numpy as np
import shapely
from scipy.optimize import minimize
from shapely import LineString

from core.shape.mesh import is_on_rim, vertex_curvatures
from core.shape.metric import Metric, metric_of
from core.shape.model import Network, Points

_STEPS = 20
_WAVES = 3
_NODE_MM = 1.5
_PROBE_MM = 0.01
_FLAT_ENOUGH, _ROUNDS = 5e-3, 14
"""Of the slope of length by height: then the way lies within a millimetre of the shortest."""


def drawn_to_curvature(network: Network) -> Metric:
    """Return a metric in which ways are the shorter, the more the surface curves there.

    A shortest way by it keeps to a shoulder or an edge, where a seam relieves most.
    """
    true = metric_of(network)
    curved = np.abs(np.where(is_on_rim(network), 0.0, vertex_curvatures(network)))
    thirds = np.repeat(network.areas / 3, 3)
    around = np.bincount(network.triangles.ravel(), thirds, minlength=len(network.at))
    usual = max(float(curved.sum() / around.sum()), 1e-12)
    length = 1 / (1 + curved / np.maximum(around, 1e-9) / usual)
    return Metric(true.locator, true.at_vertices * (length**2)[:, None])


def shortest_way(metric: Metric, line: LineString) -> LineString:
    """Return the shortest way between the ends of a line, by few nodes.

    It bends away from the straight line of the map in a few waves.
    """
    start, end = np.asarray(line.coords[0]), np.asarray(line.coords[-1])
    share = np.linspace(0, 1, _STEPS + 1)[:, None]
    waves = np.sin(np.pi * share * np.arange(1, _WAVES + 1))
    square = np.array([-(end - start)[1], (end - start)[0]]) / max(line.length, 1e-9)

    straight = start + share * (end - start)
    tries = _PROBE_MM * np.vstack((np.zeros(_WAVES), np.eye(_WAVES)))

    def length(heights: Points) -> tuple[float, Points]:
        ways = straight + ((heights + tries) @ waves.T)[:, :, None] * square
        steps = metric.lengths(ways[:, :-1].reshape(-1, 2), ways[:, 1:].reshape(-1, 2))
        here, *beside = steps.reshape(len(tries), _STEPS).sum(axis=1)
        return float(here), (np.array(beside) - here) / _PROBE_MM

    heights = np.zeros(_WAVES)
    patience = {"gtol": _FLAT_ENOUGH, "maxiter": _ROUNDS}
    found = minimize(length, heights, jac=True, method="BFGS", options=patience)
    path = straight + (waves @ found.x)[:, None] * square
    return LineString(shapely.get_coordinates(LineString(path).simplify(_NODE_MM)))

"""The metric of a network over its map: how long a step of the map is on the surface.

A step ``(dx, dy)`` of the map is ``sqrt(E dx² + 2 F dx dy + G dy²)`` long on the surface. In
each triangle the three numbers are constant; between the vertices they are taken to run
linearly, such that each triangle has its own in its middle. Outside the network the surface
runs on with the metric of the nearest place of the rim.
"""

from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from scipy import sparse

from core.shape.elements import corners_of, elements_of, factored
from core.shape.locating import Locator, locator_of
from core.shape.model import Network, Points
from core.shape.threads import one_thread

_SMOOTHING = 0.05
_GAUSS = (0.5 - 1 / np.sqrt(12), 0.5 + 1 / np.sqrt(12))


@dataclass(frozen=True, eq=False)
class Metric:
    """The metric of a network, as numbers at its vertices.

    Attributes:
        at_vertices: shape (n, 3): E, F and G.
    """

    locator: Locator
    at_vertices: Points

    def at(self, points: Points) -> Points:
        """Return E, F and G at points of the map, shape (k, 3)."""
        vertices, shares = self.locator.spots(points)
        return np.asarray(np.einsum("ki,kij->kj", shares, self.at_vertices[vertices]))

    def lengths(self, starts: Points, ends: Points) -> Points:
        """Return how long straight steps of the map are on the surface, shape (k,)."""
        step = ends - starts
        total = np.zeros(len(step))
        for share in _GAUSS:
            e, f, g = self.at(starts + share * step).T
            square = e * step[:, 0] ** 2 + 2 * f * step[:, 0] * step[:, 1] + g * step[:, 1] ** 2
            total += np.sqrt(np.maximum(square, 0.0)) / 2
        return total


def triangle_metrics(network: Network) -> Points:
    """Return E, F and G of each triangle, shape (m, 3)."""
    corners = network.at[network.triangles]
    in_map = corners[:, 1:] - corners[:, :1]
    on_surface = corners_of(network.sides)[:, 1:]
    # Rows are the two sides from the first corner; linear maps act on them from the right.
    across = np.linalg.solve(in_map, on_surface)
    tensor = across @ across.transpose(0, 2, 1)
    return np.column_stack((tensor[:, 0, 0], tensor[:, 0, 1], tensor[:, 1, 1]))


def metric_of(network: Network) -> Metric:
    """Return the metric of a network, made once.

    Degenerate input: triangles without area in the map, or turned over there, count nothing.
    """
    found = _metrics.get(network)
    if found is None:
        found = _metrics[network] = Metric(locator_of(network), _at_vertices(network))
    return found


_metrics: WeakKeyDictionary[Network, Metric] = WeakKeyDictionary()


def _at_vertices(network: Network) -> Points:
    corners = network.at[network.triangles]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    in_map = (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
    longest = np.maximum(np.linalg.norm(u, axis=1), np.linalg.norm(v, axis=1))
    kept = in_map > 1e-4 * longest**2
    sound = Network(at=network.at, triangles=network.triangles[kept], sides=network.sides[kept])
    metrics = triangle_metrics(sound)
    elements = elements_of(sound)
    m, n = len(sound.triangles), len(sound.at)
    mean = sparse.csr_array(
        (np.full(3 * m, 1 / 3), (np.repeat(np.arange(m), 3), sound.triangles.ravel())), (m, n)
    )
    weighted = sparse.csr_array(mean.T @ sparse.diags_array(elements.areas))
    smooth = _SMOOTHING * float(elements.areas.mean()) * elements.stiffness
    matrix = sparse.csc_array(weighted @ mean + smooth)
    trifle = 1e-9 * float(matrix.diagonal().mean())
    with one_thread():
        factor = factored(matrix + trifle * sparse.eye_array(n, format="csc"))
        # Only what differs from a flat map is solved for, so that a flat one stays exact.
        flat = np.array([1.0, 0.0, 1.0])
        return np.asarray(flat + factor.solve(np.asarray(weighted @ (metrics - flat))))

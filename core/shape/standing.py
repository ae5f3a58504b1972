"""One shape in space that has the lengths of a network.

A tape tells lengths within a surface, not how the part stands: a sheet of given lengths can
still be bent, as a tube and a flat plate have the same. Of all shapes with these lengths the
one that bends least is found, so that what must curve curves evenly, and what need not lies
flat.

Sources: the bending energy, the square of the mean curvature over the area, as a quadratic
form of cotangents: Bergou, Wardetzky, Harmon, Zorin, Grinspun, A quadratic bending model for
inextensible surfaces, Symposium on Geometry Processing 2006 (from memory); steps by Levenberg
and Marquardt: Nocedal & Wright, Numerical Optimization, 2nd ed. 2006, section 10.3.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from shapely import Polygon

from core.progress import Progress, Silent, stop_if_cancelled
from core.shape.clip import clip_network
from core.shape.elements import elements_of, factored
from core.shape.mesh import is_on_rim, vertex_curvatures
from core.shape.model import Network, Points
from core.shape.threads import one_thread
from core.shape.topology import directed_sides

TRIANGLES = 900
_THICKNESS = 1.7e-4
"""Of the sheet, as a share of the panel's size: it bends for so little that lengths hold."""
_EXACT = 2e-5
"""Lengths that are off by no more than this share, in the mean, are good enough."""
_GAIN = 1e-3
_STEPS = 40
_LEAST_GAIN = 1e-3
"""A step counts if it gains this share of what was expected of it."""
_SOFTEST, _STIFFEST = 1e-9, 1e4
_GOOD_PCT = 0.5
_ALMOST_FLAT = 3e-5
"""Curvature times area below which a panel is started as a hardly lifted plate."""


@dataclass(frozen=True, eq=False)
class Standing:
    """A shape in space that has a network's lengths as nearly as can be.

    Attributes:
        points: shape (n, 3), mm; film is laid on the side of +z.
        network: whose lengths these are.
        worst_pct: by how much the side that is most off is off, in percent.
    """

    points: NDArray[np.float64]
    network: Network
    worst_pct: float


def standing_shape(
    network: Network, area: Polygon, progress: Progress | None = None
) -> Standing:
    """Return how the surface of an area of a panel's map may stand in space.

    Raises:
        GeometryError: an area without width.
        Cancelled: the user stopped it.
    """
    return stood_up(clip_network(network, area, TRIANGLES), progress)


def stood_up(network: Network, progress: Progress | None = None) -> Standing:
    """Return a shape in space with the lengths of a network, the one that bends least.

    Bending weighs so little that it chooses among shapes, but hardly changes lengths. The
    start is the map, lifted as a dome where the surface is curved as one, else as a saddle; if
    lengths do not come out, the other is tried as well.

    Raises:
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    sheet = _Sheet(network)
    best: Standing | None = None
    with one_thread():
        for start in _starts(network):
            points = _relaxed(sheet, start, progress)
            made = Standing(points, network, sheet.worst_pct(points))
            if best is None or made.worst_pct < best.worst_pct:
                best = made
            if best.worst_pct <= _GOOD_PCT:
                break
    assert best is not None
    return best


def _starts(network: Network) -> Iterator[Points]:
    """Yield the map as a dome and as a saddle of the network's own curvature."""
    inner = ~is_on_rim(network)
    gathered = float(vertex_curvatures(network)[inner].sum())
    at = network.at - network.at.mean(axis=0)
    area = float(network.areas.sum())
    bend = np.sqrt(max(abs(gathered), _ALMOST_FLAT) / area) / 2
    dome = -bend * (at**2).sum(axis=1)
    saddle = bend * (at[:, 0] ** 2 - at[:, 1] ** 2)
    both = (dome, saddle) if gathered >= -_ALMOST_FLAT else (saddle, dome)
    for height in both:
        yield np.column_stack((at, height))


class _Sheet:
    """A thin sheet of given lengths: what it costs to strain and to bend it.

    The cost is the mean over the area of the squared strain of its sides, and of the squared
    sum of both curvatures times the squared thickness.
    """

    def __init__(self, network: Network) -> None:
        elements = elements_of(network)
        ends = directed_sides(network.triangles).reshape(-1, 2)
        pairs, first, numbers = np.unique(
            np.sort(ends, axis=1), axis=0, return_index=True, return_inverse=True
        )
        total = float(elements.areas.sum())
        thirds = np.repeat(elements.areas / 3, 3) / total
        self._here, self._there = pairs.T
        self._lengths = network.sides.ravel()[first]
        self._root = np.sqrt(np.bincount(numbers.ravel(), weights=thirds))
        around = np.bincount(network.triangles.ravel(), thirds, minlength=len(network.at))
        inner = np.flatnonzero(~is_on_rim(network) & (around > 0))
        # On the rim the Laplacian also tells which way the rim turns, which is no bending.
        rows = sparse.csr_array(elements.stiffness)[inner]
        by_area = sparse.diags_array(_THICKNESS**2 / around[inner] / total)
        self._bend = sparse.csr_array(rows.T @ by_area @ rows)

    @cached_property
    def bending(self) -> sparse.csc_array:
        """The bending part of the Hessian, shape (3 n, 3 n); it never changes."""
        return sparse.csc_array(sparse.kron(self._bend, sparse.eye_array(3), format="csc"))

    def cost(self, points: Points) -> float:
        """Return what a shape costs."""
        strains = self._root * self._strains(points)[1]
        bent = float(np.einsum("ij,ij->", points, self._bend @ points))
        return float(np.einsum("i,i->", strains, strains)) + max(bent, 0.0)

    def slope(self, points: Points) -> tuple[Points, sparse.csc_array]:
        """Return half the gradient, shape (3 n,), and half the Hessian by Gauss and Newton."""
        ways, strains = self._strains(points)
        steps = ways * (self._root / self._lengths)[:, None]
        count, size = len(steps), points.size
        columns = 3 * np.column_stack((self._here, self._there))[:, :, None] + np.arange(3)
        jacobian = sparse.csr_array(
            (
                np.hstack((steps, -steps)).ravel(),
                (np.repeat(np.arange(count), 6), columns.ravel()),
            ),
            shape=(count, size),
        )
        turned = sparse.csr_array(jacobian.T)
        gradient = turned @ (self._root * strains) + (self._bend @ points).ravel()
        return gradient, sparse.csc_array(turned @ jacobian) + self.bending

    def worst_pct(self, points: Points) -> float:
        """Return by how much the side that is most off is off, in percent."""
        return 100 * float(np.abs(self._strains(points)[1]).max())

    def _strains(self, points: Points) -> tuple[Points, Points]:
        """Return the direction of each side, and its strain."""
        apart = points[self._here] - points[self._there]
        now = np.maximum(np.sqrt(np.einsum("ij,ij->i", apart, apart)), 1e-9)
        return apart / now[:, None], now / self._lengths - 1


def _relaxed(sheet: _Sheet, start: Points, progress: Progress) -> Points:
    """Return the shape of least cost near a start."""
    points, damping, cost = start, 1e-4, sheet.cost(start)
    for _ in range(_STEPS):
        stop_if_cancelled(progress)
        found = _step(sheet, points, cost, damping)
        if found is None:
            break
        points, there, damping = found
        if cost - there < _GAIN * cost or there < _EXACT**2:
            break
        cost = there
    return points


def _step(
    sheet: _Sheet, points: Points, cost: float, damping: float
) -> tuple[Points, float, float] | None:
    """Return a shape that costs less, its cost, and the damping for the next step."""
    gradient, hessian = sheet.slope(points)
    held = float(hessian.diagonal().mean()) * sparse.eye_array(points.size, format="csc")
    while damping < _STIFFEST:
        step = factored(sparse.csc_array(hessian + damping * held)).solve(gradient)
        moved = points - step.reshape(-1, 3)
        there = sheet.cost(moved)
        gain = (cost - there) / max(float(np.einsum("i,i->", gradient, step)), 1e-300)
        if gain > _LEAST_GAIN:
            # The nearer the model came to the truth, the longer the next step may be.
            trust = 1 - min(max(2 * gain - 1, -1.0), 1.0) ** 3
            return moved, there, max(damping * max(trust, 0.1), _SOFTEST)
        damping *= 4
    return None

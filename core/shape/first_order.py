"""Strain of free film to first order: many nearly alike surfaces at the price of one.

Where strains are small, film laid on a surface is a sheet with strains of its own (how far
the surface's lengths differ from the map's) that relaxes as an elastic plane does. That is
linear, so one factored matrix serves any number of surfaces over one map. It ranks surfaces
and shows how answers scatter; the judgement itself is that of the full laying.

Source: plane stress with initial strains by triangles of constant strain, as in any textbook of
finite elements (e.g. Zienkiewicz, The Finite Element Method; from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from core.shape.model import Points, Triangles

Values = NDArray[np.float64]
POISSON = 0.45


@dataclass(frozen=True, eq=False)
class FirstOrder:
    """A net over a map, ready for any number of surfaces.

    Attributes:
        middles: shape (m, 2): the triangles' middles.
        areas: shape (m,).
    """

    middles: Points
    areas: Values
    _strain: Values
    _relax: Values

    @classmethod
    def of(cls, at: Points, triangles: Triangles) -> "FirstOrder":
        """Make ready a net: points of shape (n, 2), triangles counter-clockwise."""
        corners = at[triangles]
        onward = np.roll(corners, -1, axis=1) - np.roll(corners, -2, axis=1)
        twice = onward[:, 0, 0] * onward[:, 1, 1] - onward[:, 0, 1] * onward[:, 1, 0]
        slopes = np.stack([-onward[..., 1], onward[..., 0]], axis=2) / -twice[:, None, None]
        count, size = len(triangles), len(at)
        strain = np.zeros((count, 3, 2 * size))
        rows = np.arange(count)[:, None]
        strain[rows, 0, 2 * triangles] = slopes[..., 0]
        strain[rows, 1, 2 * triangles + 1] = slopes[..., 1]
        strain[rows, 2, 2 * triangles] = slopes[..., 1] / 2
        strain[rows, 2, 2 * triangles + 1] = slopes[..., 0] / 2
        areas = np.abs(twice) / 2
        stiff = np.array([[1, POISSON, 0], [POISSON, 1, 0], [0, 0, 2 * (1 - POISSON)]])
        weighed = np.einsum("ij,mjk->mik", stiff, strain) * areas[:, None, None]
        flat, loads = strain.reshape(3 * count, -1), weighed.reshape(3 * count, -1)
        matrix = flat.T @ loads
        # Moving and turning as a whole cost nothing; a trace of stiffness holds the net still.
        matrix[np.diag_indices_from(matrix)] += 1e-9 * np.trace(matrix) / len(matrix)
        relax = linalg.cho_solve(linalg.cho_factor(matrix), loads.T)
        return cls(corners.mean(axis=1), areas, flat, relax)

    def left(self, own: Values) -> Values:
        """Return the strain that is left when film has relaxed; it is linear in what it had.

        Args:
            own: shape (k, m, 3): for each surface and triangle how much longer the surface is
                than the map: along x, along y, and half the shear.

        Returns:
            shape (k, m, 3): the same of the relaxed film.
        """
        loads = own.reshape(len(own), -1)
        left = loads - (loads @ self._relax.T) @ self._strain.T
        return np.asarray(left.reshape(own.shape))

    def ranges_pct(self, left: Values, trimmed: float = 0.005) -> Values:
        """Return the range of strain of each relaxed film in per cent, odd ends left out."""
        xx, yy, xy = np.moveaxis(left, 2, 0)
        middle, aside = (xx + yy) / 2, (xx - yy) / 2
        spread = np.sqrt(aside * aside + xy * xy)
        least = _least(middle - spread, self.areas, trimmed)
        greatest = -_least(-middle - spread, self.areas, trimmed)
        return np.asarray(100 * ((1 + greatest) / (1 + least) - 1))


def _least(values: Values, areas: Values, share: float) -> Values:
    """Return of each row the value below which a small share of the area lies."""
    wanted = share * areas.sum()
    # So many of the least values cover that share even if they are those of the smallest areas.
    enough = int(np.searchsorted(np.cumsum(np.sort(areas)), wanted + areas.max())) + 1
    count = min(enough, len(areas) - 1)
    row, left = np.arange(len(values)), values.copy()
    chosen = np.empty((len(values), count), dtype=np.int64)
    for rank in range(count):
        chosen[:, rank] = left.argmin(axis=1)
        left[row, chosen[:, rank]] = np.inf
    ranked, own = values[row[:, None], chosen], areas[chosen]
    below = np.cumsum(own, axis=1) - own / 2
    # Between which two it lies; before the first there is none.
    after = np.clip((below < wanted).sum(axis=1), 0, count - 1)
    before = np.maximum(after - 1, 0)
    step = np.maximum(below[row, after] - below[row, before], 1e-300)
    way = np.clip((wanted - below[row, before]) / step, 0, 1)
    return np.asarray(ranked[row, before] + way * (ranked[row, after] - ranked[row, before]))

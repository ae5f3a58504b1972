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

    def strains(self, own: Values) -> Values:
        """Return least and greatest strain of the relaxed film.

        Args:
            own: shape (k, m, 3): for each surface and triangle how much longer the surface is
                than the map: along x, along y, and half the shear.

        Returns:
            shape (k, m, 2).
        """
        loads = own.reshape(len(own), -1)
        left = loads - (loads @ self._relax.T) @ self._strain.T
        xx, yy, xy = np.moveaxis(left.reshape(own.shape), 2, 0)
        middle, spread = (xx + yy) / 2, np.hypot((xx - yy) / 2, xy)
        return np.stack([middle - spread, middle + spread], axis=2)

    def ranges_pct(self, own: Values, trimmed: float = 0.005) -> Values:
        """Return the range of strain of each surface in per cent, odd ends left out."""
        strains = self.strains(own)
        least = _quantiles(strains[..., 0], self.areas, trimmed)
        greatest = _quantiles(strains[..., 1], self.areas, 1 - trimmed)
        return 100 * ((1 + greatest) / (1 + least) - 1)


def _quantiles(values: Values, areas: Values, share: float) -> Values:
    """Return of each row the value below which a share of the area lies."""
    order = np.argsort(values, axis=1)
    below = np.cumsum(areas[order], axis=1) - areas[order] / 2
    ranked = np.take_along_axis(values, order, axis=1)
    wanted = share * areas.sum()
    return np.array([np.interp(wanted, b, v) for b, v in zip(below, ranked, strict=True)])

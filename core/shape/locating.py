"""Where points of the map lie in a network: in which triangle, and how far from its corners."""

from dataclasses import dataclass
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from core.shape.model import Network, Points
from core.shape.topology import rim_sides

_NEAR = 10
"""Triangles that are looked at first, by the distance of their middles."""
_INSIDE = -1e-9


@dataclass(frozen=True, eq=False)
class Locator:
    """Finds points of the map in a network."""

    network: Network

    @cached_property
    def _corners(self) -> Points:
        return self.network.at[self.network.triangles]

    @cached_property
    def _middles(self) -> cKDTree:
        return cKDTree(self._corners.mean(axis=1))

    @cached_property
    def _reach(self) -> float:
        """The farthest that a corner lies from its triangle's middle."""
        away = self._corners - self._corners.mean(axis=1, keepdims=True)
        return float(np.hypot(away[..., 0], away[..., 1]).max())

    @cached_property
    def _rim(self) -> tuple[NDArray[np.int64], cKDTree]:
        ends, _ = rim_sides(self.network)
        return ends, cKDTree(self.network.at[ends].mean(axis=1))

    def triangles_at(self, points: Points) -> tuple[NDArray[np.int64], Points]:
        """Return the triangle of each point and its barycentric coordinates there.

        A point outside is given the triangle whose middle is nearest, and coordinates that
        run on beyond it.
        """
        count = min(_NEAR, len(self._corners))
        _, near = self._middles.query(points, k=count)
        chosen, shares = self._best(points, near.reshape(len(points), count))
        missed = np.flatnonzero(shares.min(axis=1) < _INSIDE)
        if len(missed) and count < len(self._corners):
            self._search_wide(points, missed, chosen, shares)
        return chosen, shares

    def spots(self, points: Points) -> tuple[NDArray[np.int64], Points]:
        """Return three vertices and their shares for each point.

        A point outside is moved to the nearest place of the rim.
        """
        chosen, shares = self.triangles_at(points)
        vertices = self.network.triangles[chosen]
        outside = np.flatnonzero(shares.min(axis=1) < -1e-6)
        if len(outside):
            vertices[outside], shares[outside] = self._on_rim(points[outside])
        return vertices, shares

    def _search_wide(
        self,
        points: Points,
        missed: NDArray[np.int64],
        chosen: NDArray[np.int64],
        shares: Points,
    ) -> None:
        """Look among all triangles that can reach the missed points."""
        for i in missed.tolist():
            around = self._middles.query_ball_point(points[i], self._reach)
            if around:
                triangle, share = self._best(points[i : i + 1], np.array([around]))
                if share.min() > shares[i].min():
                    chosen[i], shares[i] = triangle[0], share[0]

    def _best(
        self, points: Points, near: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], Points]:
        """Return, of some triangles for each point, the one that it is deepest in."""
        corners = self._corners[near]
        a = corners[..., 0, :]
        u, v = corners[..., 1, :] - a, corners[..., 2, :] - a
        p = points[:, None] - a
        doubled = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
        doubled = np.where(np.abs(doubled) < 1e-12, 1e-12, doubled)
        second = (p[..., 0] * v[..., 1] - p[..., 1] * v[..., 0]) / doubled
        third = (u[..., 0] * p[..., 1] - u[..., 1] * p[..., 0]) / doubled
        shares = np.stack((1 - second - third, second, third), axis=-1)
        best = shares.min(axis=-1).argmax(axis=1)
        rows = np.arange(len(points))
        return near[rows, best], shares[rows, best]

    def _on_rim(self, points: Points) -> tuple[NDArray[np.int64], Points]:
        ends, tree = self._rim
        count = min(6, len(ends))
        _, near = tree.query(points, k=count)
        near = near.reshape(len(points), count)
        a, b = self.network.at[ends[near][..., 0]], self.network.at[ends[near][..., 1]]
        along = b - a
        squares = np.maximum((along**2).sum(axis=-1), 1e-18)
        t = np.clip(((points[:, None] - a) * along).sum(axis=-1) / squares, 0.0, 1.0)
        gap = np.linalg.norm(a + t[..., None] * along - points[:, None], axis=-1)
        best = gap.argmin(axis=1)
        rows = np.arange(len(points))
        t, sides = t[rows, best], ends[near[rows, best]]
        vertices = np.column_stack((sides, sides[:, 0]))
        return vertices, np.column_stack((1 - t, t, np.zeros(len(t))))


_locators: WeakKeyDictionary[Network, Locator] = WeakKeyDictionary()


def locator_of(network: Network) -> Locator:
    """Return the locator of a network, made once."""
    found = _locators.get(network)
    if found is None:
        found = _locators[network] = Locator(network)
    return found

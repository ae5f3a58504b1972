"""Surfaces in Fermi coordinates: lengths over a part, told from its spine.

A point is told by s, how far along the spine, and t, how far from it along the station through
it: the straightest line that leaves the spine squarely; to the left is positive. Then lengths
obey ds_surface² = dt² + G² ds², and the surface's curvature is -G_tt / G. A surface that film
lies on without strain has G linear in t.

Past the outermost lines the surface runs on without curvature, along its own slope. Past the
first and last station it runs on as it is there.

Source: the lengths and the curvature: Gauss, Disquisitiones generales circa superficies
curvas, 1828, art. 19; the name from Fermi, 1922.
"""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.shape.model import Network, Points, Triangles
from core.shape.topology import network_of_lengths

Values = NDArray[np.float64]

_STEP_MM = 1.0
_GAUSS = np.array([-1.0, 0.0, 1.0]) * np.sqrt(0.6) / 2 + 0.5
_GAUSS_WEIGHTS = np.array([5.0, 8.0, 5.0]) / 18


@dataclass(frozen=True, eq=False)
class Spread:
    """The terms that G - 1 is made of: powers of t times powers of s, both scaled to 1.

    Attributes:
        powers: of t and of s in each term.
        length_mm: of the spine; s runs from 0 to it.
        reach_mm: what t is scaled by.
        stations_mm: s of each station.
        left_mm, right_mm: t of the outermost lines at each station.
    """

    powers: tuple[tuple[int, int], ...]
    length_mm: float
    reach_mm: float
    stations_mm: Values
    left_mm: Values
    right_mm: Values

    def terms(self, s: Values, t: Values) -> Values:
        """Return the terms at points, shape (n, terms); past the grid as continued."""
        return self._terms(s, t, (0, 0))

    def slopes(self, s: Values, t: Values) -> tuple[Values, Values]:
        """Return the terms' slopes in s and in t, each of shape (n, terms)."""
        return self._terms(s, t, (0, 1)), self._terms(s, t, (1, 0))

    def _terms(self, s: Values, t: Values, order: tuple[int, int]) -> Values:
        half = self.length_mm / 2
        inside = (s > 0) & (s < self.length_mm)
        scaled = np.clip(s, 0, self.length_mm) / half - 1
        kept = np.clip(
            t,
            np.interp(s, self.stations_mm, self.right_mm),
            np.interp(s, self.stations_mm, self.left_mm),
        )
        u, over = kept / self.reach_mm, (t - kept) / self.reach_mm
        across, along = (np.array(powers) for powers in zip(*self.powers, strict=True))
        in_t, in_s = _powers(u, int(across.max())), _powers(scaled, int(along.max()))
        slope = across * in_t[:, across - 1]
        by_t = slope / self.reach_mm if order[0] else in_t[:, across] + slope * over[:, None]
        if not order[1]:
            return np.asarray(by_t * in_s[:, along])
        by_s = along * in_s[:, np.maximum(along - 1, 0)] * inside[:, None]
        return np.asarray(by_t * by_s / half)


def _powers(base: Values, highest: int) -> Values:
    """Return powers from nothing to the highest, shape (n, highest + 1)."""
    made = np.ones((len(base), highest + 1))
    for power in range(1, highest + 1):
        made[:, power] = made[:, power - 1] * base
    return made


@dataclass(frozen=True, eq=False)
class Fermi:
    """A surface: G = 1 + the terms weighed by coefficients, over a spine laid in the map.

    Attributes:
        origin, angle_deg: where the spine starts in the panel's map, and its direction.
    """

    spread: Spread
    coefficients: Values
    origin: tuple[float, float] = (0.0, 0.0)
    angle_deg: float = 0.0

    def widening(self, s: Values, t: Values) -> Values:
        """Return G at points, shape (n,)."""
        return np.asarray(1 + self.spread.terms(s, t) @ self.coefficients)

    def curvature(self, s: Values, t: Values) -> Values:
        """Return the curvature in the sense of Gauss at points, 1/mm²."""
        here = self.widening(s, t)
        beside = self.widening(s, t + _STEP_MM) + self.widening(s, t - _STEP_MM)
        return np.asarray((2 * here - beside) / _STEP_MM**2 / here)

    def distances(self, start: Points, end: Points) -> Values:
        """Return how far it is over the surface between points near each other, (s, t) each.

        The error falls with the fifth power of the distance: the even run from start to end is
        too long by the twelfth of its acceleration squared.

        Source: own derivation, from the second variation of the energy of a curve.
        """
        step = end - start
        energy = np.zeros(len(start))
        for at, weight in zip(_GAUSS, _GAUSS_WEIGHTS, strict=True):
            here = start + at * step
            energy += weight * self.widening(*here.T) ** 2
        energy = step[:, 1] ** 2 + energy * step[:, 0] ** 2
        return np.asarray(np.sqrt(np.maximum(energy - self.bend(start, end), 0.2 * energy)))

    def bend(self, start: Points, end: Points) -> Values:
        """Return the twelfth of the squared acceleration of even runs, at their middles."""
        (ds, dt), middle = (end - start).T, (start + end) / 2
        g = self.widening(*middle.T)
        along, across = (x @ self.coefficients for x in self.spread.slopes(*middle.T))
        in_s = (2 * across * ds * dt + along * ds**2) / g
        in_t = -g * across * ds**2
        return np.asarray((in_t**2 + (g * in_s) ** 2) / 12)

    def to_map(self, points: Points) -> Points:
        """Return where points told by s and t lie in the panel's map."""
        turned: Points = points @ _turn(self.angle_deg).T + self.origin
        return turned

    def from_map(self, points: Points) -> Points:
        """Return s and t of points of the panel's map."""
        return seen_from(points, self.origin, self.angle_deg)

    def network(self, around: Points, triangles: int = 900) -> Network:
        """Return the network of the surface over a rectangle along the spine.

        Args:
            around: points of the map that it must hold.
            triangles: about how many it is to have.
        """
        told = self.from_map(around)
        low, high = told.min(axis=0), told.max(axis=0)
        pad = 1e-3 * max(1.0, float((high - low).max()))
        low, high = low - pad, high + pad
        cell = float(np.sqrt(2 * np.prod(high - low) / triangles))
        ends = [v for v in (0.0, self.spread.length_mm) if low[0] < v < high[0]]
        s = _marks([low[0], *ends, high[0]], cell)
        t = _marks([low[1], high[1]], cell)
        grid = np.array([(a, b) for a in s for b in t])
        faces = grid_triangles(len(s), len(t))
        return network_of_lengths(self.lengths, self.to_map(grid), faces)

    def lengths(self, starts: Points, ends: Points) -> Points:
        """Return how long short steps of the map are on the surface, shape (k,)."""
        return self.distances(self.from_map(starts), self.from_map(ends))


def seen_from(points: Points, origin: tuple[float, float], angle_deg: float) -> Points:
    """Return points of a map as a spine tells them that lies there so, (s, t) each."""
    return np.asarray((points - origin) @ _turn(angle_deg))


def _turn(angle_deg: float) -> Points:
    angle = np.radians(angle_deg)
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def _marks(stops: list[float], cell: float) -> Values:
    """Return marks at the stops, and between them so that no two are further than a cell."""
    marks = [np.array(stops[:1])]
    for a, b in itertools.pairwise(stops):
        count = max(1, round((b - a) / cell))
        marks.append(np.linspace(a, b, count + 1)[1:])
    return np.concatenate(marks)


def grid_triangles(rows: int, columns: int) -> Triangles:
    """Return the triangles of a grid of points, row by row, diagonals by turns."""
    found = []
    for i in range(rows - 1):
        for j in range(columns - 1):
            a, b = i * columns + j, i * columns + j + 1
            c, d = a + columns, b + columns
            if (i + j) % 2:
                found += [(a, c, b), (b, c, d)]
            else:
                found += [(a, c, d), (a, d, b)]
    return np.array(found, dtype=np.int64)

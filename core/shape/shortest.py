"""The shortest way between two places of a surface that is told from its spine."""

import numpy as np
from scipy.optimize import minimize

from core.shape.fermi import Fermi, Spread, Values
from core.shape.model import Points

_STEPS = 24
_WAVES = 4


def shortest(fermi: Fermi, start: Points, end: Points) -> Points:
    """Return points (s, t) of the shortest way, shape (n, 2); the run bends in waves.

    Degenerate input: places that are one give that place again and again.
    """
    share = np.linspace(0, 1, _STEPS + 1)[:, None]
    even = start + share * (end - start)
    waves = np.sin(np.pi * share * np.arange(1, _WAVES + 1))
    square = np.array([-(end - start)[1], (end - start)[0]])
    size = float(np.hypot(*square)) or 1.0

    def way(heights: Values) -> Points:
        return np.asarray(even + (waves @ heights)[:, None] * square / size)

    def length(heights: Values) -> float:
        points = way(heights)
        return float(fermi.distances(points[:-1], points[1:]).sum())

    return way(minimize(length, np.zeros(_WAVES), method="BFGS", options={"gtol": 1e-3}).x)


def steps_between(spread: Spread, coefficients: Values, path: Points) -> Values:
    """Return how long each step of a path is on each of many surfaces, shape (k, n - 1)."""
    step, middle = np.diff(path, axis=0), (path[:-1] + path[1:]) / 2
    widening = 1 + coefficients @ spread.terms(*middle.T).T
    return np.asarray(np.hypot(widening * step[:, 0], step[:, 1]))

"""The shortest way between two places of a surface that is told from its spine."""

import itertools
from collections.abc import Callable

import numpy as np

from core.shape.fermi import Fermi, Spread, Values
from core.shape.model import Points

_STEPS = 24
_WAVES = 4
_ROUNDS = 2
_TRY_MM = 4.0


def shortest(fermi: Fermi, start: Points, end: Points) -> Points:
    """Return points (s, t) of the shortest way, shape (n, 2); the run bends in waves.

    The length is nearly quadratic in the heights of the waves, so few of Newton's steps do.

    Degenerate input: places that are one give that place again and again.
    """
    share = np.linspace(0, 1, _STEPS + 1)[:, None]
    even = start + share * (end - start)
    waves = np.sin(np.pi * share * np.arange(1, _WAVES + 1))
    square = np.array([-(end - start)[1], (end - start)[0]])
    size = float(np.hypot(*square)) or 1.0

    def ways(heights: Values) -> Points:
        """Return the way for each row of heights, shape (k, n, 2)."""
        return np.asarray(even + (heights @ waves.T)[..., None] * square / size)

    def lengths(heights: Values) -> Values:
        paths = ways(heights)
        step, middle = np.diff(paths, axis=1), (paths[:, :-1] + paths[:, 1:]) / 2
        widening = fermi.widening(*middle.reshape(-1, 2).T).reshape(middle.shape[:2])
        return np.asarray(np.hypot(widening * step[..., 0], step[..., 1]).sum(axis=1))

    best = np.zeros(_WAVES)
    for _ in range(_ROUNDS):
        slope, bend = _quadratic(lengths, best)
        best = best - np.linalg.solve(bend, slope)
    found: Points = ways(best[None])[0]
    return found


def _quadratic(lengths: Callable[[Values], Values], at: Values) -> tuple[Values, Values]:
    """Return slope and bend of a function of heights, all tries in one go."""
    unit = _TRY_MM * np.eye(len(at))
    pairs = list(itertools.combinations(range(len(at)), 2))
    tries = [at, *(at + unit), *(at - unit), *(at + unit[i] + unit[j] for i, j in pairs)]
    middle, *rest = lengths(np.array(tries))
    up, down = np.array(rest[: len(at)]), np.array(rest[len(at) : 2 * len(at)])
    bend = np.diag((up + down - 2 * middle) / _TRY_MM**2)
    for (i, j), both in zip(pairs, rest[2 * len(at) :], strict=True):
        bend[i, j] = bend[j, i] = (both - up[i] - up[j] + middle) / _TRY_MM**2
    # Waves along a straight run cost length only to second order; a trace keeps this solvable.
    return (up - down) / (2 * _TRY_MM), bend + 1e-9 * np.eye(len(at))


def steps_between(spread: Spread, coefficients: Values, path: Points) -> Values:
    """Return how long each step of a path is on each of many surfaces, shape (k, n - 1)."""
    step, middle = np.diff(path, axis=0), (path[:-1] + path[1:]) / 2
    widening = 1 + coefficients @ spread.terms(*middle.T).T
    return np.asarray(np.hypot(widening * step[:, 0], step[:, 1]))

"""Least-squares adjustment: the values that fit many readings best, and how sure they are.

A *reading* has a residual, what is observed less what the values say. The spread of the values
follows from the residuals themselves, as a surveyor has it. The module knows no photos.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.errors import GeometryError

Array = NDArray[np.float64]

_MOST_STEPS = 60
_STEP_REL = 1e-12
_PROBE = 1e-6


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What an adjustment found.

    Attributes:
        values: shape (p,).
        residuals: shape (n,), at those values.
        cofactor: shape (p, p); times the variance of a reading it is the values' covariance.
    """

    values: Array
    residuals: Array
    cofactor: Array

    @property
    def spread(self) -> float:
        """Standard deviation of one reading; 0 when nothing is over-determined."""
        spare = len(self.residuals) - len(self.values)
        return float(np.sqrt(self.residuals @ self.residuals / spare)) if spare > 0 else 0.0


def adjust(residuals_at: Callable[[Array], Array], start: Array) -> Adjustment:
    """Return the values at which the sum of squared residuals is least.

    Args:
        residuals_at: residuals, shape (n,), for values of shape (p,) that are about 1 in size.
        start: first guess.

    Raises:
        GeometryError: the readings do not settle the values.

    Degenerate input: as many readings as values give residuals of zero.

    Source: Levenberg and Marquardt's damped Gauss-Newton steps (from memory; checked against
    OpenCV's homographies in the tests).
    """
    values = np.array(start, dtype=np.float64)
    residuals = residuals_at(values)
    damping = 1e-3
    for _ in range(_MOST_STEPS):
        slopes = slopes_of(residuals_at, values)
        normal, pull = slopes.T @ slopes, slopes.T @ residuals
        step = np.zeros_like(values)
        for _ in range(12):
            weight = normal + damping * np.diag(np.diag(normal) + 1e-15)
            step = -_solved(weight, pull)
            tried = residuals_at(values + step)
            if np.isfinite(tried).all() and tried @ tried <= residuals @ residuals:
                break
            damping *= 8
        else:
            break
        values, residuals = values + step, tried
        damping = max(damping / 12, 1e-14)
        if np.abs(step).max() <= _STEP_REL * max(1.0, float(np.abs(values).max())):
            break
    slopes = slopes_of(residuals_at, values)
    return Adjustment(values, residuals, _inverse(slopes.T @ slopes))


def slopes_of(function: Callable[[Array], Array], at: Array) -> Array:
    """Return the Jacobian of a function by central differences, shape (n, p)."""
    columns = []
    for i in range(len(at)):
        probe = np.zeros_like(at)
        probe[i] = _PROBE * max(1.0, abs(float(at[i])))
        columns.append((function(at + probe) - function(at - probe)) / (2 * probe[i]))
    return np.stack(columns, axis=1)


def _solved(matrix: Array, right: Array) -> Array:
    try:
        solved = np.linalg.solve(matrix, right).astype(np.float64)
    except np.linalg.LinAlgError as error:
        raise GeometryError("The readings do not settle the shape.") from error
    return solved


def _inverse(matrix: Array) -> Array:
    if not np.isfinite(matrix).all() or np.linalg.cond(matrix) > 1e16:
        raise GeometryError("The readings do not settle the shape.")
    return np.linalg.inv(matrix).astype(np.float64)

"""Down to the least cost: L-BFGS that starts from a factored Laplacian.

Source: Nocedal & Wright, Numerical Optimization, 2nd ed. 2006, algorithms 7.4 and 7.5; the
Laplacian as first Hessian is what makes the number of steps nearly the same at any mesh size.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.progress import Progress, Silent, stop_if_cancelled
from core.shape.elements import Complex
from core.shape.energies import Cost

Values = NDArray[np.float64]

_KEPT = 6
_SLOPE_SHARE = 1e-4
_SHORTEST_STEP = 1e-9


@dataclass(frozen=True)
class Patience:
    """When to stop.

    Attributes:
        steps: at most so many.
        gain: stop when the cost falls by less than this share of itself over three steps.
    """

    steps: int = 200
    gain: float = 1e-7


def descend(
    cost: Cost,
    start: Complex,
    solve: Callable[[Complex], Complex],
    patience: Patience,
    progress: Progress | None = None,
) -> Complex:
    """Return film points of least cost, near the start.

    Args:
        cost: the cost and its gradient.
        start: where to begin; its cost must be finite.
        solve: applies the inverse of the first Hessian.
        patience: when to stop.
        progress: asked at each step whether to stop.

    To be called within ``one_thread()``: inner products on several threads cost far more than
    they gain when the machine has other work.

    Raises:
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    film = start
    value, gradient = cost(film)
    solved = solve(gradient)
    memory = _Memory(len(film))
    history = [value]
    for _ in range(patience.steps):
        stop_if_cancelled(progress)
        way = memory.direction(gradient, solved)
        slope = _dot(way, gradient)
        if slope >= 0:
            memory.forget()
            way, slope = -solved, -_dot(solved, gradient)
        found = _line_search(cost, film, way, value, slope)
        if found is None:
            if not memory.kept:
                break
            memory.forget()
            continue
        new, value, new_gradient = found
        new_solved = solve(new_gradient)
        memory.keep(new - film, new_gradient - gradient, new_solved - solved)
        film, gradient, solved = new, new_gradient, new_solved
        history.append(value)
        if len(history) > 3 and history[-4] - value <= patience.gain * abs(value) + 1e-16:
            break
    return film


def _dot(a: Complex, b: Complex) -> float:
    return float(a.view(np.float64) @ b.view(np.float64))


class _Memory:
    """The last steps, and how the gradient turned over each.

    The way down is a weighed sum of them (the two-loop recursion with its weights worked out
    first), so that a step passes over all that is kept twice, not some twenty times. The
    inverse of the first Hessian was applied to all that it is made of before, so that a step
    costs one solution and not two.
    """

    def __init__(self, size: int) -> None:
        shape = (_KEPT, 2 * size)
        self._moved, self._turned, self._solved = (np.zeros(shape) for _ in range(3))
        self._bent = np.zeros((_KEPT, _KEPT))
        """Inner products of steps and turns."""
        self._turns = np.zeros((_KEPT, _KEPT))
        """Those of turns and turns with the inverse of the first Hessian applied."""
        self.kept: list[int] = []
        """Rows in use, the oldest first."""

    def forget(self) -> None:
        """Keep no step."""
        self.kept = []

    def keep(self, moved: Complex, turned: Complex, solved: Complex) -> None:
        """Keep a step, unless the cost bends down along it; the oldest one goes."""
        if _dot(moved, turned) <= 0:
            return
        row = len(self.kept) if len(self.kept) < _KEPT else self.kept.pop(0)
        self.kept.append(row)
        self._moved[row] = moved.view(np.float64)
        self._turned[row] = turned.view(np.float64)
        self._solved[row] = solved.view(np.float64)
        used = len(self.kept)
        self._bent[:used, row] = self._moved[:used] @ self._turned[row]
        turns = self._turned[:used] @ self._solved[row]
        self._turns[:used, row] = self._turns[row, :used] = turns

    def direction(self, gradient: Complex, solved: Complex) -> Complex:
        """Return the way down."""
        if not self.kept:
            return -solved
        used = len(self.kept)
        by_moved = -(self._moved[:used] @ gradient.view(np.float64))
        by_turned = -(self._turned[:used] @ solved.view(np.float64))
        back, onward = np.zeros(used), np.zeros(used)
        for row in reversed(self.kept):
            back[row] = (by_moved[row] - self._bent[row, :used] @ back) / self._bent[row, row]
        last = self.kept[-1]
        size = self._bent[last, last] / max(self._turns[last, last], 1e-300)
        along = size * (by_turned - self._turns[:used, :used] @ back)
        for row in self.kept:
            done = along[row] + self._bent[:used, row] @ onward
            onward[row] = back[row] - done / self._bent[row, row]
        way = onward @ self._moved[:used] - (size * back) @ self._solved[:used]
        way -= size * solved.view(np.float64)
        return np.asarray(way.view(np.complex128))


def _line_search(
    cost: Cost, film: Complex, way: Complex, value: float, slope: float
) -> tuple[Complex, float, Complex] | None:
    """Return the first step that goes down enough, halving from a full one."""
    step = 1.0
    while step > _SHORTEST_STEP:
        new = film + step * way
        cost_there, gradient = cost(new)
        if np.isfinite(cost_there) and cost_there <= value + _SLOPE_SHARE * step * slope:
            return new, cost_there, gradient
        step /= 2
    return None

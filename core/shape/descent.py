"""Down to the least cost: L-BFGS that starts from a factored Laplacian.

Source: Nocedal & Wright, Numerical Optimization, 2nd ed. 2006, algorithms 7.4 and 7.5; the
Laplacian as first Hessian is what makes the number of steps nearly the same at any mesh size.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.progress import Progress, Silent, stop_if_cancelled
from core.shape.elements import Complex
from core.shape.energies import Cost

_KEPT = 6
_SLOPE_SHARE = 1e-4
_SHORTEST_STEP = 1e-9


@dataclass(frozen=True, eq=False)
class _Pair:
    """A step that was taken, and how the gradient turned over it.

    Attributes:
        bent: their inner product.
        solved: the turn, with the inverse of the first Hessian applied.
    """

    moved: Complex
    turned: Complex
    bent: float
    solved: Complex


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

    Raises:
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    film = start
    value, gradient = cost(film)
    solved = solve(gradient)
    kept: deque[_Pair] = deque(maxlen=_KEPT)
    history = [value]
    for _ in range(patience.steps):
        stop_if_cancelled(progress)
        way = _direction(gradient, solved, kept)
        slope = _dot(way, gradient)
        if slope >= 0:
            kept.clear()
            way, slope = -solved, -_dot(solved, gradient)
        found = _line_search(cost, film, way, value, slope)
        if found is None:
            if not kept:
                break
            kept.clear()
            continue
        new, value, new_gradient = found
        new_solved = solve(new_gradient)
        moved, turned = new - film, new_gradient - gradient
        bent = _dot(moved, turned)
        if bent > 0:
            kept.append(_Pair(moved, turned, bent, new_solved - solved))
        film, gradient, solved = new, new_gradient, new_solved
        history.append(value)
        if len(history) > 3 and history[-4] - value <= patience.gain * abs(value) + 1e-16:
            break
    return film


def _dot(a: Complex, b: Complex) -> float:
    """Return the inner product, without the threads of a linear algebra library.

    Those cost far more than they gain at these sizes when the machine has other work.
    """
    return float(np.einsum("i,i->", a.view(np.float64), b.view(np.float64)))


def _direction(gradient: Complex, solved: Complex, kept: deque[_Pair]) -> Complex:
    """Return the way down, by the two-loop recursion.

    The inverse of the first Hessian was applied to all that it is made of before, so that a
    step costs one solution and not two.
    """
    way, solved_way = -gradient, -solved
    shares = []
    for pair in reversed(kept):
        share = _dot(pair.moved, way) / pair.bent
        shares.append(share)
        way = way - share * pair.turned
        solved_way = solved_way - share * pair.solved
    if kept:
        last = kept[-1]
        solved_way = solved_way * (last.bent / max(_dot(last.turned, last.solved), 1e-300))
    for pair, share in zip(kept, reversed(shares), strict=True):
        solved_way = (
            solved_way + (share - _dot(pair.turned, solved_way) / pair.bent) * pair.moved
        )
    return solved_way


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

"""A short way through many places: nearest neighbours first, then made better by 2-opt.

Source: G. A. Croes, "A method for solving traveling-salesman problems", Operations Research 6
(1958): a stretch of the tour is turned round while that shortens it.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Indices = NDArray[np.intp]

_WINDOW = 700
"""So many places are made better together: the work grows with their square."""
_MOST_ROUNDS = 40
_GAIN_MM = 1e-6


def short_tour(places: Points, here: Points) -> list[int]:
    """Return an order in which to visit all places, starting from a point, ending anywhere.

    Args:
        places: shape (n, 2).
        here: where the way begins.

    Degenerate input: equal places are fine; none gives an empty order.
    """
    order = _by_nearest(places, here)
    for first in range(0, len(order), _WINDOW // 2):
        part = order[first : first + _WINDOW]
        before = here if first == 0 else places[order[first - 1]]
        after = places[order[first + len(part)]] if first + len(part) < len(order) else None
        order[first : first + len(part)] = part[_two_opt(places[part], before, after)]
        if first + _WINDOW >= len(order):
            break
    return [int(i) for i in order]


def _by_nearest(places: Points, here: Points) -> Indices:
    left = np.ones(len(places), dtype=bool)
    order = np.empty(len(places), dtype=np.intp)
    for k in range(len(places)):
        away = np.hypot(*(places - here).T)
        away[~left] = np.inf
        order[k] = int(np.argmin(away))
        left[order[k]] = False
        here = places[order[k]]
    return order


def _two_opt(places: Points, before: Points, after: Points | None) -> Indices:
    """Return a shorter order of places between two ends; without ``after`` it ends anywhere."""
    ends = [before[None], places] + ([after[None]] if after is not None else [])
    points = np.vstack(ends)
    apart = np.hypot(*(points[:, None] - points[None, :]).transpose(2, 0, 1))
    order = np.arange(len(points))
    last = len(places)  # index in order of the last place that may move
    for _ in range(_MOST_ROUNDS):
        is_better = False
        for i in range(1, last):
            j = np.arange(i + 1, last + 1)
            a, b = order[i - 1], order[i]
            old, new = apart[a, b], apart[a, order[j]]
            following = order[j[j + 1 < len(order)] + 1]
            old = np.full(len(j), old)
            new = new.copy()
            ahead = order[j[: len(following)]]
            old[: len(following)] += apart[ahead, following]
            new[: len(following)] += apart[b, following]
            gain = old - new
            best = int(np.argmax(gain))
            if gain[best] > _GAIN_MM:
                order[i : i + best + 2] = order[i : i + best + 2][::-1]
                is_better = True
        if not is_better:
            break
    return order[1 : last + 1] - 1


def chosen_ways(stops: Sequence[tuple[Points, Points]], here: Points) -> list[int]:
    """Return for each stop, in order, the way through it that keeps the travel shortest.

    Args:
        stops: for each its entries and exits, both of shape (ways, 2).
        here: where the travel begins.

    Source: shortest path through layers, by dynamic programming.
    """
    exits, costs = here[None], np.zeros(1)
    links: list[Indices] = []
    for entries, leaving in stops:
        through = costs[:, None] + np.hypot(
            *(entries[None, :] - exits[:, None]).transpose(2, 0, 1)
        )
        links.append(through.argmin(axis=0))
        costs, exits = through.min(axis=0), leaving
    ways: list[int] = []
    way = int(costs.argmin())
    for link in reversed(links):
        ways.append(way)
        way = int(link[way])
    return ways[::-1]

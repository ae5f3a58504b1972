"""Strip packing by a solver in its own process: better and better layouts of one open roll.

What the solver is known to do, and what is done about it:

* It counts in single precision: pieces are a hair larger than they are. So pieces that need no
  gap can be laid without one, which it does better than with a small one.
* It keeps the gap from the strip's edges too: it gets the usable width and two gaps, and its
  answer is shifted back.
* It panics on a piece exactly as wide as the strip: the strip is a hair wider, and the answer
  is pressed back into the usable width.
* It panics on broken outlines, spikes, and outlines far from the origin: each is turned level,
  moved to the origin and simplified outwards.
* It overruns its time and cannot be told to stop: its process is ended.

One search on two threads came out shorter than two with other seeds on a thread each; where
there are more cores, more searches run. For one that dies another begins, once. The last layout
is pressed together (``pressing``).
"""

import math
import os
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import shapely

from core.roll.model import Item, Placement, Sheet
from core.roll.pressing import pressed
from core.roll.room import usable_size
from core.roll.solver_shapes import SolverShape, solver_shapes
from core.roll.strip_workers import SolverFailed, answers

__all__ = ["SolverFailed", "strip_layouts"]

_HAIR_MM = 0.003
"""Around each piece: over the solver's rounding, some 1e-3 mm on ten metres of film."""
_WIDER_MM = 1e-3
"""Added to the strip's width, for pieces exactly as wide."""
_FREE_STEP_DEG = 1.0
"""Turns offered where any will do."""
_PRESSING_SHARE, _PRESSING_SECONDS = 0.1, 1.5
"""The share of the time for pressing, and the most of it."""
_THREADS = 2
"""Of a search; more gain little."""


def strip_layouts(
    items: Sequence[Item],
    sheet: Sheet,
    gap_mm: float,
    seconds: float,
    is_cancelled: Callable[[], bool],
    seed: int = 1,
) -> Iterator[tuple[Placement, ...]]:
    """Yield better and better layouts of the items on an open roll as wide as the sheet.

    Ends when the time is over, the solvers are content, or the caller cancels; no process is
    left behind. Layouts are not yet verified.

    Raises:
        SolverFailed: when all solvers' processes die; layouts yielded before hold.
    """
    width = usable_size(sheet)[1]
    end = time.monotonic() + seconds
    seconds -= min(_PRESSING_SHARE * seconds, _PRESSING_SECONDS)
    shapes = {
        str(k): shape
        for k, shape in enumerate(solver_shapes(items, width, _FREE_STEP_DEG, _HAIR_MM))
    }
    cores = os.cpu_count() or 1
    threads = min(_THREADS, cores)
    searches = cores // threads
    requests = [
        {
            "height": width + 2 * (gap_mm + _HAIR_MM) + _WIDER_MM,
            "gap": gap_mm,
            "seconds": seconds,
            "threads": threads,
            "seed": seed + k,
            "items": [[name, shape.ring, shape.turns_deg] for name, shape in shapes.items()],
        }
        for k in range(searches + 1)
    ]
    least = math.inf
    best: tuple[Placement, ...] = ()
    for placed in answers(requests, seconds, is_cancelled, at_once=searches):
        placements = _placements(placed, shapes, sheet, width)
        # The solver's own length counts empty film before the first piece, and outlines that
        # are a little larger.
        if _reach(placements) < least:
            least, best = _reach(placements), placements
            yield placements
    if not best:
        return  # no answer came in the time
    denser = pressed(best, sheet, gap_mm, lambda: is_cancelled() or time.monotonic() > end)
    if _reach(denser) < least:
        yield denser


def _reach(placements: Sequence[Placement]) -> float:
    return max((p.polygon.bounds[2] for p in placements), default=0.0)


def _placements(
    placed: list[list[Any]], shapes: dict[str, SolverShape], sheet: Sheet, width: float
) -> tuple[Placement, ...]:
    """Return the answer as placements, pressed into the usable width and to the start."""
    raw = [shapes[name].placed(turn, x, y) for name, turn, x, y in placed]
    bounds = shapely.bounds([p.polygon for p in raw])
    m = sheet.margin_mm
    dx = sheet.start_mm - float(bounds[:, 0].min())
    # The strip began one gap below the usable width; each piece is then pressed into it.
    low = float(bounds[:, 1].min())
    free = np.clip(
        bounds[:, 1] - low, 0.0, np.maximum(width - (bounds[:, 3] - bounds[:, 1]), 0.0)
    )
    return tuple(
        Placement(p.item, p.angle_deg, p.dx_mm + dx, p.dy_mm - b + m + f)
        for p, b, f in zip(raw, bounds[:, 1].tolist(), free.tolist(), strict=True)
    )

"""Strip packing by a solver in its own process: better and better layouts of one open roll.

What the solver is known to do, and what is done about it:

* It keeps the gap from the strip's edges too: it gets the usable width and two gaps, and its
  answer is shifted back. The gap itself is a hair wider than asked, as it counts in single
  precision.
* It panics on a piece exactly as wide as the strip: the strip is a hair wider, and the answer
  is pressed back into the usable width.
* It panics on broken outlines, spikes, and outlines far from the origin: each is turned level,
  moved to the origin and simplified outwards.
* It overruns its time and cannot be told to stop: its process is ended.

It runs once for each core with other seeds: two searches on a thread each came out shorter than
one on two threads. One of them may die; the others go on.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import affine_transform, translate

from core.roll.model import Item, Placement, Sheet
from core.roll.outlines import grown_outlines
from core.roll.profiles import candidate_turns
from core.roll.room import usable_size
from core.roll.strip_workers import SolverFailed, answers

__all__ = ["SolverFailed", "strip_layouts"]

_OUTLINE_MM = 0.2
"""Outlines may grow by twice this when simplified."""
_HAIR_MM = 0.01
"""Added to the gap: over the solver's rounding, some 1e-3 mm on ten metres of film."""
_WIDER_MM = 1e-3
"""Added to the strip's width, for pieces exactly as wide."""
_FREE_STEP_DEG = 5.0
"""Turns offered where any will do; on 60 rounded pieces 5° came out 7 % shorter than 90°."""
PROCESSES = 2
"""Searches at once; more than there are cores would only take turns."""


@dataclass(frozen=True, slots=True)
class _Shape:
    """An item as the solver sees it.

    Attributes:
        base_deg: the turn that was made before; the solver's turns come on top.
        shift_mm: the move to the origin that followed it.
    """

    item: Item
    base_deg: float
    turns_deg: tuple[float, ...]
    shift_mm: tuple[float, float]
    ring: list[tuple[float, float]]


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
    shapes = {str(k): s for k, s in enumerate(_shapes(items, width))}
    gap = gap_mm + _HAIR_MM
    count = max(1, min(PROCESSES, os.cpu_count() or 1))
    requests = [
        {
            "height": width + 2 * gap + _WIDER_MM,
            "gap": gap,
            "seconds": seconds,
            "threads": 1,
            "seed": seed + k,
            "items": [[name, shape.ring, shape.turns_deg] for name, shape in shapes.items()],
        }
        for k in range(count)
    ]
    for placed in answers(requests, seconds, is_cancelled):
        yield _placements(placed, shapes, sheet, width)


def _shapes(items: Sequence[Item], width_mm: float) -> list[_Shape]:
    outlines = grown_outlines([i.polygon for i in items], 0.0, _OUTLINE_MM)
    turns = candidate_turns(items, outlines, width_mm)
    return [
        _shape(item, outline, angles)
        for item, outline, angles in zip(items, outlines, turns, strict=True)
    ]


def _shape(item: Item, outline: Polygon, angles: tuple[float, ...]) -> _Shape:
    base = angles[0]
    turned = Placement(item, base, 0.0, 0.0)
    x0, y0, x1, y1 = turned.polygon.bounds
    level = affine_transform(outline, turned.matrix)
    # Growing must not make it wider than it is: a piece may be exactly as wide as the roll.
    inside = shapely.intersection(level, shapely.box(x0, y0, x1, y1))
    simple = max(shapely.get_parts(inside), key=lambda part: part.area)
    ring = shapely.get_coordinates(translate(simple, -x0, -y0).exterior)[:-1]
    if item.angles_deg is None:
        turns = tuple(np.arange(0.0, 360.0, _FREE_STEP_DEG).tolist())
    else:
        turns = tuple((a - base) % 360.0 for a in angles)
    points = [(float(x), float(y)) for x, y in ring]
    return _Shape(item, base, turns, (-x0, -y0), points)


def _placements(
    placed: list[list[Any]], shapes: dict[str, _Shape], sheet: Sheet, width: float
) -> tuple[Placement, ...]:
    """Return the answer as placements, pressed into the usable width and to the start."""
    raw = []
    for name, turn, x, y in placed:
        shape = shapes[name]
        # The solver turns in single precision; the turn meant is the nearest that was offered.
        off = [abs((turn - t + 180.0) % 360.0 - 180.0) for t in shape.turns_deg]
        exact = shape.turns_deg[int(np.argmin(off))]
        spin = Placement(shape.item, exact, 0.0, 0.0).matrix
        sx, sy = shape.shift_mm
        dx, dy = spin[0] * sx + spin[1] * sy + x, spin[2] * sx + spin[3] * sy + y
        raw.append(Placement(shape.item, (shape.base_deg + exact) % 360.0, dx, dy))
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

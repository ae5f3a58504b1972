"""The polygon solver for fixed sheets, where it is installed (it needs Python 3.12).

It lays as much area as it can on film of any shape. It runs in a process of its own, as the
strip solver does.
"""

import importlib.util
import itertools
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import Polygon, box

from core.roll import packing_worker
from core.roll.model import Item, Placement, Sheet
from core.roll.room import Layout, split_by_room, usable_size
from core.roll.solver_shapes import solver_shapes
from core.roll.strip_workers import answers

_HAIR_MM = 0.01
"""Added to the gap and taken off the film: over the solver's rounding."""
_SCRIPT = Path(packing_worker.__file__)

Ring = list[list[float]]


@cache
def has_packing() -> bool:
    """Return whether the solver is installed."""
    return importlib.util.find_spec("packingsolver") is not None


def packing_layouts(
    items: Sequence[Item],
    sheet: Sheet,
    gap_mm: float,
    pinned: Sequence[Placement],
    seconds: float,
    is_cancelled: Callable[[], bool],
) -> Iterator[Layout]:
    """Yield better and better layouts of items on a sheet of any shape, but not an open roll.

    Layouts hold no pinned pieces and are not yet verified.

    Degenerate input: no items, or no free film, give no layout.

    Raises:
        SolverFailed: when its process dies.
    """
    fitting, _ = split_by_room(items, *usable_size(sheet))
    bins = _parts(sheet)
    if not fitting or not bins:
        return
    shapes = {
        str(k): shape
        for k, shape in enumerate(solver_shapes(fitting, usable_size(sheet)[1], 90.0))
    }
    request: dict[str, Any] = {
        "gap": gap_mm + _HAIR_MM,
        "seconds": seconds,
        "bins": [[_ring(p.exterior), [_ring(h) for h in p.interiors]] for p in bins],
        "pinned": [
            [k, _ring(p.polygon.exterior)]
            for k, part in enumerate(bins)
            for p in pinned
            if part.intersects(p.polygon)
        ],
        "items": [[name, s.ring, s.turns_deg] for name, s in shapes.items()],
    }
    for placed in answers([request], seconds, is_cancelled, _SCRIPT):
        laid = tuple(shapes[name].placed(turn, x, y) for name, turn, x, y in placed)
        on_it = {p.item.key for p in laid}
        ends = [p.polygon.bounds[2] for p in (*laid, *pinned)]
        left = tuple(i for i in items if i.key not in on_it)
        yield Layout(laid, left, max(ends) - sheet.start_mm)


def _parts(sheet: Sheet) -> list[Polygon]:
    """Return the free film in one piece each, parted where the machine's feeds end."""
    area = sheet.free()
    if area.is_empty:
        return []
    feeds = [area]
    if sheet.section_mm is not None:
        ends = np.arange(0.0, area.bounds[2] + sheet.section_mm, sheet.section_mm)
        boxes = [box(a, 0.0, b, sheet.width_mm) for a, b in itertools.pairwise(ends)]
        feeds = list(shapely.intersection(np.array(boxes, dtype=object), area))
    less = [feed.buffer(-_HAIR_MM, join_style="mitre") for feed in feeds]
    return [p for feed in less for p in shapely.get_parts(feed) if p.area > 0]


def _ring(ring: shapely.LinearRing) -> Ring:
    points: Ring = shapely.get_coordinates(ring)[:-1].tolist()
    return points if ring.is_ccw else points[::-1]

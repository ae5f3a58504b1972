"""Shapes as they are seen from afar: with no more points than a screen lets tell apart."""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry, LineString, Polygon

from core.tolerance import FLATTEN_MM

Points = NDArray[np.float64]


def coarseness_mm(px_mm: float) -> float:
    """Return how far lines may stray unseen: an eighth to a quarter of a screen pixel.

    It is a power of two, so that a shape made for it serves a range of zooms. Zero where curves
    were flattened no finer anyway.

    Args:
        px_mm: how many millimetres a screen pixel shows.

    >>> coarseness_mm(4.0), coarseness_mm(7.9), coarseness_mm(0.1)
    (1.0, 1.0, 0.0)
    """
    stray = 2.0 ** math.floor(math.log2(px_mm / 4))
    return stray if stray > FLATTEN_MM else 0.0


def coarse_runs(shapes: Sequence[Geometry], stray_mm: float) -> list[Points]:
    """Return the rings and lines of shapes with fewer points, none further off than that.

    Returns:
        Arrays of shape (n, 2); those of rings are closed: the last point is the first.
        They are for show only: a thin neck may close.

    Degenerate input: empty shapes give nothing; a ring smaller than the stray gives a line.
    """
    lines = [line for shape in shapes for line in _runs_of(shape)]
    if not lines:
        return []
    seen = shapely.simplify(lines, stray_mm, preserve_topology=False)
    return [shapely.get_coordinates(line) for line in seen]


def _runs_of(shape: Geometry) -> list[LineString]:
    runs: list[LineString] = []
    for part in shapely.get_parts(shape):
        rings = shapely.get_rings(part) if isinstance(part, Polygon) else [part]
        runs += [LineString(shapely.get_coordinates(r)) for r in rings if not r.is_empty]
    return runs

"""Outlines made simpler for the layout engines, outwards only: each contains the true one."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

_MITRE_LIMIT = 1.5
"""Keeps sharp tips from growing long; a limited mitre still contains the round one."""
_BUFFER_ERROR = 0.01
"""The buffer is made to a hundredth of its distance (GEOS simplifies its input so)."""


def grown_outlines(
    polygons: Sequence[Polygon], by_mm: float, tolerance_mm: float
) -> NDArray[np.object_]:
    """Return outlines of few corners that contain all within ``by_mm`` of the polygons.

    Openings are dropped. An outline lies at most ``by_mm + 2 * tolerance_mm`` outside the true
    one, times the mitre limit at sharp tips.

    Degenerate input: an empty sequence gives an empty array.
    """
    shapes = np.empty(len(polygons), dtype=object)
    shapes[:] = polygons
    rings = shapely.get_exterior_ring(shapes)
    # Dropping corners moves an outline by at most the tolerance; growing by it makes that good.
    # As a line, not a ring: of a ring the first corner may go too, and then it moves by more.
    coords, ring = shapely.get_coordinates(rings, return_index=True)
    lines = np.asarray(shapely.linestrings(coords, indices=ring))
    fewer: NDArray[np.object_] = shapely.simplify(lines, tolerance_mm, preserve_topology=False)
    simple = _polygons(fewer)
    is_broken = ~shapely.is_valid(simple) | shapely.is_empty(simple)
    simple[is_broken] = shapely.polygons(rings[is_broken])
    distance = (by_mm + tolerance_mm) * (1 + _BUFFER_ERROR)
    grown: NDArray[np.object_] = shapely.buffer(
        simple, distance, join_style="mitre", mitre_limit=_MITRE_LIMIT
    )
    return _polygons(shapely.get_exterior_ring(grown))


def _polygons(closed: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return closed lines as polygons; a line of under three corners as an empty polygon."""
    is_ring = shapely.get_num_coordinates(closed) >= 4
    polygons = np.full(len(closed), Polygon(), dtype=object)
    coords, ring = shapely.get_coordinates(closed[is_ring], return_index=True)
    polygons[is_ring] = shapely.polygons(shapely.linearrings(coords, indices=ring))
    return polygons

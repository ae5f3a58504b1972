"""Outlines made simpler for the layout engines, outwards only: each contains the true one."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

_MITRE_LIMIT = 1.5
"""Keeps sharp tips from growing long; a limited mitre still contains the round one."""


def grown_outlines(
    polygons: Sequence[Polygon], by_mm: float, tolerance_mm: float
) -> NDArray[np.object_]:
    """Return outlines that contain everything within ``by_mm`` of the polygons, with few corners.

    Openings are dropped. An outline lies at most ``by_mm + 2 * tolerance_mm`` outside the true
    one, times the mitre limit at sharp tips.

    Degenerate input: an empty sequence gives an empty array.
    """
    shapes = np.empty(len(polygons), dtype=object)
    shapes[:] = polygons
    rings = shapely.get_exterior_ring(shapes)
    # Dropping corners moves an outline by at most the tolerance; growing by it makes that good.
    simple = shapely.polygons(shapely.simplify(rings, tolerance_mm, preserve_topology=False))
    is_broken = ~shapely.is_valid(simple) | shapely.is_empty(simple)
    simple[is_broken] = shapely.polygons(rings[is_broken])
    grown = shapely.buffer(
        simple, by_mm + tolerance_mm, join_style="mitre", mitre_limit=_MITRE_LIMIT
    )
    return shapely.polygons(shapely.get_exterior_ring(grown))

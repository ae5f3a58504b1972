"""Hatching: parallel lines over an area, as geometry, so that every reader draws them alike."""

import math

import numpy as np
import shapely
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry


def hatch_lines(area: BaseGeometry, spacing_mm: float, angle_deg: float) -> MultiLineString:
    """Return lines over an area, evenly spaced and in step with the origin.

    Two areas hatched alike join without a step, as all lines are multiples of the spacing away
    from the origin.

    Degenerate input: an empty area gives no lines.

    >>> from shapely import box
    >>> hatch_lines(box(1, 1, 9, 29), 10, 0).length
    16.0
    """
    if area.is_empty:
        return MultiLineString()
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    corners = shapely.get_coordinates(shapely.box(*area.bounds))
    along, across = corners @ (c, s), corners @ (-s, c)
    offsets = np.arange(
        math.ceil(across.min() / spacing_mm), math.floor(across.max() / spacing_mm) + 1
    )
    turn = np.array([[c, s], [-s, c]])
    ends = np.empty((len(offsets), 2, 2))
    ends[:, :, 0] = along.min() - 1, along.max() + 1
    ends[:, :, 1] = (offsets * spacing_mm)[:, None]
    cut = shapely.intersection(shapely.multilinestrings(shapely.linestrings(ends @ turn)), area)
    parts = shapely.get_parts(cut)
    found = shapely.multilinestrings(parts[shapely.length(parts) > 0])
    assert isinstance(found, MultiLineString)
    return found

"""Relief cuts: from the rim inwards, where film is most in surplus.

They help to about half the way to the middle; deeper ones add hardly anything (measured on a
deep tank), so none is tried.
"""

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.shape.clip import clip_network
from core.shape.flattening import flatten
from core.shape.model import Network, Points
from core.shape.topology import rim_triangles

COUNTS = (2, 4, 6)
DEPTHS = (0.3, 0.5)
_TRIANGLES = 900


def relief_cuts(network: Network, area: Polygon, count: int, depth: float) -> list[LineString]:
    """Return so many cuts from the outer rim towards the middle.

    Args:
        network: the panel's surface.
        area: in the map.
        count: how many.
        depth: which share of the way to the middle.
    """
    piece = clip_network(network, area, _TRIANGLES)
    strains = flatten(piece).strains
    numbers = rim_triangles(piece)
    middles = piece.at[piece.triangles[numbers]].mean(axis=1)
    rim = area.exterior
    along = np.array([rim.project(shapely.Point(p)) for p in middles])
    near = np.array([rim.distance(shapely.Point(p)) for p in middles]) < np.sqrt(area.area) / 8
    order = np.argsort(strains[numbers, 0])
    places: list[float] = []
    apart = rim.length / count * 0.6
    for i in order.tolist():
        if near[i] and all(_way(along[i], p, rim.length) > apart for p in places):
            places.append(float(along[i]))
        if len(places) == count:
            break
    middle = _inner_point(area)
    return [_cut(rim, place, middle, depth) for place in sorted(places)]


def _cut(rim: shapely.LinearRing, place: float, middle: Points, depth: float) -> LineString:
    start = np.asarray(rim.interpolate(place).coords[0])
    return LineString([start, start + depth * (middle - start)])


def _inner_point(area: Polygon) -> Points:
    middle = area.centroid if area.contains(area.centroid) else area.representative_point()
    return np.asarray(middle.coords[0])


def _way(a: float, b: float, around: float) -> float:
    straight = abs(a - b)
    return min(straight, around - straight)

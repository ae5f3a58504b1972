"""Networks and developments mirrored in x: what a pair's right panel has."""

import numpy as np
import shapely
from shapely import Polygon

from core.shape.model import Development, FilmCut, Laying, Network, Points

_MIRROR = np.array([-1.0, 1.0])
_REVERSED = [0, 2, 1]
"""Corners in this order run counter-clockwise again after mirroring."""


def mirrored_network(network: Network) -> Network:
    """Return the network with its map mirrored in x."""
    return Network(
        at=network.at * _MIRROR,
        triangles=network.triangles[:, _REVERSED],
        sides=network.sides[:, _REVERSED],
    )


def mirrored_development(development: Development) -> Development:
    """Return the development of the mirrored area: the same film, mirrored in x."""
    laying = development.laying
    return Development(
        outline=mirrored_polygon(development.outline),
        network=mirrored_network(development.network),
        laying=Laying(points=mirrored_points(laying.points), strains=laying.strains),
        range_pct=development.range_pct,
        cuts=tuple(
            FilmCut(mirrored_points(cut.right), mirrored_points(cut.left))
            for cut in development.cuts
        ),
    )


def mirrored_points(points: Points) -> Points:
    """Return points mirrored in x."""
    return np.asarray(points * _MIRROR)


def mirrored_polygon(polygon: Polygon) -> Polygon:
    """Return a polygon mirrored in x, its outer ring counter-clockwise again."""
    turned: Polygon = shapely.orient_polygons(shapely.transform(polygon, mirrored_points))
    return turned

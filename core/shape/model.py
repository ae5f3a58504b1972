"""The words of shape: networks, layings, developments.

A surface is known by lengths alone: a triangle network over the panel's flat map. Where its
vertices stand in space is not needed, and for a part measured with a tape not known.

Strain is laid length over flat length, minus one: below zero film is in surplus and bunches,
above it is stretched.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

Points = NDArray[np.float64]
Triangles = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Network:
    """A piece of surface as triangles of known side lengths.

    Attributes:
        at: shape (n, 2), mm: where each vertex lies in the panel's flat map.
        triangles: shape (m, 3), vertex numbers, counter-clockwise in the map.
        sides: shape (m, 3), mm on the surface: the i-th lies opposite the i-th corner.
    """

    at: Points
    triangles: Triangles
    sides: Points

    @cached_property
    def areas(self) -> Points:
        """Area of each triangle on the surface, shape (m,), mm² (Heron, in Kahan's form)."""
        a, b, c = np.sort(self.sides, axis=1).T[::-1]
        product = (a + (b + c)) * (c - (a - b)) * (c + (a - b)) * (a + (b - c))
        return np.asarray(np.sqrt(np.maximum(product, 0.0)) / 4)


@dataclass(frozen=True, eq=False)
class Laying:
    """Film laid on a network: where each vertex lies in the flat film, and what it suffers.

    Attributes:
        points: shape (n, 2), mm, in the flat film.
        strains: shape (m, 2): least and greatest principal strain of each triangle, as
            fractions.
    """

    points: Points
    strains: Points


@dataclass(frozen=True, eq=False)
class Development:
    """The flat film shape of an area of a panel.

    The film's frame is the map's as nearly as can be: turned and moved, never mirrored, so
    that flow arrow and grain keep their direction.

    Attributes:
        outline: the film shape of the area, mm.
        network: the area's own part of the surface, cut off along its rim.
        laying: the film on it that costs least force.
        range_pct: the stretch from the most bunched to the most stretched place that the best
            worked laying still needs: (1 + e_max) / (1 + e_min) - 1.
    """

    outline: Polygon
    network: Network
    laying: Laying
    range_pct: float


@dataclass(frozen=True)
class Window:
    """How much length film can lose and gain, in percent.

    Attributes:
        bunching_pct: how much too long film may be and still be laid without a wrinkle.
        stretch_pct: how far it may be pulled.
    """

    bunching_pct: float
    stretch_pct: float

    @property
    def range_pct(self) -> float:
        """The greatest range of strain that the film can take."""
        return 100 * ((1 + self.stretch_pct / 100) / (1 - self.bunching_pct / 100) - 1)


NO_SCANS: Mapping[str, Network] = MappingProxyType({})

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
import shapely
from numpy.typing import NDArray
from shapely import Polygon

Points = NDArray[np.float64]
Triangles = NDArray[np.int64]


GAP_MM = 0.2
"""The banks of a cut are so far apart before they are laid flat."""
OPENS_MM = 0.5
"""A cut that opens less than this is cut as a line without width."""


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
class FilmCut:
    """What becomes of a relief cut when film is laid flat.

    Attributes:
        left, right: its banks, shape (n, 2) each, from the rim to the inner end, seen that way.
    """

    left: Points
    right: Points

    @cached_property
    def widths_mm(self) -> Points:
        """How far the banks stand apart, from the rim inwards; below zero they overlie."""
        ahead = np.gradient(self.middle, axis=0)
        ahead = ahead / np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]), 1e-12)[:, None]
        apart = self.left - self.right
        return np.asarray(apart[:, 1] * ahead[:, 0] - apart[:, 0] * ahead[:, 1]) - GAP_MM

    @property
    def middle(self) -> Points:
        """The way between the banks, from the rim to the inner end."""
        return np.asarray((self.left + self.right) / 2)

    @property
    def opening_mm(self) -> float:
        """How far it opens where it opens most; 0 where it does not."""
        return max(0.0, float(self.widths_mm.max()))

    @property
    def closing_mm(self) -> float:
        """How far its banks overlie each other where they do most; 0 where they do not."""
        return max(0.0, -float(self.widths_mm.min()))

    @property
    def is_open(self) -> bool:
        """Whether it opens far enough to be cut as a notch."""
        return self.opening_mm >= OPENS_MM

    @property
    def notch(self) -> Polygon:
        """What is taken out of the film; the banks never nearer than the gap was."""
        ahead = np.gradient(self.middle, axis=0)
        ahead = ahead / np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]), 1e-12)[:, None]
        aside = np.column_stack((-ahead[:, 1], ahead[:, 0]))
        lacking = np.maximum(-self.widths_mm, 0.0)[:, None] / 2
        left, right = self.left + aside * lacking, self.right - aside * lacking
        return _sound(Polygon(np.vstack((left, right[::-1]))))


def _sound(shape: Polygon) -> Polygon:
    """Return the largest part of a shape that may cross itself."""
    if shape.is_valid:
        return shape
    parts = shapely.get_parts(shapely.make_valid(shape, method="structure"))
    largest = max(parts, key=lambda part: float(part.area), default=Polygon())
    return largest if isinstance(largest, Polygon) else Polygon()


@dataclass(frozen=True, eq=False)
class Development:
    """The flat film shape of an area of a panel.

    The film's frame is the map's as nearly as can be: turned and moved, never mirrored, so
    that flow arrow and grain keep their direction.

    Attributes:
        outline: the film shape of the area, mm, with a notch where a relief cut opens.
        network: the area's own part of the surface, cut off along its rim.
        laying: the film on it that costs least force.
        range_pct: the stretch from the most bunched to the most stretched place that the best
            worked laying still needs: (1 + e_max) / (1 + e_min) - 1.
        cuts: what becomes of its relief cuts.
    """

    outline: Polygon
    network: Network
    laying: Laying
    range_pct: float
    cuts: tuple[FilmCut, ...] = ()


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

"""What pieces cost: the range of strain of an area, on a coarse mesh, reckoned once."""

from collections.abc import Callable

import numpy as np
import shapely
from shapely import Polygon

from core.progress import Progress, stop_if_cancelled
from core.shape.clip import clip_network
from core.shape.descent import Patience
from core.shape.elements import elements_of
from core.shape.energies import Membrane
from core.shape.flattening import first_layout, relaxed
from core.shape.judging import QUICK_DOUBLINGS, range_of, worked
from core.shape.model import Network
from core.shape.proposals.families import Family
from core.shape.threads import one_thread

COARSE_TRIANGLES = 180
_FREE_PATIENCE = Patience(steps=60, gain=1e-3)
_PATIENCE = Patience(steps=10, gain=1e-2)
_CRUMB_MM2 = 400.0
"""Smaller bits of a piece are corners that a line cut off; they lie anyhow."""


def parts_of(area: shapely.Geometry) -> list[Polygon]:
    """Return the polygons of an area that are large enough to matter."""
    return [
        part
        for part in shapely.get_parts(area)
        if isinstance(part, Polygon) and part.area > _CRUMB_MM2
    ]


def quick_range(network: Network, area: Polygon, triangles: int = COARSE_TRIANGLES) -> float:
    """Return the range of strain of an area in percent, rather too high, by some 5 %."""
    piece = clip_network(network, area, triangles)
    elements = elements_of(piece)
    with one_thread():
        start = first_layout(piece, elements)
        # A strip must first bend as a whole; only then is it worth working.
        free = relaxed(elements, Membrane(), start, None, _FREE_PATIENCE)
        film = worked(elements, free, None, QUICK_DOUBLINGS, _PATIENCE)
    return range_of(elements.strains(film), elements.areas)


class StripCosts:
    """The ranges of the pieces between lines of a family, each reckoned when first asked."""

    def __init__(
        self, network: Network, area: Polygon, family: Family, progress: Progress
    ) -> None:
        self._network, self._area, self._family = network, area, family
        self._progress = progress
        self._ranges: dict[tuple[float, float], float] = {}
        self._below: dict[float, shapely.Geometry] = {}

    def pieces_between(self, low: float, high: float) -> list[Polygon]:
        """Return the pieces between two lines."""
        return parts_of(shapely.difference(self.below(high), self.below(low)))

    def range_between(self, low: float, high: float) -> float:
        """Return the range of the worst piece between two lines, in percent."""
        found = self._ranges.get((low, high))
        if found is None:
            stop_if_cancelled(self._progress)
            pieces = self.pieces_between(low, high)
            ranges = [quick_range(self._network, piece) for piece in pieces]
            found = self._ranges[(low, high)] = max(ranges, default=0.0)
        return found

    def seam_mm(self, number: float) -> float:
        """Return the length of a line on the area, in the map."""
        inside = shapely.intersection(self._family.line_at(number), self._area)
        return float(shapely.length(inside))

    def below(self, number: float) -> shapely.Geometry:
        """Return the part of the area on the low side of a line."""
        found = self._below.get(number)
        if found is None:
            found = self._below[number] = self._low_side(number)
        return found

    def _low_side(self, number: float) -> shapely.Geometry:
        family = self._family
        if number <= family.low:
            return Polygon()
        if number >= family.high:
            return self._area
        return low_side(self._area, family.line_at(number), family.value_at, number)


def low_side(
    area: Polygon,
    line: shapely.Geometry,
    value_at: Callable[[np.ndarray], np.ndarray],
    number: float,
) -> shapely.Geometry:
    """Return the faces of an area, cut by a line, in which a field is below a number."""
    noded = shapely.union_all([area.boundary, line])
    faces = shapely.get_parts(shapely.polygonize([noded]))
    middles = np.array([face.representative_point().coords[0] for face in faces])
    if not len(faces):
        return area
    inside = shapely.contains_xy(area, middles)
    # A face belongs to the side on which most of it lies, not one point of it.
    values = np.array([_mean_value(face, value_at) for face in faces])
    return shapely.union_all(np.array(faces)[inside & (values < number)])


def _mean_value(face: Polygon, value_at: Callable[[np.ndarray], np.ndarray]) -> float:
    corners = np.asarray(face.exterior.coords)[:-1]
    middle = face.representative_point().coords[0]
    return float(np.median(value_at(np.vstack((corners, [middle] * len(corners))))))

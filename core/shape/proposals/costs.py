"""What pieces cost: the range of strain of an area, on a coarse mesh, reckoned once."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.progress import Progress, stop_if_cancelled
from core.shape.clip import clip_network
from core.shape.descent import Patience
from core.shape.elements import elements_of
from core.shape.energies import Membrane
from core.shape.flattening import first_layout, relaxed
from core.shape.judging import QUICK_DOUBLINGS, range_of, worked
from core.shape.model import GAP_MM, Network
from core.shape.proposals.families import Family
from core.shape.threads import one_thread

COARSE_TRIANGLES = 180
_FREE_PATIENCE = Patience(steps=60, gain=1e-3)
_PATIENCE = Patience(steps=10, gain=1e-2)
_HOPELESS, _WORKED_SHARE = 1.8, 0.8
"""A free laying needs at most a third more than a worked one, measured on ten surfaces."""
_CRUMB_MM2 = 400.0
"""Smaller bits of a piece are corners that a line cut off; they lie anyhow."""
_ON_LINE_MM = 0.01
_SAME_LINE_MM, _SAME_SHARE = 3.0, 0.2


def parts_of(area: shapely.Geometry) -> list[Polygon]:
    """Return the polygons of an area that are large enough to matter."""
    return [
        part
        for part in shapely.get_parts(area)
        if isinstance(part, Polygon) and part.area > _CRUMB_MM2
    ]


def quick_range(
    network: Network,
    area: Polygon,
    triangles: int = COARSE_TRIANGLES,
    enough: float = np.inf,
) -> float:
    """Return the range of strain of an area in percent, rather too high, by some 5 %.

    Args:
        network: the panel's surface.
        area: in the map.
        triangles: about how many to reckon with.
        enough: where it is far more than this, a rough answer does.
    """
    piece = clip_network(network, area, triangles)
    elements = elements_of(piece)
    with one_thread():
        start = first_layout(piece, elements)
        # A strip must first bend as a whole; only then is it worth working.
        free = relaxed(elements, Membrane(), start, None, _FREE_PATIENCE)
        found = range_of(elements.strains(free), elements.areas)
        if found > _HOPELESS * enough:
            return _WORKED_SHARE * found
        film = worked(elements, free, None, QUICK_DOUBLINGS, _PATIENCE)
    return range_of(elements.strains(film), elements.areas)


@dataclass(frozen=True, eq=False)
class Ground:
    """What is to be divided.

    Attributes:
        network: the panel's surface.
        area: the whole panel, in the map.
        faces: the pieces that are to be divided further.
        drawn: the lines that divide the panel already, as one geometry; new ones along them
            are none.
        hidden: where seams are hidden.
    """

    network: Network
    area: Polygon
    faces: tuple[Polygon, ...]
    drawn: shapely.Geometry = field(default_factory=LineString)
    hidden: shapely.Geometry = field(default_factory=Polygon)

    @cached_property
    def _along_drawn(self) -> shapely.Geometry:
        return shapely.buffer(self.drawn, _SAME_LINE_MM, cap_style="flat")

    @cached_property
    def _closed(self) -> shapely.Geometry:
        """The faces without the gaps of relief cuts: a seam runs on over those."""
        wide = shapely.buffer(shapely.union_all(self.faces), GAP_MM, join_style="mitre")
        return shapely.buffer(wide, -GAP_MM, join_style="mitre")

    def new_part(self, line: shapely.Geometry) -> shapely.Geometry:
        """Return what of a line lies on the faces and not along a line that is drawn."""
        inside = shapely.intersection(line, self._closed)
        if shapely.is_empty(self.drawn):
            return inside
        along = shapely.intersection(inside, self._along_drawn)
        if shapely.length(along) < _SAME_SHARE * shapely.length(inside):
            return inside  # it only crosses what is drawn
        return shapely.difference(inside, self._along_drawn)


class StripCosts:
    """The ranges of the pieces between lines of a family, each reckoned when first asked."""

    def __init__(self, ground: Ground, family: Family, progress: Progress) -> None:
        self._ground, self._family, self._progress = ground, family, progress
        self._ranges: dict[tuple[float, float], float] = {}
        self._pieces: dict[tuple[int, float, float], float] = {}
        self._below: dict[float, list[shapely.Geometry]] = {}

    def pieces_between(self, low: float, high: float) -> list[Polygon]:
        """Return the pieces between two lines."""
        sides = zip(self.below(high), self.below(low), strict=True)
        return [part for up, down in sides for part in parts_of(shapely.difference(up, down))]

    def range_between(self, low: float, high: float, enough: float = np.inf) -> float:
        """Return the range of the worst piece between two lines, in percent.

        Args:
            low: number of the first line.
            high: of the second.
            enough: as soon as a piece needs more than this, about what it needs is returned.
        """
        found = self._ranges.get((low, high))
        if found is not None:
            return found
        stop_if_cancelled(self._progress)
        worst = 0.0
        pieces = self.pieces_between(low, high)
        for piece in sorted(pieces, key=lambda piece: -piece.area):
            worst = max(worst, self._needed(piece, enough))
            if worst > enough:
                return worst
        self._ranges[low, high] = worst
        return worst

    def _needed(self, piece: Polygon, enough: float) -> float:
        """Return what a piece needs; strips that end off a face have the same pieces there."""
        middle = piece.centroid
        place = round(piece.area), round(middle.x, 2), round(middle.y, 2)
        found = self._pieces.get(place)
        if found is None:
            found = quick_range(self._ground.network, piece, enough=enough)
            if found <= enough:
                self._pieces[place] = found
        return found

    def seam_mm(self, number: float) -> float:
        """Return how long a line is to the eye: in the map, where it is new and not hidden."""
        line = self._ground.new_part(self._family.line_at(number))
        hidden = shapely.intersection(line, self._ground.hidden)
        return float(shapely.length(line) - shapely.length(hidden) / 2)

    def below(self, number: float) -> list[shapely.Geometry]:
        """Return, of each face, the part on the low side of a line."""
        found = self._below.get(number)
        if found is None:
            found = [self._low_side(face, number) for face in self._ground.faces]
            self._below[number] = found
        return found

    def _low_side(self, face: Polygon, number: float) -> shapely.Geometry:
        family = self._family
        if number <= family.low:
            return Polygon()
        if number >= family.high:
            return face
        return low_side(face, family.line_at(number), family.value_at, number)


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
    values = np.array([_mean_value(face, line, value_at) for face in faces])
    return shapely.union_all(np.array(faces)[inside & (values < number)])


def _mean_value(
    face: Polygon, line: shapely.Geometry, value_at: Callable[[np.ndarray], np.ndarray]
) -> float:
    """Return about what a face's number is: that of most of its corners off the line.

    A face belongs to the side on which most of it lies, not one point of it.
    """
    corners = np.asarray(face.exterior.coords)[:-1]
    off = corners[shapely.distance(line, shapely.points(corners)) > _ON_LINE_MM]
    middle = face.representative_point().coords[0]
    weighed = np.vstack((off, [middle] * max(len(off), 1)))
    return float(np.median(value_at(weighed)))

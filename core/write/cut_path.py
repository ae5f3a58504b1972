"""The way of the knife: in which order lines are cut, where each starts, how it closes.

Openings and lines within a piece are cut before the outline about them, and what lies in an
opening before that: film that is cut free may shift. Within this the order keeps the travel
between cuts short. What is drawn by a pen comes first, in the order of the pieces.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, LineString

from core.write.cut_starts import ring_from, start_places
from core.write.drawing import Drawing, Run, Shape
from core.write.tour import chosen_ways, short_tour

Points = NDArray[np.float64]
Indices = NDArray[np.intp]


_CLEAR_MM = 10.0


@dataclass(frozen=True)
class _Cut:
    """One line to be cut.

    Attributes:
        ends: of the open lines within the same piece, shape (n, 2).
    """

    shape: Shape
    run: Run
    ends: Points

    @cached_property
    def starts(self) -> Points:
        """Where it may be begun: lengths along a ring; of an open line either end.

        Not where a line within meets the ring: a knife that sets in there lifts the corners.
        """
        if not self.run.is_closed:
            return np.arange(2.0)
        places = start_places(self.run.points)
        if not len(self.ends):
            return places
        ring = LinearRing(self.run.points)
        at = np.array(shapely.line_interpolate_point(ring, places), dtype=object)
        is_near = shapely.distance(at, shapely.multipoints(self.ends)) < _CLEAR_MM
        length = float(shapely.length(ring))
        return np.asarray(np.where(is_near, (places + 2 * _CLEAR_MM) % length, places))

    @cached_property
    def entries(self) -> Points:
        """The points of ``starts``."""
        if not self.run.is_closed:
            return self.run.points[[0, -1]]
        line = shapely.linearrings(self.run.points)
        return shapely.get_coordinates(shapely.line_interpolate_point(line, self.starts))

    @property
    def exits(self) -> Points:
        """Where each way of cutting it ends, but for the overcut."""
        return self.entries if self.run.is_closed else self.entries[::-1]

    def cut(self, way: int, overcut_mm: float) -> Shape:
        """Return it as a shape of one run, cut that way."""
        if self.run.is_closed:
            points = ring_from(self.run.points, float(self.starts[way]), overcut_mm)
        else:
            points = self.run.points[::-1] if way else self.run.points
        is_ring = self.run.is_closed and overcut_mm <= 0
        run = Run(points, is_closed=is_ring, is_opening=self.run.is_opening)
        return replace(self.shape, runs=(run,))


def ordered_cuts(drawing: Drawing, overcut_mm: float) -> Drawing:
    """Return the drawing with its cuts in order, each a shape of its own, after all else.

    Args:
        drawing: its cut layers hold rings, and open lines within them or where pieces are cut
            in parts.
        overcut_mm: rings become lines that run on over their beginning; 0 leaves them rings.
    """
    cuts, others = [], []
    for shape in drawing.shapes:
        if drawing.purpose(shape.layer).is_cut:
            ends = [r.points[[0, -1]] for r in shape.runs if r.is_opening and not r.is_closed]
            met = np.vstack(ends) if ends else np.empty((0, 2))
            cuts += [_Cut(shape, run, met) for run in shape.runs]
        else:
            others.append(shape)
    order = _cut_order(cuts)
    here = np.zeros(2)
    ways = chosen_ways([(cuts[i].entries, cuts[i].exits) for i in order], here)
    shapes = [cuts[i].cut(way, overcut_mm) for i, way in zip(order, ways, strict=True)]
    place: dict[str, int] = {}
    for shape in shapes:
        place.setdefault(shape.source, len(place))
    drawn = sorted(others, key=lambda shape: place.get(shape.source, -1))
    texts = sorted(drawing.texts, key=lambda text: place.get(text.source, -1))
    return replace(drawing, shapes=(*drawn, *shapes), texts=tuple(texts))


def _cut_order(cuts: Sequence[_Cut]) -> list[int]:
    """Return the order: rings from the inside out, each after what lies in it; then open lines.

    Open lines are those that lie in no ring, of openings first.
    """
    rings = [i for i, cut in enumerate(cuts) if cut.run.is_closed]
    lines = [i for i, cut in enumerate(cuts) if not cut.run.is_closed]
    around = _rings_around([cuts[i].run.points for i in rings])
    inside: dict[int | None, list[int]] = {}
    for i, parent in zip(rings, around, strict=True):
        inside.setdefault(None if parent is None else rings[parent], []).append(i)
    within = [i for i in lines if cuts[i].run.is_opening]
    for i, ring in _rings_of_lines(cuts, within, rings):
        inside.setdefault(ring, []).append(i)
        lines.remove(i)
    order: list[int] = []
    here = np.zeros(2)
    for i in _toured(cuts, inside.get(None, []), here):
        order += _inside_out(cuts, inside, i)
        here = cuts[i].entries[0]
    for is_opening in (True, False):
        loose = [i for i in lines if cuts[i].run.is_opening is is_opening]
        order += _toured(cuts, loose, here)
        here = cuts[order[-1]].exits[0] if order else here
    return order


def _inside_out(
    cuts: Sequence[_Cut], inside: dict[int | None, list[int]], ring: int
) -> list[int]:
    """Return what lies in a ring, from the inside out, and the ring itself last."""
    order: list[int] = []
    stack = [(ring, False)]
    while stack:
        at, is_done = stack.pop()
        within = inside.get(at, [])
        if is_done or not within:
            order.append(at)
        else:
            stack.append((at, True))
            # The tour starts where the ring will: what is taken off the stack first is far.
            stack += [(i, False) for i in _toured(cuts, within, cuts[at].entries[0])]
    return order


def _toured(cuts: Sequence[_Cut], which: Sequence[int], here: Points) -> list[int]:
    """Return some cuts in an order of short travel from a point."""
    if len(which) < 2:
        return list(which)
    places = np.array([cuts[i].entries[0] for i in which])
    return [which[i] for i in short_tour(places, here)]


def _rings_of_lines(
    cuts: Sequence[_Cut], lines: Sequence[int], rings: Sequence[int]
) -> list[tuple[int, int]]:
    """Return each open line that lies in a ring, with the smallest that it lies in."""
    if not lines or not rings:
        return []
    areas = np.array([shapely.Polygon(cuts[i].run.points) for i in rings], dtype=object)
    sizes = shapely.area(areas)
    drawn = [LineString(cuts[i].run.points) for i in lines]
    middles = [line.interpolate(0.5, normalized=True) for line in drawn]
    found: dict[int, int] = {}
    who, whom = shapely.STRtree(areas).query(middles, predicate="within")
    for i, j in zip(who.tolist(), whom.tolist(), strict=True):
        if i not in found or sizes[j] < sizes[found[i]]:
            found[i] = j
    return [(lines[i], rings[j]) for i, j in found.items()]


def _rings_around(rings: Sequence[Points]) -> list[int | None]:
    """Return for each ring the smallest other one that it lies in."""
    if not rings:
        return []
    areas = np.array([shapely.Polygon(ring) for ring in rings], dtype=object)
    sizes = shapely.area(areas)
    inner = shapely.points([ring[0] for ring in rings])
    parents: list[int | None] = [None] * len(rings)
    who, whom = shapely.STRtree(areas).query(inner, predicate="intersects")
    for i, j in zip(who.tolist(), whom.tolist(), strict=True):
        parent = parents[i]
        if sizes[j] > sizes[i] and (parent is None or sizes[j] < sizes[parent]):
            parents[i] = j
    return parents


@dataclass(frozen=True, slots=True)
class CutLengths:
    """How far the tool goes: along what it cuts, and lifted between the cuts."""

    cut_mm: float
    travel_mm: float


def cut_lengths(drawing: Drawing) -> CutLengths:
    """Return how far the knife goes through a drawing, from the origin, in its order."""
    here, cut, travel = np.zeros(2), 0.0, 0.0
    for run in cut_runs(drawing.shapes, drawing):
        points = np.vstack([run.points, run.points[:1]]) if run.is_closed else run.points
        travel += float(np.hypot(*(points[0] - here)))
        cut += float(np.hypot(*np.diff(points, axis=0).T).sum())
        here = points[-1]
    return CutLengths(cut, travel)


def cut_runs(shapes: Iterable[Shape], drawing: Drawing) -> list[Run]:
    """Return the runs that are cut, in order."""
    return [r for s in shapes if drawing.purpose(s.layer).is_cut for r in s.runs]

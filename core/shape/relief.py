"""Areas with relief cuts: opened before they are laid flat, and the notches that follow.

A cut is opened by a gap far narrower than anything that is drawn, so that the two banks of it
part as the film wants. Laid flat, they stand apart where film was in surplus (a dome: it lacks
angle) and would lie over each other where it was short (a saddle).
"""

import math

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.shape.model import GAP_MM, FilmCut, Points

_TOUCH_MM = 1e-6
_BEYOND_MM = 1.0
_STATIONS = 40
_PLACES = 3
"""Stations are no nearer to each other than so many decimals of the whole."""


def opened(area: Polygon, cuts: tuple[LineString, ...] | list[LineString]) -> Polygon:
    """Return an area that is open along cuts; its largest part, should they divide it."""
    if not cuts:
        return area
    gaps = shapely.union_all([_run_out(c).buffer(GAP_MM / 2, cap_style="flat") for c in cuts])
    parts = shapely.get_parts(shapely.difference(area, gaps))
    largest: Polygon = max(parts, key=lambda part: float(part.area))
    return largest


def _run_out(cut: LineString) -> LineString:
    """Return a cut a little longer at the rim, so that its gap opens it at any slant."""
    (ax, ay), (bx, by) = cut.coords[0], cut.coords[1]
    share = _BEYOND_MM / max(math.hypot(ax - bx, ay - by), 1e-9)
    return LineString([(ax + (ax - bx) * share, ay + (ay - by) * share), *cut.coords])


def without_cuts(
    ring: Points, film: Points, cuts: tuple[LineString, ...]
) -> tuple[Points, dict[int, FilmCut]]:
    """Take the banks of cuts out of a ring of an opened area.

    Args:
        ring: points of the ring in the map, shape (n, 2), the area on its left.
        film: where they lie in the flat film.
        cuts: from the rim to their inner ends.

    Returns:
        The ring's film points without those on banks, but for the two at each mouth; and the
        banks of each cut that opens this ring, by its number.
    """
    places = np.array(shapely.points(ring), dtype=object)
    kept = np.ones(len(ring), dtype=bool)
    found: dict[int, FilmCut] = {}
    for number, cut in enumerate(cuts):
        apart = np.asarray(shapely.distance(_run_out(cut), places))
        on_bank = apart <= GAP_MM / 2 + _TOUCH_MM
        if on_bank.sum() < 4 or on_bank.all():
            continue
        # Numbered from a point that lies on no bank, the banks are one run.
        first = int(np.flatnonzero(~on_bank)[0])
        turned = (np.arange(len(ring)) + first) % len(ring)
        run = turned[np.flatnonzero(on_bank[turned])]
        inner = np.asarray(shapely.line_locate_point(cut, places[run]))
        last = int(np.flatnonzero(inner >= inner.max() - _TOUCH_MM)[0])
        inwards, outwards = run[: last + 1], run[last + 1 :]
        if len(outwards) < 2 or len(inwards) < 2:
            continue
        found[number] = _banks(film[inwards], film[outwards][::-1])
        kept[run[1:-1]] = False
    return film[kept], found


def _banks(left: Points, right: Points) -> FilmCut:
    """Pair two banks point by point: at both their corners, and evenly between."""
    ways = [_way(bank) for bank in (left, right)]
    shares = np.concatenate([np.linspace(0.0, 1.0, _STATIONS), *ways])
    at = np.unique(np.round(shares, _PLACES))
    sides = [
        np.column_stack([np.interp(at, way, bank[:, i]) for i in (0, 1)])
        for way, bank in zip(ways, (left, right), strict=True)
    ]
    return FilmCut(*sides)


def _way(points: Points) -> Points:
    """Return how far along a bank each point lies, from 0 to 1."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    way = np.concatenate(([0.0], np.cumsum(steps)))
    return np.asarray(way / way[-1])

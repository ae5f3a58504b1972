"""Families of lines: each is a number that rises over the map, and its lines of equal number.

Lines of one family never cross, so that any of them in order cut a panel into pieces side by
side.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from functools import cache

import numpy as np
import shapely
from scipy import sparse
from shapely import LineString, MultiLineString, Polygon

from core.shape.elements import elements_of, factored
from core.shape.locating import locator_of
from core.shape.mesh import is_on_rim, vertex_curvatures
from core.shape.metric import Metric, metric_of
from core.shape.model import Network, Points
from core.shape.proposals.bending import drawn_to_curvature, shortest_way

_DIRECTIONS = (0.0, 90.0, 45.0, 135.0)
_NODE_MM = 1.5
"""Seams are drawn by as few nodes as keep within this of the line that was found."""
_END_SHARE = 0.12
_CURVATURE_PULL = 4.0
_DARE_MM = 40.0
_SAME_MM = 0.01
_TANGENT_MM = 0.5
"""So far before and behind a place a line is looked at for its direction there."""


class Kind(Enum):
    """What a family's lines are."""

    OWN = "along a line that is there"
    STRAIGHT = "straight"
    CURVED = "curved as the surface is"


@dataclass(frozen=True, eq=False)
class Family:
    """A family of lines over a panel.

    Attributes:
        words: what they are, for the user.
        kind: what they are, in one of few words.
        low, high: the numbers between which they cross the panel.
        line_at: from a number to its line, run on past the rim.
        is_true: whether numbers are millimetres, so that a stripe has the same width all along.
        value_at: from points, shape (k, 2), to their numbers.
        marks: numbers of lines that are worth trying for themselves.
    """

    words: str
    kind: Kind
    low: float
    high: float
    line_at: Callable[[float], LineString | MultiLineString]
    value_at: Callable[[Points], Points]
    is_true: bool = True
    marks: tuple[float, ...] = ()


def straight_families(area: Polygon) -> list[Family]:
    """Return straight lines along the area's main axes, and half-way between."""
    axis = _main_axis_deg(area)
    names = (
        "straight, along the panel",
        "straight, across the panel",
        "straight, aslant",
        "straight, aslant the other way",
    )
    return [
        _straight(area, axis + turn, words)
        for turn, words in zip(_DIRECTIONS, names, strict=True)
    ]


def along(area: Polygon, line: LineString, words: str) -> Family:
    """Return a line of the user's and what runs beside it at an even distance.

    The line itself has the number 0. It is run on at both ends, so that it divides the panel.

    Degenerate input: on the hollow side of a bend, lines farther off than its radius have no
    bend any more; past an end, they run round it.
    """
    axis = run_on(line, area.length)

    def value_at(points: Points) -> Points:
        places = shapely.points(points)
        away = shapely.line_locate_point(axis, places)
        before, after = (
            shapely.get_coordinates(
                shapely.line_interpolate_point(axis, np.maximum(away + d, 0))
            )
            for d in (-_TANGENT_MM, _TANGENT_MM)
        )
        way, out = after - before, points - (before + after) / 2
        is_left = way[:, 0] * out[:, 1] - way[:, 1] * out[:, 0] > 0
        return np.asarray(np.where(is_left, -1, 1) * shapely.distance(axis, places))

    def line_at(number: float) -> LineString | MultiLineString:
        if abs(number) < _SAME_MM:
            return axis
        found = shapely.offset_curve(axis, -number, quad_segs=16).simplify(_NODE_MM / 3)
        assert isinstance(found, LineString | MultiLineString)
        return found

    rim = shapely.get_coordinates(shapely.segmentize(area.boundary, area.length / 200))
    values = value_at(rim)
    return Family(words, Kind.OWN, *_ends(values), line_at, value_at, marks=(0.0,))


def shortest_families(network: Network, area: Polygon, straight: Family) -> list[Family]:
    """Return shortest ways between the ends of straight lines of the map.

    Once over the surface as it is, once drawn to where it curves most. Shortest ways whose ends
    follow each other along the rim do not cross: two such ways meet at most once.

    Args:
        network: over the area, coarse.
        area: in the map.
        straight: the family that the ends are taken of.
    """
    return [
        _shortest(metric_of(network), area, straight, "the shortest ways"),
        _shortest(drawn_to_curvature(network), area, straight, "where it curves most"),
    ]


def _shortest(metric: Metric, area: Polygon, family: Family, words: str) -> Family:
    @cache
    def line_at(number: float) -> LineString | MultiLineString:
        inside = shapely.get_parts(shapely.intersection(family.line_at(number), area))
        ways = [
            run_on(shortest_way(metric, part), _DARE_MM)
            for part in inside
            if isinstance(part, LineString) and part.length > _DARE_MM
        ]
        return ways[0] if len(ways) == 1 else MultiLineString(ways)

    words = family.words.replace("straight", words)
    return replace(family, words=words, kind=Kind.CURVED, line_at=line_at, is_true=False)


def bent_families(network: Network, area: Polygon) -> list[Family]:
    """Return lines that bend with the surface: of equal height of a smooth field.

    The field rises from one end of the panel to the other as heat would flow, where curvature
    stops the flow: its lines crowd where the surface curves most, and seams are drawn there.

    Args:
        network: over the area, coarse.
        area: in the map.
    """
    axis = _main_axis_deg(area)
    return [
        _bent(network, axis + turn, words)
        for turn, words in ((0.0, "bent, along the panel"), (90.0, "bent, across the panel"))
    ]


def _main_axis_deg(area: Polygon) -> float:
    """Return the direction in which the area is longest, by its moments."""
    points = np.asarray(shapely.segmentize(area.exterior, area.length / 400).coords)[:-1]
    points = points - points.mean(axis=0)
    (xx, xy), (_, yy) = points.T @ points
    if np.hypot(xx - yy, 2 * xy) < 0.02 * (xx + yy):
        return 90.0  # as good as round: along y
    return float(np.degrees(0.5 * np.arctan2(2 * xy, xx - yy)))


def _straight(area: Polygon, along_deg: float, words: str) -> Family:
    """Return lines that run in a direction; numbers rise to their right."""
    way = np.array([np.cos(np.radians(along_deg)), np.sin(np.radians(along_deg))])
    across = np.array([way[1], -way[0]])
    corners = np.asarray(area.exterior.coords)
    ends = corners @ way
    reach = (ends.min() - _DARE_MM, ends.max() + _DARE_MM)

    def line_at(number: float) -> LineString:
        return LineString([number * across + end * way for end in reach])

    def value_at(points: Points) -> Points:
        return np.asarray(points @ across)

    values = corners @ across
    return Family(words, Kind.STRAIGHT, *_ends(values), line_at, value_at)


def _bent(network: Network, along_deg: float, words: str) -> Family:
    way = np.array([np.cos(np.radians(along_deg)), np.sin(np.radians(along_deg))])
    across = network.at @ np.array([way[1], -way[0]])
    field = _smooth_field(network, across)
    locator = locator_of(network)

    def value_at(points: Points) -> Points:
        vertices, shares = locator.spots(points)
        return np.asarray((shares * field[vertices]).sum(axis=1))

    def line_at(number: float) -> LineString | MultiLineString:
        return _level_line(network, field, number)

    return Family(words, Kind.CURVED, *_ends(field), line_at, value_at, is_true=False)


def _ends(values: Points) -> tuple[float, float]:
    return float(values.min()), float(values.max())


def _smooth_field(network: Network, across: Points) -> Points:
    """Return the steady heat from the low end of the panel to its high end, from 0 to 1."""
    elements = elements_of(network)
    stops = np.abs(np.where(is_on_rim(network), 0.0, vertex_curvatures(network)))
    density = stops[network.triangles].sum(axis=1) / 6 / elements.areas
    flow = 1 / (1 + _CURVATURE_PULL * density / max(float(density.mean()), 1e-12))
    plain = elements.by_z * 2
    weighted = plain.conj().T @ (sparse.diags_array(elements.areas * flow) @ plain)
    matrix = sparse.csr_array(weighted.real)
    low, high = np.quantile(across, [0, 1])
    margin = _END_SHARE * (high - low)
    rim = is_on_rim(network)
    fixed = (rim & (across < low + margin)) | (rim & (across > high - margin))
    field = (across - low) / (high - low)
    free = np.flatnonzero(~fixed)
    held = np.flatnonzero(fixed)
    pull = -(matrix[free][:, held] @ field[held])
    field[free] = factored(sparse.csc_array(matrix[free][:, free])).solve(pull)
    return np.asarray(field)


def _level_line(network: Network, field: Points, number: float) -> LineString | MultiLineString:
    """Return where a field has a number, by few nodes, run on past the rim."""
    values = field[network.triangles] - number
    values = np.where(np.abs(values) < 1e-12, 1e-12, values)
    ends = []
    for i, j in ((0, 1), (1, 2), (2, 0)):
        a, b = values[:, i], values[:, j]
        share = np.where(a * b < 0, a / np.where(a == b, 1.0, a - b), np.nan)[:, None]
        here, there = network.at[network.triangles[:, i]], network.at[network.triangles[:, j]]
        ends.append(here + share * (there - here))
    crossings = np.stack(ends, axis=1)
    cut = np.isfinite(crossings[..., 0]).sum(axis=1) == 2
    kept = crossings[cut]
    if not len(kept):
        return LineString()
    segments = np.round(kept[np.isfinite(kept)].reshape(-1, 2, 2), 6)
    merged = shapely.line_merge(MultiLineString(list(segments)))
    parts = [run_on(line.simplify(_NODE_MM), _DARE_MM) for line in shapely.get_parts(merged)]
    return parts[0] if len(parts) == 1 else MultiLineString(parts)


def run_on(line: LineString, by_mm: float) -> LineString:
    """Run a line on at both ends, as it ends."""
    points = np.asarray(line.coords)
    first, last = points[0] - points[1], points[-1] - points[-2]
    start = points[0] + by_mm * first / max(float(np.hypot(*first)), 1e-9)
    end = points[-1] + by_mm * last / max(float(np.hypot(*last)), 1e-9)
    return LineString([start, *points[1:-1], end])

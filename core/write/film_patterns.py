"""Patterns by which films are told apart where colours are not printed.

A pattern is small signs spread over the film, drawn as lines: unlike the hatch of a lap they do
not run through, so both can be read together. The base film, lowest in rank, stays plain.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum

import numpy as np
import shapely
from msgspec.structs import replace as changed
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry

from core.document.film import Film
from core.plan.model import JobPlan
from core.write.inks import DARK, LIGHT, mix

_PALE = 0.6
"""How much of the white of paper is in a film's colour when it is printed."""
_SIZE, _SPACING = 0.38, 2.1
"""Half a sign's size, and how far apart signs stand, in units of the page."""


class FilmPattern(StrEnum):
    """The sign that is spread over a film."""

    PLAIN = "plain"
    RINGS = "rings"
    PLUSES = "pluses"
    TRIANGLES = "triangles"
    DASHES = "dashes"
    SQUARES = "squares"
    CROSSES = "crosses"
    UPRIGHTS = "uprights"
    CHEVRONS = "chevrons"


def film_patterns(films: tuple[Film, ...]) -> dict[str, FilmPattern]:
    """Return a pattern for each film, by rank; past the last they begin anew, without plain.

    >>> film_patterns(())
    {}
    """
    kinds = list(FilmPattern)
    ranked = sorted(films, key=lambda film: film.rank)
    return {
        film.id: kinds[i] if i < len(kinds) else kinds[1 + (i - 1) % (len(kinds) - 1)]
        for i, film in enumerate(ranked)
    }


def printed(plan: JobPlan) -> JobPlan:
    """Return the plan with its films in pale colours: less ink, and signs and hatches show."""
    films = tuple(changed(f, colour=mix(f.colour, LIGHT, _PALE)) for f in plan.job.films)
    return replace(plan, job=changed(plan.job, films=films))


def pattern_ink(colour: str) -> str:
    """Return the colour of a film's signs."""
    return mix(colour, DARK, 0.6)


def pattern_lines(area: BaseGeometry, pattern: FilmPattern, unit: float) -> MultiLineString:
    """Return the signs of a pattern that lie wholly in an area.

    Degenerate input: an empty area, or one too narrow for a sign, has none.
    """
    sign = _SIGNS.get(pattern)
    if sign is None or area.is_empty:
        return MultiLineString()
    spots = _spots(area, unit)
    room = area.buffer(-_SIZE * unit * 1.3)
    shapely.prepare(room)
    kept = spots[shapely.contains(room, shapely.points(spots))] if len(spots) else spots
    scaled = [_SIZE * unit * np.array(line) for line in sign]
    lines = [np.asarray(shapely.linestrings(line + kept[:, None, :])) for line in scaled]
    found = shapely.multilinestrings(np.column_stack(lines).ravel())
    assert isinstance(found, MultiLineString)
    return found


def _spots(
    area: BaseGeometry, unit: float
) -> "np.ndarray[tuple[int, int], np.dtype[np.float64]]":
    """Return staggered places over an area, in step with the origin."""
    x0, y0, x1, y1 = area.bounds
    across, up = _SPACING * unit, _SPACING * unit * 0.5
    rows = np.arange(math.ceil(y0 / up), math.floor(y1 / up) + 1)
    columns = np.arange(math.ceil(x0 / across) - 1, math.floor(x1 / across) + 1)
    x, y = np.meshgrid(columns * across, rows * up)
    x = x + np.where(rows % 2, across / 2, 0.0)[:, None]
    return np.column_stack([x.ravel(), y.ravel()])


def _ring() -> list[tuple[float, float]]:
    turns = [2 * math.pi * i / 12 for i in range(13)]
    return [(0.8 * math.cos(t), 0.8 * math.sin(t)) for t in turns]


_SIGNS: Mapping[FilmPattern, list[list[tuple[float, float]]]] = {
    FilmPattern.RINGS: [_ring()],
    FilmPattern.PLUSES: [[(-1, 0), (1, 0)], [(0, -1), (0, 1)]],
    FilmPattern.TRIANGLES: [[(-0.9, -0.6), (0.9, -0.6), (0, 0.9), (-0.9, -0.6)]],
    FilmPattern.DASHES: [[(-1.4, 0), (1.4, 0)]],
    FilmPattern.SQUARES: [[(-0.7, -0.7), (0.7, -0.7), (0.7, 0.7), (-0.7, 0.7), (-0.7, -0.7)]],
    FilmPattern.CROSSES: [[(-0.8, -0.8), (0.8, 0.8)], [(-0.8, 0.8), (0.8, -0.8)]],
    FilmPattern.UPRIGHTS: [[(0, -1.2), (0, 1.2)]],
    FilmPattern.CHEVRONS: [[(-0.9, -0.5), (0, 0.6), (0.9, -0.5)]],
}

"""Parts of known curvature, and what a tape would read on them."""

import itertools
from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import Any

import numpy as np
from scipy.interpolate import RectBivariateSpline
from shapely import box

from core.document.edits.surfaces import with_reading
from core.document.surface import (
    CHECKS,
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    places,
    reading_at,
)
from core.shape.model import Network

Curvature = Callable[[float, float], float]


class Part:
    """A surface whose curvature is given over (s, t), by Jacobi's equation G_tt = -K G.

    Nothing of the code that is judged is used.
    """

    def __init__(self, curvature: Curvature, length: float = 600.0, half: float = 300.0):
        self.length, self.half = length, half
        self._grids: dict[tuple[int, int], MeasuredSurface] = {}
        step = half / 200
        across = np.arange(-215, 216) * step
        along = np.linspace(-20, length + 20, 41)
        widening = np.ones((len(along), len(across)))
        middle = len(across) // 2
        for i, s in enumerate(along):
            for sign in (1, -1):
                g, slope = 1.0, 0.0
                for j in range(1, middle + 1):
                    # Leapfrog: exact to the square of the step.
                    slope -= (
                        step
                        * curvature(s, across[middle + sign * (j - 1)])
                        * g
                        * (0.5 if j == 1 else 1.0)
                    )
                    g += step * slope
                    widening[i, middle + sign * j] = g
        self._g = RectBivariateSpline(along, across, widening)

    def widening(self, s, t):
        return self._g.ev(s, t)

    def distance(self, start: Sequence[float], end: Sequence[float]) -> float:
        """Length of the straightest run between two places, by relaxing a chain of points."""
        start, end = np.asarray(start, float), np.asarray(end, float)
        share = np.linspace(0, 1, 13)[:, None]
        even = start + share * (end - start)
        waves = np.sin(np.pi * share * np.arange(1, 4))
        square = np.array([-(end - start)[1], (end - start)[0]]) / np.hypot(*(end - start))

        def length(heights):
            path = even + (waves @ heights)[:, None] * square
            fine = np.column_stack(
                [np.interp(np.linspace(0, 12, 97), np.arange(13), path[:, k]) for k in (0, 1)]
            )
            step, middle = np.diff(fine, axis=0), (fine[1:] + fine[:-1]) / 2
            return np.hypot(self.widening(*middle.T) * step[:, 0], step[:, 1]).sum()

        heights, size = np.zeros(3), 1.0
        best = length(heights)
        while size > 1e-3:
            tries = [heights + size * d for d in np.vstack([np.eye(3), -np.eye(3)])]
            lengths = [length(h) for h in tries]
            if min(lengths) < best:
                best, heights = min(lengths), tries[int(np.argmin(lengths))]
            else:
                size /= 2
        return float(best)

    def grid(self, stations: int = 5, lines: int = 5) -> MeasuredSurface:
        """What a perfect tape reads; made once."""
        if (stations, lines) not in self._grids:
            self._grids[stations, lines] = self._grid(stations, lines)
        return self._grids[stations, lines]

    def _grid(self, stations: int, lines: int) -> MeasuredSurface:
        s = np.linspace(0, self.length, stations).tolist()
        h = self.half
        t = (h, h / 2, 0, -h / 2, -h) if lines == 5 else (h, 0, -h)
        offsets = tuple(tuple((abs(v),) for v in t if v) for _ in s)
        lengths = tuple(
            tuple((self.distance((a, v), (b, v)),) for v in t) for a, b in itertools.pairwise(s)
        )
        return MeasuredSurface(
            offsets=offsets,
            lengths=lengths,
            to_left=(self.distance((0, -h), (self.length, h)),),
            to_right=(self.distance((0, h), (self.length, -h)),),
            first_beside=(0.0,),
            last_beside=(0.0,),
        )


class Errors(StrEnum):
    """How the errors of readings hang together; all are 2 mm large."""

    OWN = "each reading has its own"
    HALF = "half of it is shared along the line"
    LINE = "all of it is shared along the line"
    MARKS = "a whole line is read at its marks, the tape laid once"


def misread(
    grid: MeasuredSurface,
    rng: np.random.Generator,
    error_mm: float = 2.0,
    repeats: int = 1,
    errors: Errors = Errors.OWN,
) -> MeasuredSurface:
    """The same grid as a tape would be read."""
    share = {Errors.OWN: 0.0, Errors.HALF: np.sqrt(0.5), Errors.LINE: 1.0}.get(errors, 0.0)
    along = error_mm * share * rng.standard_normal(grid.lines)
    own = error_mm * np.sqrt(1 - share**2)
    marks = error_mm / np.sqrt(2) * rng.standard_normal((grid.stations, grid.lines, repeats))
    made = grid
    for place in places(grid):
        true = reading_at(grid, place)
        if not true:
            continue
        off = own * rng.standard_normal(repeats)
        if place.kind is ReadingKind.LENGTH:
            off = off + along[place.line]
            if errors is Errors.MARKS:
                off = np.diff(marks[place.row : place.row + 2, place.line], axis=0)[0]
        made = with_reading(made, place, tuple(abs(float(v)) for v in true[0] + off))
    return made


def without_checks(grid: MeasuredSurface, *kept: ReadingKind) -> MeasuredSurface:
    """The grid with none of its checks but those named."""
    for kind in CHECKS.difference(kept):
        grid = with_reading(grid, ReadingPlace(kind), ())
    return grid


def true_network(part: Part, across: int = 25, along: int = 25) -> Network:
    """The part itself as triangles, map and grid alike, their sides by fine steps of G."""
    s, t = np.linspace(0, part.length, along), np.linspace(-part.half, part.half, across)
    at = np.array([(a, b) for a in s for b in t])
    faces = []
    for i in range(along - 1):
        for j in range(across - 1):
            a, b = i * across + j, i * across + j + 1
            c, d = a + across, b + across
            faces += [(a, c, b), (b, c, d)] if (i + j) % 2 else [(a, c, d), (a, d, b)]
    triangles = np.array(faces)
    shares = (np.arange(16) + 0.5) / 16

    def sides(start, end):
        step = end - start
        pieces = [
            np.hypot(part.widening(*(start + u * step).T) * step[:, 0], step[:, 1])
            for u in shares
        ]
        return np.mean(pieces, axis=0)

    corners = at[triangles]
    lengths = [sides(corners[:, (i + 1) % 3], corners[:, (i + 2) % 3]) for i in range(3)]
    return Network(at=at, triangles=triangles, sides=np.column_stack(lengths))


FLAT = Part(lambda _s, _t: 0.0)
"""A plate 600 mm long and 600 mm wide; the others have the same grid."""
BALL = Part(lambda _s, _t: 1 / 800**2)
SHOULDERS = Part(lambda _s, t: 8e-6 * np.exp(-(((abs(t) - 180) / 70) ** 2)))
"""Nearly flat in the middle, with its curvature gathered along both shoulders."""
ONE_SIDED = Part(lambda _s, t: 6e-6 * np.exp(-(((t - 150) / 100) ** 2)))
SADDLE = Part(lambda _s, _t: -1 / 900**2)
PARTS = {
    "flat": FLAT,
    "ball": BALL,
    "shoulders": SHOULDERS,
    "one-sided": ONE_SIDED,
    "saddle": SADDLE,
}
WHOLE = box(0, -300, 600, 300)


_SHARES = (1.0, 0.5, 0.0, -0.5, -1.0)
Measure = Callable[[Any, Any], float]


def _round_the_girth(
    along: Sequence[float], mark: Callable[[float, float], Any], reach: Curvature, far: Measure
) -> MeasuredSurface:
    """What is read where stations were laid round a part's girth, not straight.

    Args:
        along: where the stations are, by any measure.
        mark: the place on a station as far from the spine, round the girth, as told.
        reach: how far out a mark lies on a station, by its share of the way to the rim.
        far: how far it is between two places over the part.
    """
    rows = [[mark(s, reach(s, k)) for k in _SHARES] for s in along]

    def beside(s: float, row: list[Any]) -> float:
        """How far the straight way between both rims passes the spine, by trying."""
        tries = [mark(s + d, 0.0) for d in np.linspace(-160, 160, 3201)]
        way = far(row[0], row[4])
        off = [far(row[0], p) + far(p, row[4]) - way for p in tries]
        return float(abs(np.linspace(-160, 160, 3201)[int(np.argmin(off))]))

    return MeasuredSurface(
        offsets=tuple(tuple((abs(reach(s, k)),) for k in _SHARES if k) for s in along),
        lengths=tuple(
            tuple((far(a, b),) for a, b in zip(here, there, strict=True))
            for here, there in itertools.pairwise(rows)
        ),
        to_left=(far(rows[0][4], rows[-1][0]),),
        to_right=(far(rows[0][0], rows[-1][4]),),
        first_beside=(beside(along[0], rows[0]),),
        last_beside=(beside(along[-1], rows[-1]),),
    )


def girth_circle_cone(half: float, *, on_its_lines: bool = False) -> MeasuredSurface:
    """A cone, 300 to 700 mm from its tip, whose stations were laid round its girth.

    The cone is laid flat, where everything is elementary: a circle of its girth is an arc.

    Args:
        half: how far out the rims are; half-way along, where marks lie on the cone's own lines.
        on_its_lines: marks lie on the cone's straight lines, else evenly far from the spine.
    """
    return _round_the_girth(
        np.linspace(300.0, 700.0, 5).tolist(),
        lambda slant, arc: complex(slant * np.exp(1j * arc / slant)),
        lambda slant, share: half * share * (slant / 500 if on_its_lines else 1.0),
        lambda a, b: float(abs(b - a)),
    )


def girth_circle_barrel(radius: float) -> MeasuredSurface:
    """A belt of a ball, 600 mm long, whose stations were laid along circles of latitude."""

    def mark(s: float, arc: float) -> Any:
        angle = arc / (radius * np.cos(s / radius))
        up = np.sin(s / radius)
        around = np.cos(s / radius)
        return np.array([around * np.cos(angle), around * np.sin(angle), up])

    return _round_the_girth(
        np.linspace(-300.0, 300.0, 5).tolist(),
        mark,
        lambda _s, share: 300.0 * share,
        lambda a, b: float(2 * radius * np.arcsin(min(1.0, np.linalg.norm(b - a) / 2))),
    )

"""Parts of known curvature, and what a tape would read on them."""

import itertools
from collections.abc import Callable, Sequence

import numpy as np
from msgspec.structs import replace
from scipy.interpolate import RectBivariateSpline
from shapely import box

from core.document.edits.surfaces import with_reading
from core.document.surface import MeasuredSurface, places, reading_at
from core.shape.model import Network

Curvature = Callable[[float, float], float]


class Part:
    """A surface whose curvature is given over (s, t), by Jacobi's equation G_tt = -K G.

    Nothing of the code that is judged is used.
    """

    def __init__(self, curvature: Curvature, length: float = 600.0, half: float = 300.0):
        self.length, self.half = length, half
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
        """What a perfect tape reads."""
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
        )


def misread(
    grid: MeasuredSurface, rng: np.random.Generator, error_mm: float = 2.0, repeats: int = 1
) -> MeasuredSurface:
    """The same grid as a tape would be read: each length with errors of its own."""
    made = grid
    for place in places(grid):
        true = reading_at(grid, place)
        if true:
            noisy = true[0] + error_mm * rng.standard_normal(repeats)
            made = with_reading(made, place, tuple(float(v) for v in noisy))
    return made


def without_diagonals(grid: MeasuredSurface) -> MeasuredSurface:
    return replace(grid, to_left=(), to_right=())


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


def girth_circle_cone(
    half: float, first: float = 300.0, last: float = 700.0
) -> MeasuredSurface:
    """What is read on a cone whose stations were laid round its girth, not straight.

    The cone is laid flat, where everything is elementary: a circle of its girth is an arc.
    """
    slants = np.linspace(first, last, 5)
    across = (half, half / 2, 0, -half / 2, -half)

    def mark(slant: float, arc: float) -> complex:
        return complex(slant * np.exp(1j * arc / slant))

    return MeasuredSurface(
        offsets=tuple(tuple((abs(t),) for t in across if t) for _ in slants),
        lengths=tuple(
            tuple((abs(mark(b, t) - mark(a, t)),) for t in across)
            for a, b in itertools.pairwise(slants.tolist())
        ),
        to_left=(abs(mark(first, -half) - mark(last, half)),),
        to_right=(abs(mark(first, half) - mark(last, -half)),),
    )

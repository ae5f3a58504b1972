"""A made-up parcel dome, and what a tape reads on it: the roof of a cargo trike's box.

Its height is ``H (1 - (x/A)²) (1 - (y/B)²)``. The spine runs along its middle, y = 0; stations
leave it squarely and run on as straight as the surface lets them. Each length is read twice,
with an error of a millimetre and to the half millimetre, by dice that always fall alike.
"""

import itertools

import numpy as np
from numpy.typing import NDArray

from core.document.surface import MeasuredSurface

HALF_LENGTH, HALF_WIDTH, HEIGHT = 440.0, 350.0, 200.0
SPINE_FROM, SPINE_TO = -310.0, 310.0
RIM, SHOULDER = 250.0, 135.0
STATIONS = 5
ERROR_MM = 1.0

Values = NDArray[np.float64]


def height(x: Values, y: Values) -> Values:
    """Return how high the dome is."""
    return HEIGHT * (1 - (x / HALF_LENGTH) ** 2) * (1 - (y / HALF_WIDTH) ** 2)


def in_space(at: Values) -> Values:
    """Return points (x, y), shape (n, 2), in space."""
    return np.column_stack([at, height(at[:, 0], at[:, 1])])


def way_across(x: float, lengths: tuple[float, ...], *, to_left: bool) -> list[Values]:
    """Return the places at lengths from the spine along the station through x."""
    found, at, done = [], np.array([x, 0.0]), 0.0
    turn = np.array([0.0, 1.0 if to_left else -1.0])  # square to the spine, on a level with it
    for length in lengths:
        steps = max(1, round((length - done) / 2))
        for _ in range(steps):
            at, turn = _onward(at, turn, (length - done) / steps)
        done = length
        found.append(at)
    return found


def _onward(at: Values, turn: Values, step: float) -> tuple[Values, Values]:
    """Go one step along a straightest line (Runge and Kutta, order 4)."""
    state = np.concatenate([at, turn])
    a = _change(state)
    b = _change(state + step / 2 * a)
    c = _change(state + step / 2 * b)
    d = _change(state + step * c)
    state = state + step / 6 * (a + 2 * b + 2 * c + d)
    return state[:2], state[2:]


def _change(state: Values) -> Values:
    """Return how a point and its direction change along a straightest line z = f(x, y)."""
    (x, y), way = state[:2], state[2:]
    u, v = 1 - (x / HALF_LENGTH) ** 2, 1 - (y / HALF_WIDTH) ** 2
    du, dv = -2 * x / HALF_LENGTH**2, -2 * y / HALF_WIDTH**2
    slope = HEIGHT * np.array([du * v, u * dv])
    bend = HEIGHT * np.array(
        [[-2 * v / HALF_LENGTH**2, du * dv], [du * dv, -2 * u / HALF_WIDTH**2]]
    )
    pull = way @ bend @ way / (1 + slope @ slope)
    return np.concatenate([way, -slope * pull])


def tight(start: Values, end: Values) -> float:
    """Return the length of a tape pulled tight between two places of the dome."""
    share = np.linspace(0, 1, 65)[:, None]
    even = start + share * (end - start)
    square = np.array([-(end - start)[1], (end - start)[0]])
    waves = np.sin(np.pi * share * np.arange(1, 4))

    def length(bends: Values) -> float:
        path = in_space(even + (waves @ bends)[:, None] * square)
        return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())

    bends, size = np.zeros(3), 0.05
    best = length(bends)
    while size > 1e-5:
        tries = [bends + size * way for way in np.vstack([np.eye(3), -np.eye(3)])]
        lengths = [length(one) for one in tries]
        if min(lengths) < best:
            best, bends = min(lengths), tries[int(np.argmin(lengths))]
        else:
            size /= 2
    return best


def stations() -> list[float]:
    """Return x of each station; they are even apart along the spine."""
    x = np.linspace(SPINE_FROM, SPINE_TO, 2001)
    path = in_space(np.column_stack([x, np.zeros_like(x)]))
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    return [float(v) for v in np.interp(np.linspace(0, way[-1], STATIONS), way, x)]


def true_grid() -> MeasuredSurface:
    """Return what a perfect tape reads."""
    rows = []
    for x in stations():
        left = way_across(x, (SHOULDER, RIM), to_left=True)
        right = way_across(x, (SHOULDER, RIM), to_left=False)
        rows.append([left[1], left[0], np.array([x, 0.0]), right[0], right[1]])
    lengths = [
        tuple((tight(a, b),) for a, b in zip(here, there, strict=True))
        for here, there in itertools.pairwise(rows)
    ]
    return MeasuredSurface(
        offsets=(((RIM,), (SHOULDER,), (SHOULDER,), (RIM,)),) * STATIONS,
        lengths=tuple(lengths),
        to_left=(tight(rows[0][4], rows[-1][0]),),
        to_right=(tight(rows[0][0], rows[-1][4]),),
    )


def dome_readings() -> MeasuredSurface:
    """Return what was read at the bench: each length twice, each diagonal once."""
    dice = np.random.default_rng(20)
    true = true_grid()

    def read(length: float, times: int) -> tuple[float, ...]:
        values = length + ERROR_MM * dice.standard_normal(times)
        return tuple(float(np.round(2 * v) / 2) for v in values)

    return MeasuredSurface(
        offsets=tuple(tuple(read(o[0], 1) for o in row) for row in true.offsets),
        lengths=tuple(tuple(read(v[0], 2) for v in row) for row in true.lengths),
        to_left=read(true.to_left[0], 1),
        to_right=read(true.to_right[0], 1),
    )

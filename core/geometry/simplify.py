"""The same curve with fewer nodes, within a tolerance; and how far two curves are apart."""

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from core.geometry.bezier import (
    Chain,
    Segment,
    direction_at,
    directions_at,
    length_of,
    points_at,
    straight,
)
from core.geometry.fit_cubics import fit_cubics

Complex = NDArray[np.complex128]

CORNER_RAD = math.radians(25)
"""A turn sharper than this is a corner that stays."""
_STEP_SHARE = 0.2
"""Samples stand this share of what a fit may bridge apart; deviation is seen between them."""


@dataclass(frozen=True, slots=True)
class Simplified:
    """A simpler chain.

    Attributes:
        deviation: largest distance between the two curves, either way.
    """

    chain: Chain
    deviation: float


def simplified(chain: Chain, tolerance: float, kept: Sequence[int] = ()) -> Simplified:
    """Return a closed chain of fewer segments within a tolerance of the given one.

    Args:
        chain: closed.
        tolerance: largest distance between the two curves.
        kept: numbers of segments at whose start a node stays, whatever the shape.

    Corners stay where they are; between two of them a stretch that is as good as straight
    becomes straight, anything else is fitted with few cubics. Straight sides that run into
    curves smoothly stay straight. Each new segment has the source of the one it starts on.

    Degenerate input: a chain that cannot be made simpler comes back as it is, deviation 0.
    """
    turns = _turns(chain, tolerance)
    flat = [_is_side(chain, i, turns, tolerance) for i in range(len(chain))]
    breaks = {i for i, turn in enumerate(turns) if abs(turn) > CORNER_RAD} | set(kept)
    for i in np.flatnonzero(flat):
        breaks |= {int(i), (int(i) + 1) % len(chain)}
    order = sorted(breaks) or [0]
    for share in (0.9, 0.45, 0.2, 0.1):
        fresh = _refitted(chain, order, share * tolerance, is_loop=not breaks)
        off = deviation(chain, fresh)
        if off <= tolerance and len(fresh) < len(chain):
            return Simplified(fresh, off)
    return Simplified(chain, 0.0)


def _refitted(chain: Chain, order: list[int], tolerance: float, *, is_loop: bool) -> Chain:
    """Return the chain fitted anew between the nodes that stay."""
    fresh: Chain = []
    for k, start in enumerate(order):
        count = (order[(k + 1) % len(order)] - start) % len(chain) or len(chain)
        run = [chain[(start + n) % len(chain)] for n in range(count)]
        fresh += _stretch(run, tolerance, is_loop=is_loop)
    return fresh


def deviation(a: Sequence[Segment], b: Sequence[Segment]) -> float:
    """Return the largest distance between two closed chains, either way, by dense samples."""
    lines = [_dense(chain) for chain in (a, b)]
    off = 0.0
    for here, there in (lines, lines[::-1]):
        target = LineString([*here, here[0]])
        shapely.prepare(target)
        off = max(off, float(shapely.distance(shapely.points(there), target).max()))
    return off


def _dense(chain: Sequence[Segment]) -> NDArray[np.float64]:
    """Return samples at most 1 mm, and a 64th of a curve, apart."""
    parts = []
    for s in chain:
        count = max(2 if s.is_straight else 64, math.ceil(length_of(s)))
        parts.append(points_at(s, np.arange(min(count, 4000)) / min(count, 4000)))
    at = np.concatenate(parts)
    return np.stack([at.real, at.imag], axis=1)


def _turns(chain: Chain, tolerance: float) -> list[float]:
    """Return the turn at the start of each segment, as seen from a little way off.

    A traced rim turns a little everywhere; a corner is a turn that is seen close up and from
    some tolerances away alike.
    """
    result = []
    for i, here in enumerate(chain):
        before = chain[i - 1]
        into, out = direction_at(before, 1.0), direction_at(here, 0.0)
        close = cmath.phase(into.conjugate() * out) if into and out else 0.0
        far = _far_turn(chain, i, 8 * tolerance) if abs(close) > CORNER_RAD else close
        result.append(min(close, far, key=abs))
    return result


def _far_turn(chain: Chain, i: int, reach: float) -> float:
    """Return the turn at a node between points some way before and behind it."""
    at, ends = chain[i].p0, []
    for step in (-1, 1):
        left, k = reach, i - 1 if step < 0 else i
        spot = at
        for _ in range(len(chain) - 1):
            s = chain[k % len(chain)]
            start, end = (s.p3, s.p0) if step < 0 else (s.p0, s.p3)
            size = length_of(s)
            if size >= left:
                t = left / size
                spot = complex(points_at(s, np.array([1 - t if step < 0 else t]))[0])
                break
            left, spot, k = left - size, end, k + step
            del start
        ends.append(spot)
    into, out = at - ends[0], ends[1] - at
    return cmath.phase(into.conjugate() * out) if into and out else 0.0


def _is_side(chain: Chain, i: int, turns: list[float], tolerance: float) -> bool:
    """Whether a segment is a straight side to keep: long, its ends smooth or corners."""
    s = chain[i]
    if not s.is_straight or length_of(s) < 20 * tolerance:
        return False
    before, after = chain[i - 1], chain[(i + 1) % len(chain)]
    start, end = turns[i], turns[(i + 1) % len(chain)]
    ends = ((before, start), (after, end))
    return all(
        abs(turn) > CORNER_RAD or (abs(turn) < 1e-4 and not beside.is_straight)
        for beside, turn in ends
    )


def _stretch(run: Chain, tolerance: float, *, is_loop: bool) -> Chain:
    """Return one stretch between nodes that stay, with as few segments as it takes."""
    source = run[0].source
    if len(run) == 1 and not is_loop:
        return run
    points, directions = _samples(run, tolerance, is_loop=is_loop)
    if not is_loop:
        a, b = complex(points[0]), complex(points[-1])
        if _off_chord(points, a, b) <= tolerance:
            return [straight(a, b, source)]
    fitted = fit_cubics(points, directions, tolerance)
    return [_sourced(s, source, i, len(fitted)) for i, s in enumerate(fitted)]


def _sourced(s: Segment, source: int, i: int, count: int) -> Segment:
    return Segment(s.p0, s.p1, s.p2, s.p3, s.is_straight, source, i / count, (i + 1) / count)


def _off_chord(points: Complex, a: complex, b: complex) -> float:
    if abs(b - a) < 1e-9:
        return math.inf
    along = (b - a) / abs(b - a)
    way = np.conj(along) * (points - a)
    if way.real.min() < -1e-6 or way.real.max() > abs(b - a) + 1e-6:
        return math.inf
    return float(np.abs(way.imag).max())


def _samples(run: Chain, tolerance: float, *, is_loop: bool) -> tuple[Complex, Complex]:
    """Return points along a stretch and the directions there.

    Directions of drawn curves are exact; where straight bits meet at small angles, the mean of
    the neighbours stands for the curve that they trace.
    """
    total = sum(length_of(s) for s in run)
    step = max(min(4 * tolerance, total / 32), total / 1500)
    points, directions = [], []
    for s in run:
        count = max(2 if s.is_straight else 6, math.ceil(length_of(s) / step))
        t = np.arange(count) / count
        points.append(points_at(s, t))
        directions.append(directions_at(s, t))
    last = run[-1]
    at = np.concatenate([*points, [last.p3]])
    along = np.concatenate([*directions, [direction_at(last, 1.0)]])
    if all(s.is_straight for s in run):
        along = _smoothed(at, along, is_loop=is_loop)
    elif is_loop:
        along[-1] = along[0]
    return at, along


def _smoothed(at: Complex, along: Complex, *, is_loop: bool) -> Complex:
    """Return directions taken over two neighbours each way; the ends of a stretch one-sided."""
    count = len(at)
    if is_loop:
        ahead, behind = np.roll(at[:-1], -2), np.roll(at[:-1], 2)
        chord = np.append(ahead - behind, ahead[0] - behind[0])
    else:
        index = np.arange(count)
        chord = at[np.minimum(index + 2, count - 1)] - at[np.maximum(index - 2, 0)]
    size = np.abs(chord)
    return np.where(size > 1e-9, chord / np.where(size > 1e-9, size, 1), along)

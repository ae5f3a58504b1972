"""Where a knife may set in on a closed line: on long straight stretches, away from corners.

A knife that sets in or closes in a corner lifts the tip of the film there.
"""

import math

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

CORNER_DEG = 20.0
"""A turn of more than this is a corner."""
_STRAIGHT_DEG = 0.5
_NEARLY = 0.7
"""Stretches of this share of the longest one do as well."""
_MOST = 8


def start_places(ring: Points) -> Points:
    """Return how far along a ring the knife may set in, the best places of it.

    Args:
        ring: shape (n, 2), not repeating its first point.

    Returns:
        Shape (k,), k from 1 to 8: lengths from the first point, in mm; each is the middle of
        one of the longest straight stretches, or where there is none, of the gentlest.

    Degenerate input: a ring without length gives its first point.
    """
    segments = _segments(ring)
    lengths = np.hypot(segments[:, 0], segments[:, 1])
    total = float(lengths.sum())
    if total <= 0.0:
        return np.zeros(1)
    turns = _turns(segments)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    bends = np.flatnonzero(turns > _STRAIGHT_DEG)
    if not len(bends):  # a round of very many points: anywhere
        return np.arange(_MOST) * total / _MOST
    starts = ends[bends]
    stretches = np.diff(np.append(starts, starts[0] + total))
    middles = (starts + stretches / 2) % total
    away = _from_corners(middles, ends[:-1][turns > CORNER_DEG], total)
    good = np.flatnonzero(stretches >= _NEARLY * stretches.max() - 1e-9)
    good = good[away[good] >= _NEARLY * away[good].max()]
    if len(good) > _MOST:
        good = good[np.linspace(0, len(good) - 1, _MOST).astype(int)]
    places: Points = middles[good]
    return places


def _segments(ring: Points) -> Points:
    segments = np.empty_like(ring)
    np.subtract(ring[1:], ring[:-1], out=segments[:-1])
    np.subtract(ring[0], ring[-1], out=segments[-1])
    return segments


def _turns(segments: Points) -> Points:
    """Return by how many degrees the ring turns at each point, either way."""
    angles = np.arctan2(segments[:, 1], segments[:, 0])
    turns = np.empty_like(angles)
    np.subtract(angles[1:], angles[:-1], out=turns[1:])
    turns[0] = angles[0] - angles[-1]
    turns = (turns + math.pi) % (2 * math.pi) - math.pi
    return np.abs(np.degrees(turns))


def _from_corners(places: Points, corners: Points, total: float) -> Points:
    """Return how far along the ring the nearest corner is; no corners: the whole ring."""
    if not len(corners):
        return np.full(len(places), total)
    apart = np.abs(places[:, None] - corners[None, :])
    nearest: Points = np.minimum(apart, total - apart).min(axis=1)
    return nearest


def ring_from(ring: Points, start_mm: float, overcut_mm: float) -> Points:
    """Return a ring as the line that a knife follows: once round from a place, and on.

    Args:
        ring: shape (n, 2), not repeating its first point.
        start_mm: how far along the ring it sets in.
        overcut_mm: how far it runs on over its own beginning.

    Returns:
        Shape (m, 2). Without overcut it is a ring again, not repeating its first point.
    """
    lengths = np.hypot(*_segments(ring).T)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    total = float(ends[-1])
    first = int(np.searchsorted(ends, start_mm + 1e-9, side="right")) % len(ring)
    start = _at(ring, ends, start_mm)
    is_between = float(np.hypot(*(ring[first - 1] - start))) > 1e-9
    parts = [start[None], ring[first:], ring[:first]]
    once = np.vstack(parts) if is_between else np.vstack(parts)[:-1]
    if overcut_mm <= 0.0:
        return once
    end = min(start_mm + min(overcut_mm, total), start_mm + total)
    along = (ends[:-1] - start_mm) % total
    between = np.argsort(along)
    between = between[(along[between] > 1e-9) & (along[between] < end - start_mm - 1e-9)]
    return np.vstack([once, once[:1], ring[between], _at(ring, ends, end % total)])


def _at(ring: Points, ends: Points, along_mm: float) -> Points:
    """Return the point at a length along the ring."""
    i = min(int(np.searchsorted(ends, along_mm, side="right")) - 1, len(ring) - 1)
    span = float(ends[i + 1] - ends[i])
    share = (along_mm - float(ends[i])) / span if span > 0 else 0.0
    point: Points = ring[i] + share * (ring[(i + 1) % len(ring)] - ring[i])
    return point

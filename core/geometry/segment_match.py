"""Finding the segment that an edge lies on: exactly by its midpoint, else by nearness.

The sum of the two ends of a segment does not depend on its direction, and noding keeps the
coordinates of what it does not split, so midpoints compare exactly. The middle part of a
segment that was split evenly has the same midpoint, so an end is compared as well.
"""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

Points = NDArray[np.float64]
Indices = NDArray[np.intp]


def midpoint_keys(starts: Points, ends: Points) -> NDArray[np.complex128]:
    """Return twice the midpoints as complex numbers, which sort and compare as one value."""
    keys: NDArray[np.complex128] = np.ascontiguousarray(starts + ends).view(np.complex128)
    return keys.ravel()


def match_segments(
    edges: tuple[Points, Points], segments: tuple[Points, Points], *, only_split: bool
) -> Indices:
    """Return for each edge the index of the segment that it lies on, or is nearest to.

    Args:
        edges: starts and ends, each of shape (n, 2).
        segments: likewise.
        only_split: edges without a segment of their own are parts of segments that no edge has
            matched whole; so only among those the nearest is sought.

    Degenerate input: of equal segments the first is found.
    """
    theirs = midpoint_keys(*segments)
    order = np.argsort(theirs, kind="stable")
    ours = midpoint_keys(*edges)
    at = np.minimum(np.searchsorted(theirs[order], ours), len(theirs) - 1)
    found: Indices = order[at]
    is_lost = (theirs[found] != ours) | ~_has_end(edges[0], segments, found)
    if is_lost.any():
        is_candidate = np.ones(len(theirs), dtype=bool)
        if only_split:
            is_candidate[found[~is_lost]] = False
        candidates = np.flatnonzero(is_candidate)
        pairs = np.stack([segments[0][candidates], segments[1][candidates]], axis=1)
        middles = shapely.points((edges[0][is_lost] + edges[1][is_lost]) / 2)
        found[is_lost] = candidates[
            STRtree(list(shapely.get_parts(shapely.linestrings(pairs)))).nearest(middles)
        ]
    return found


def _has_end(ends: Points, segments: tuple[Points, Points], at: Indices) -> NDArray[np.bool_]:
    """Whether each point is one of the two ends of its segment."""
    one, two = segments
    is_end: NDArray[np.bool_] = np.all(ends == one[at], axis=1) | np.all(
        ends == two[at], axis=1
    )
    return is_end

"""Few cubics through exact points whose tangents are known, within a tolerance.

For points of a curve, as an offset or a denser outline gives them. Along a rough trace, whose
tangents have to be told from its points, ``trace_cubics`` does it.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.geometry.bezier import Chain
from core.geometry.nearest_cubic import nearest_cubic

Complex = NDArray[np.complex128]


def fit_cubics(points: Complex, directions: Complex, tolerance: float) -> Chain:
    """Return cubics through the points, each point within the tolerance of them.

    Joints lie on given points and run through smoothly in the direction given there. As few
    segments are used as a greedy search needs, then evened out where that holds as well.

    Args:
        points: at least two, in order; the first and last are kept exactly.
        directions: unit tangents at the points; only those at joints are used.
        tolerance: largest distance of a point from the result.

    Degenerate input: two points give a straight segment's cubic with the given tangents, or a
    straight segment when those run along it.
    """
    joints = [0]
    last = len(points) - 1
    while joints[-1] < last:
        joints.append(_farthest(points, directions, joints[-1], tolerance))
    count = len(joints) - 1
    if count > 1:
        along = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])
        even = np.searchsorted(along, np.linspace(0, along[-1], count + 1)[1:-1])
        evened = [0, *(int(i) for i in even), last]
        if all(a < b for a, b in pairwise(evened)) and _allnearest_cubic(
            points, directions, evened, tolerance
        ):
            joints = evened
    return [
        nearest_cubic(points[a : b + 1], directions[a], directions[b])[0]
        for a, b in pairwise(joints)
    ]


def _allnearest_cubic(
    points: Complex, directions: Complex, joints: list[int], tolerance: float
) -> bool:
    return all(
        nearest_cubic(points[a : b + 1], directions[a], directions[b], tolerance)[1]
        <= tolerance
        for a, b in pairwise(joints)
    )


def _farthest(points: Complex, directions: Complex, start: int, tolerance: float) -> int:
    """Return the last point that one cubic from ``start`` reaches within the tolerance."""

    def fits(end: int) -> bool:
        run = points[start : end + 1]
        return nearest_cubic(run, directions[start], directions[end], tolerance)[1] <= tolerance

    last = len(points) - 1
    if fits(last):
        return last
    good, bad = start + 1, last
    while bad - good > 1:
        middle = (good + bad) // 2
        if fits(middle):
            good = middle
        else:
            bad = middle
    return good

"""Moving a whole curved ring outward or inward by one distance, in curves.

Straight sides stay straight; curves are fitted anew within a tolerance, since the offset of a
cubic is no cubic. What the move turns inside out is cut away.
"""

import cmath
import math
from dataclasses import replace
from enum import StrEnum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.geometry.bezier import (
    Chain,
    Segment,
    arc,
    curvatures_at,
    direction_at,
    directions_at,
    length_of,
    points_at,
    straight,
)
from core.geometry.boolean_paths import CurvedArea, cleaned
from core.geometry.fit_cubics import fit_cubics

Floats = NDArray[np.float64]

MITRE_LIMIT = 4.0
"""A sharp corner reaches at most this many times the distance, else it is bevelled."""
FIT_MM = 0.01
"""How near the fitted curves stay to the true offset."""


class Corners(StrEnum):
    """What becomes of the corners that an offset opens."""

    SHARP = "sharp"
    ROUND = "round"


def offset_ring(
    ring: Chain, distance: float, corners: Corners, tolerance: float = FIT_MM
) -> list[CurvedArea]:
    """Move a counter-clockwise ring outward by a distance; negative moves inward.

    Returns:
        The areas that come out, largest first: none when the ring vanishes, several when a
        narrow place closes. Each segment keeps the source of the one it comes from.
    """
    moved = [_moved(segment, distance, tolerance) for segment in ring]
    joints: list[Chain] = []
    for i, part in enumerate(moved):
        j = (i + 1) % len(moved)
        joints.append(_joint((ring[i], ring[j]), part, moved[j], distance, corners))
    raw = [s for part, joint in zip(moved, joints, strict=True) for s in (*part, *joint)]
    return cleaned([s for s in raw if length_of(s) > 1e-9])


def _moved(segment: Segment, distance: float, tolerance: float) -> Chain:
    """Return one segment moved to its right by the distance."""
    shift = -1j * distance
    if segment.is_straight:
        by = shift * direction_at(segment, 0.0)
        return [straight(segment.p0 + by, segment.p3 + by, segment.source)]
    count = max(17, min(65, int(length_of(segment) / 4) | 1))
    t = np.linspace(0, 1, count)
    # Where the curve is tighter than the distance, its offset runs backwards.
    stretch = 1 + distance * curvatures_at(segment, t)
    along = directions_at(segment, t)
    points = points_at(segment, t) + shift * along
    chain: Chain = []
    for a, b in _even_signs(stretch):
        heading = along[a : b + 1] * np.sign(stretch[(a + b) // 2] or 1.0)
        chain += fit_cubics(points[a : b + 1], heading, tolerance)
    # The first piece keeps the start of its source, so that the node is found again.
    cut = np.linspace(0, 1, len(chain) + 1)
    return [
        replace(s, source=segment.source, t0=float(cut[i]), t1=float(cut[i + 1]))
        for i, s in enumerate(chain)
    ]


def _even_signs(values: Floats) -> list[tuple[int, int]]:
    """Return the stretches over which a value keeps its sign, each at least one step long."""
    turns = [i for i in range(1, len(values) - 1) if values[i - 1] * values[i] < 0]
    joints = [0, *turns, len(values) - 1]
    return [(a, b) for a, b in pairwise(joints) if b > a]


def _joint(
    sides: tuple[Segment, Segment],
    part: Chain,
    follower: Chain,
    distance: float,
    corners: Corners,
) -> Chain:
    """Return what joins two moved sides at the corner between them.

    Straight sides are lengthened in place to where they meet.
    """
    a, b, corner = part[-1].p3, follower[0].p0, sides[1].p0
    before, after = (side.source for side in sides)
    if abs(a - b) < 1e-9:
        return []
    into, out = direction_at(sides[0], 1.0), direction_at(sides[1], 0.0)
    turn = cmath.phase(into.conjugate() * out)
    if turn * distance <= 0:
        # The sides overlap: over the old corner the loop winds the wrong way and is cut away.
        return [straight(a, corner), straight(corner, b)]
    if abs(turn) < 1e-4 or (corners is Corners.SHARP and 1 / math.cos(turn / 2) > MITRE_LIMIT):
        return [straight(a, b)]
    if corners is Corners.ROUND:
        return arc(corner, abs(distance), cmath.phase(a - corner), turn)
    tip = a + into * abs(distance) * math.tan(abs(turn) / 2)
    joint = []
    if part[-1].is_straight:
        part[-1] = straight(part[-1].p0, tip, before)
    else:
        joint.append(replace(straight(a, tip, before), t0=1.0))
    if follower[0].is_straight:
        follower[0] = straight(tip, follower[0].p3, after)
    else:
        joint.append(replace(straight(tip, b, after), t1=0.0))
    return joint

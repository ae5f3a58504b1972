"""Making a ring symmetric: one half is kept and mirrored, and both are welded at the axis."""

from dataclasses import replace
from itertools import pairwise

from core.document.path import Path, Point
from core.document.placing import Placing, mirrored, unit_at
from core.document.shaping import Drawn, chain_of, counter_clockwise, drawn, ring_of
from core.errors import EditRefused
from core.geometry.bezier import (
    Chain,
    Segment,
    backward,
    line_crossings,
    mapped,
    point_at,
    straight,
    sub_segment,
)
from core.tolerance import JOIN_MM

SQUARE_RAD = 2e-3
"""A curve that meets the axis this squarely is meant to run through it smoothly."""


def symmetric_ring(ring: Path, through: Point, angle_deg: float, *, keeps_left: bool) -> Path:
    """Return the ring with one half kept and the other its mirror image.

    Args:
        ring: drawn whole or by half; a half is closed along the axis.
        through: a point of the axis.
        angle_deg: direction of the axis, from x.
        keeps_left: whether the half on the left of the axis is kept.

    What lies in the axis itself is dropped. Where the outline crosses the axis squarely, it
    runs through smoothly; else there is a corner.

    Raises:
        EditRefused: the kept half is not one stretch from axis to axis.
    """
    ring = counter_clockwise(ring)
    mirror = mirrored(through, angle_deg)
    half = _kept_half(chain_of(ring), through, angle_deg, keeps_left=keeps_left)
    ends = half[0].p0, half[-1].p3
    half[0] = replace(half[0], p0=_on_axis(ends[0], mirror))
    half[-1] = replace(half[-1], p3=_on_axis(ends[1], mirror))
    half[0] = _squared(half[0], unit_at(angle_deg))
    half[-1] = backward(_squared(backward(half[-1]), unit_at(angle_deg)))
    # A segment of the image has the number of its original behind all that were drawn.
    count = len(ring)
    image = [
        replace(backward(mapped(s, lambda p: _moved(p, mirror))), source=s.source + count)
        for s in reversed(half)
    ]
    _run_on(half, image)
    return ring_of([*half, *image], _backward_image(drawn(ring, ring), count))


def _squared(segment: Segment, along: complex) -> Segment:
    """Let a curve that leaves the axis all but squarely leave it squarely, so smoothly."""
    square = 1j * along
    step = segment.p1 - segment.p0
    if segment.is_straight or abs(step) < 1e-9:
        return segment
    lean = (square.conjugate() * step) / abs(step)
    if abs(lean.imag) > SQUARE_RAD:
        return segment
    sense = 1 if lean.real > 0 else -1
    return replace(segment, p1=segment.p0 + sense * square * abs(step))


def _run_on(half: Chain, image: Chain) -> None:
    """Make one segment of two straight ones that cross the axis squarely."""
    for here, there in ((half, image), (image, half)):
        before, after = here[-1], there[0]
        cross = (before.p3 - before.p0).conjugate() * (after.p3 - after.p0)
        is_straight = before.is_straight and after.is_straight
        if is_straight and abs(cross.imag) < 1e-9 * abs(cross) and len(half) > 1:
            there[0] = replace(
                straight(before.p0, after.p3, after.source), t0=after.t0, t1=after.t1
            )
            del here[-1]


def _backward_image(both: Drawn, count: int) -> Drawn:
    """Return what a ring and its image refer to: the image's segments follow backwards."""
    following = list(both.following)
    for i in range(count):
        following[count + (i + 1) % count] = count + i
    nodes = list(both.nodes)
    for i in range(count):
        # Run backwards, a segment starts at the node that it ends at when run forwards.
        nodes[count + i] = both.nodes[(i + 1) % count]
    return Drawn(tuple(nodes), both.turns, tuple(following))


def _kept_half(chain: Chain, through: Point, angle_deg: float, *, keeps_left: bool) -> Chain:
    """Return the one stretch of a ring on the kept side of the axis."""
    origin = complex(*through)
    along = unit_at(angle_deg)
    sign = 1 if keeps_left else -1

    def side(p: complex) -> float:
        return sign * (along.conjugate() * (p - origin)).imag

    parts: Chain = []
    for s in chain:
        cuts = [t for t in line_crossings(s, origin, along) if 0 < t < 1]
        joints = [0.0, *cuts, 1.0]
        parts += [sub_segment(s, a, b) for a, b in pairwise(joints)]
    parts = [p for p in parts if max(abs(p.p3 - p.p0), abs(p.p1 - p.p0)) > JOIN_MM / 10]
    kept = [side(point_at(p, 0.5)) > JOIN_MM for p in parts]
    starts = [i for i in range(len(parts)) if kept[i] and not kept[i - 1]]
    if len(starts) != 1:
        raise EditRefused(
            "The half to be kept is not one stretch from axis to axis.",
            mend="Choose another axis or the other half.",
        )
    run: Chain = []
    for k in range(len(parts)):
        i = (starts[0] + k) % len(parts)
        if not kept[i]:
            break
        run.append(parts[i])
    if max(abs(side(run[0].p0)), abs(side(run[-1].p3))) > 1.0:
        raise EditRefused(
            "The half to be kept does not reach the axis.", mend="Choose another axis."
        )
    return run


def _moved(p: complex, mirror: Placing) -> complex:
    return complex(*mirror.point((p.real, p.imag)))


def _on_axis(p: complex, mirror: Placing) -> complex:
    return (p + _moved(p, mirror)) / 2

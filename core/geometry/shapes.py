"""Plain shapes as closed chains, counter-clockwise, their lowest left point at the origin."""

import math

from core.errors import InputError
from core.geometry.bezier import Chain, Segment, mapped, straight

QUARTER = 4 / 3 * (math.sqrt(2) - 1)
"""Handle length of a quarter of a unit circle; it strays by at most 2.7e-4 of the radius.
Source: standard approximation, where the curve's middle lies on the circle."""


def rectangle(width: float, height: float, radius: float = 0.0) -> Chain:
    """Return a rectangle; a radius rounds its corners.

    Raises:
        InputError: the corners do not fit on it.
    """
    if 2 * radius > min(width, height):
        raise InputError(
            "The corners do not fit on the panel.",
            where="Corner radius",
            mend="Make the radius at most half the shorter side.",
        )
    if radius == 0:
        return polygon([0j, complex(width, 0), complex(width, height), complex(0, height)])
    r = radius
    centres = (
        complex(width - r, r), complex(width - r, height - r),
        complex(r, height - r), complex(r, r),
    )  # fmt: skip
    chain: Chain = []
    way = 1 + 0j
    for i, centre in enumerate(centres):
        rounding = _quarter(centre, -1j * way * r)
        chain.append(rounding)
        next_start = centres[(i + 1) % 4] + way * r
        if abs(next_start - rounding.p3) > 1e-9:
            chain.append(straight(rounding.p3, next_start))
        way *= 1j
    return chain


def ellipse(width: float, height: float) -> Chain:
    """Return an ellipse of four segments, from its lowest point on."""
    a, b = width / 2, height / 2
    chain, spoke = [], -1j
    for _ in range(4):
        q = _quarter(0j, spoke)
        chain.append(mapped(q, lambda p: complex(a * (1 + p.real), b * (1 + p.imag))))
        spoke *= 1j
    return chain


def trapezium(bottom: float, top: float, height: float, shift: float | None = None) -> Chain:
    """Return a trapezium with level sides.

    Args:
        bottom: length of the lower side.
        top: length of the upper side.
        height: distance between the two, square to them.
        shift: how far to the right of the lower side's left end the upper side begins; None
            puts it over the middle.
    """
    start = (bottom - top) / 2 if shift is None else shift
    corners = [0j, complex(bottom, 0), complex(start + top, height), complex(start, height)]
    least = min(p.real for p in corners)
    return polygon([p - least for p in corners])


def polygon(corners: list[complex]) -> Chain:
    """Return the polygon through the corners."""
    return [straight(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


def _quarter(centre: complex, spoke: complex) -> Segment:
    """Return a quarter circle, counter-clockwise from where the spoke points."""
    a, b = centre + spoke, centre + 1j * spoke
    return Segment(a, a + 1j * spoke * QUARTER, b + spoke * QUARTER, b)


def ellipse_corners(count: int) -> list[complex]:
    """Return corners spread evenly round, counter-clockwise, the first side level below.

    A stand-in for a polygon of which only the number of corners is known.
    """
    first = -math.pi / 2 - math.pi / count
    turns = [first + 2 * math.pi * i / count for i in range(count)]
    return [complex(400 * math.cos(a), 300 * math.sin(a)) for a in turns]

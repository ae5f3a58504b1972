"""Random closed curves for laws: star-shaped about a middle, so that they never cross."""

import cmath
import math
from dataclasses import replace

from hypothesis import strategies as st

from core.geometry.bezier import Chain, Segment, straight


def numbered(chain: Chain) -> Chain:
    """The chain with its segments numbered as drawn."""
    return [replace(s, source=i) for i, s in enumerate(chain)]


def shifted(chain: Chain, by: complex) -> Chain:
    return [replace(s, p0=s.p0 + by, p1=s.p1 + by, p2=s.p2 + by, p3=s.p3 + by) for s in chain]


@st.composite
def corner_rings(draw: st.DrawFn, *, least: float = 80.0, most: float = 300.0) -> Chain:
    """A polygon of 4 to 9 corners about the origin, counter-clockwise."""
    return numbered(_polygon(_corners(draw, least, most)))


@st.composite
def smooth_rings(draw: st.DrawFn, *, least: float = 120.0, most: float = 260.0) -> Chain:
    """A smooth closed curve through 4 to 9 nodes about the origin, counter-clockwise."""
    corners = _corners(draw, least, most)
    count = len(corners)
    tangents = [(corners[(i + 1) % count] - corners[i - 1]) / 6 for i in range(count)]
    return numbered(
        [
            Segment(
                corners[i],
                corners[i] + tangents[i],
                corners[(i + 1) % count] - tangents[(i + 1) % count],
                corners[(i + 1) % count],
            )
            for i in range(count)
        ]
    )


def _corners(draw: st.DrawFn, least: float, most: float) -> list[complex]:
    count = draw(st.integers(4, 9))
    wobble = st.floats(-0.3, 0.3)
    radii = st.floats(least, most)
    return [
        cmath.rect(draw(radii), 2 * math.pi * (i + draw(wobble)) / count) for i in range(count)
    ]


def _polygon(corners: list[complex]) -> Chain:
    return [straight(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]

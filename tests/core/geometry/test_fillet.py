import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from core.errors import GeometryError
from core.geometry.bezier import Segment, area_of, direction_at, straight
from core.geometry.fillet import fillet, turn_rad

CIRCLE_ERROR = 2.8e-4
"""Of the radius: how far the cubics stray from a circle."""


def corner(turn: float, size: float = 1000.0) -> tuple[Segment, Segment]:
    out = complex(math.cos(turn), math.sin(turn))
    return straight(complex(-size, 0), 0j), straight(0j, size * out)


@given(st.floats(-2.8, 2.8), st.floats(1, 60))
def test_a_fillet_removes_what_the_formula_says_and_is_tangent(turn, radius):
    # The area between a corner and an arc in it: r^2 (tan(t/2) - t/2), t the turn; plane
    # geometry: two right triangles less a sector.
    assume(abs(turn) > 0.1)
    a, b = corner(turn)
    found = fillet(a, b, radius)
    assert found is not None
    removed = abs(
        area_of(
            [
                straight(found.before.p3, 0j),
                straight(0j, found.after.p0),
                *_backward(found.rounding),
            ]
        )
    )
    t = abs(turn)
    exact = radius**2 * (math.tan(t / 2) - t / 2)
    assert removed == pytest.approx(exact, abs=CIRCLE_ERROR * radius**2 * t)
    chain = [found.before, *found.rounding, found.after]
    for here, there in pairwise(chain):
        assert here.p3 == there.p0
        assert abs(direction_at(here, 1.0) - direction_at(there, 0.0)) < 1e-9


def _backward(chain):
    return [Segment(s.p3, s.p2, s.p1, s.p0) for s in reversed(chain)]


@given(st.floats(5, 40))
def test_an_arc_between_a_line_and_a_curve_touches_both(radius):
    a = straight(-300 + 0j, 0j)
    b = Segment(0j, 20 + 120j, 100 + 180j, 220 + 200j)
    found = fillet(a, b, radius)
    assert found is not None
    chain = [found.before, *found.rounding, found.after]
    for here, there in pairwise(chain):
        assert abs(direction_at(here, 1.0) - direction_at(there, 0.0)) < 1e-7
    # The centre is the radius away from the line, square to it.
    centre = found.rounding[0].p0 + 1j * radius
    assert abs(found.rounding[-1].p3 - centre) == pytest.approx(radius, abs=1e-6)


def test_an_arc_too_large_for_its_sides_is_none():
    a, b = corner(math.pi / 2, size=50)
    assert fillet(a, b, 50.0) is not None
    assert fillet(a, b, 50.1) is None


def test_no_corner_and_a_path_that_turns_back_are_refused():
    with pytest.raises(GeometryError, match="no corner"):
        fillet(straight(0, 10), straight(10, 20), 1.0)
    with pytest.raises(GeometryError, match="turns back"):
        fillet(straight(0, 10), straight(10, 0), 1.0)


def test_the_turn_is_positive_to_the_left():
    a, b = corner(0.7)
    assert turn_rad(a, b) == pytest.approx(0.7)
    a, b = corner(-0.7)
    assert turn_rad(a, b) == pytest.approx(-0.7)

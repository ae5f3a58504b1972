import math

import pytest

from core.errors import InputError
from core.geometry import shapes
from core.geometry.bezier import area_of, bounds_of, length_of

BULGE = 6e-4
"""Relative: four cubics hold 2.8e-4 more area than a circle."""


def test_areas_and_sizes_are_those_of_the_handbook():
    # Plane geometry: ab; ab - (4 - pi) r^2; pi ab / 4; (a + b) h / 2.
    assert area_of(shapes.rectangle(400, 200)) == pytest.approx(80_000)
    rounded = shapes.rectangle(400, 200, 30)
    assert area_of(rounded) == pytest.approx(80_000 - (4 - math.pi) * 900, rel=BULGE)
    assert area_of(shapes.ellipse(400, 200)) == pytest.approx(math.pi * 2e4, rel=BULGE)
    assert area_of(shapes.trapezium(400, 300, 200)) == pytest.approx(70_000)
    for shape in (rounded, shapes.ellipse(400, 200)):
        assert bounds_of(shape) == pytest.approx((0, 0, 400, 200), abs=1e-9)


def test_an_ellipse_has_its_length():
    # Ramanujan's second approximation, good to 1e-6 here; from memory.
    a, b = 200.0, 100.0
    h = ((a - b) / (a + b)) ** 2
    length = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert sum(map(length_of, shapes.ellipse(400, 200))) == pytest.approx(length, rel=3e-4)


def test_corners_as_large_as_they_can_be_leave_no_side():
    assert len(shapes.rectangle(400, 200, 100)) == 6
    assert len(shapes.rectangle(200, 200, 100)) == 4
    with pytest.raises(InputError, match="do not fit"):
        shapes.rectangle(400, 200, 101)


def test_a_trapezium_starts_where_it_is_told_to():
    level = shapes.trapezium(400, 300, 200)
    assert level[2].p3 == 50 + 200j
    leaning = shapes.trapezium(400, 300, 200, shift=-80)
    assert min(s.p0.real for s in leaning) == 0
    assert leaning[0].p0 == 80


def test_a_stand_in_polygon_is_convex_with_a_level_side_below():
    for count in (3, 4, 7, 12):
        corners = shapes.ellipse_corners(count)
        assert len(corners) == count
        assert corners[0].imag == pytest.approx(corners[1].imag)
        assert corners[0].real < corners[1].real

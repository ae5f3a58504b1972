import cmath
import math

import pytest
from ezdxf.math import bulge_to_arc
from hypothesis import given
from hypothesis import strategies as st

from core.read.strokes import (
    Affine,
    ArcTo,
    CurveTo,
    LineTo,
    Stroke,
    arc_error,
    bulge_step,
    circle_arc,
    is_finite,
    segments_of,
)

numbers = st.floats(-1e3, 1e3)
points = st.builds(complex, numbers, numbers)


def bezier(segment, t):
    p0, p1, p2, p3 = segment
    s = 1 - t
    return s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3


def worst_off_circle(segments, centre, radius):
    steps = [i / 400 for i in range(401)]
    return max(abs(abs(bezier(s, t) - centre) - radius) for s in segments for t in steps)


@pytest.mark.parametrize("angle", [0.3, 1.0, math.pi / 2, 2.0])
def test_the_error_of_an_arc_is_what_it_measures(angle):
    _, arc = circle_arc(0, 1.0, 0.4, angle)
    reach = 4 / 3 * math.tan(angle / 4)
    start, end = cmath.exp(0.4j), cmath.exp(1j * (0.4 + angle))
    curve = (start, start * (1 + 1j * reach), end * (1 - 1j * reach), end)
    assert arc.end == pytest.approx(end)
    measured = worst_off_circle([curve], 0, 1.0)
    assert arc_error(1.0, angle) == pytest.approx(measured, rel=0.02)


@pytest.mark.parametrize("radius", [0.5, 12.0, 400.0, 25_000.0])
@pytest.mark.parametrize("sweep", [0.01, 1.0, -4.0, 2 * math.pi])
def test_arcs_stay_within_the_tolerance_with_few_curves(radius, sweep):
    start, arc = circle_arc(3 + 4j, radius, 0.7, sweep)
    segments = segments_of(Stroke(start, (arc,)), 1.0, 0.01)
    assert worst_off_circle(segments, 3 + 4j, radius) <= 0.01 + 1e-9
    fewer = len(segments) - 1
    if fewer >= max(1, math.ceil(abs(sweep) / (math.pi / 2) - 1e-9)):
        assert arc_error(radius, abs(sweep) / fewer) > 0.01


def test_the_scale_counts_for_the_tolerance():
    start, arc = circle_arc(0, 100.0, 0, 2 * math.pi)
    inches = segments_of(Stroke(start, (arc,)), 25.4, 0.01)
    assert worst_off_circle(inches, 0, 2540.0) <= 0.01
    assert len(inches) > len(segments_of(Stroke(start, (arc,)), 1.0, 0.01))


@given(points, points, st.floats(-20, 20))
def test_a_bulge_is_the_arc_that_another_library_makes_of_it(start, end, bulge):
    if abs(end - start) < 1e-2 or abs(bulge) < 1e-3:
        return
    step = bulge_step(start, end, bulge)
    centre, first, last, radius = bulge_to_arc(
        (start.real, start.imag), (end.real, end.imag), bulge
    )
    assert isinstance(step, ArcTo)
    assert abs(step.centre - complex(centre.x, centre.y)) < 1e-6 * (1 + radius)
    assert abs(step.u) == pytest.approx(radius, rel=1e-9)
    assert abs(step.sweep_rad) == pytest.approx((last - first) % (2 * math.pi), abs=1e-6)
    assert (step.sweep_rad > 0) == (bulge > 0)
    assert abs(step.at(step.start_rad) - start) < 1e-6 * (1 + radius)
    assert abs(step.at(step.start_rad + step.sweep_rad) - end) < 1e-6 * (1 + radius)


def test_a_bulge_of_nothing_is_a_line():
    assert bulge_step(0, 5, 0.0) == LineTo(5)
    assert bulge_step(5, 5, 1.0) == LineTo(5)


@given(points, points, points, points)
def test_an_affine_map_takes_a_frame_to_its_places(origin, x, y, z):
    to = Affine.from_frame(origin, x, y)
    assert to(0) == pytest.approx(origin, abs=1e-9)
    assert to(1) == pytest.approx(x, abs=1e-9)
    assert to(1j) == pytest.approx(y, abs=1e-9)
    expected = origin + (x - origin) * z.real + (y - origin) * z.imag
    assert to(z) == pytest.approx(expected, abs=1e-5)
    assert abs(to.vector(z)) <= to.stretch * abs(z) + 1e-6


@given(points, points, points, st.floats(0, 6), st.floats(-6, 6))
def test_an_arc_that_is_mapped_runs_through_the_mapped_points(u, v, moved, start, sweep):
    arc = ArcTo(moved, u, v, start, sweep, 0)
    to = Affine(0.3 + 1j, 2 - 0.5j, 7)
    for t in (start, start + sweep / 3, start + sweep):
        assert arc.mapped(to).at(t) == pytest.approx(to(arc.at(t)), abs=1e-6)


def test_a_closed_stroke_gets_the_line_that_closes_it():
    stroke = Stroke(0, (LineTo(10), LineTo(10 + 5j)), is_closed=True)
    assert [s.end for s in segments_of(stroke, 2.0, 0.01)] == [20, 20 + 10j, 0]


def test_steps_without_length_are_dropped():
    stroke = Stroke(1j, (LineTo(1j), CurveTo(1j, 1j, 1j), LineTo(4j), CurveTo(9, 8, 4j)))
    segments = segments_of(stroke, 1.0, 0.01)
    assert [s.is_curve for s in segments] == [False, True]


@pytest.mark.parametrize(
    "step",
    [
        LineTo(complex(math.nan, 0)),
        CurveTo(0, complex(math.inf, 0), 1),
        ArcTo(0, 1, 1j, math.nan, 1.0, 1),
    ],
)
def test_numbers_that_are_none_are_found(step):
    assert not is_finite(Stroke(0, (step,)))
    assert is_finite(Stroke(0, (LineTo(1),)))

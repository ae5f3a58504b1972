"""Sides and diagonals against what geometry and surveying books give."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from core.geometry.survey import Survey, survey_polygon


def area(points):
    return Polygon(points).area


@pytest.mark.parametrize(
    ("a", "b", "c", "known"),
    [
        # Heron's own example in the Metrica, I.8: sides 13, 14, 15 give 84; from memory.
        (13.0, 14.0, 15.0, 84.0),
        # Heronian triangles from tables: 3-4-5, 5-5-6, 9-10-17, 7-15-20; from memory.
        (3.0, 4.0, 5.0, 6.0),
        (5.0, 5.0, 6.0, 12.0),
        (9.0, 10.0, 17.0, 36.0),
        (7.0, 15.0, 20.0, 42.0),
    ],
)
def test_triangles_of_the_tables_have_their_areas(a, b, c, known):
    found = survey_polygon(Survey(3, {(0, 1): a, (1, 2): b, (0, 2): c}))
    assert area(found.points) == pytest.approx(known, rel=1e-9)


@given(st.floats(50, 900), st.floats(50, 900), st.floats(0.1, 3.0))
def test_a_triangle_obeys_the_law_of_cosines(a, b, angle):
    # c^2 = a^2 + b^2 - 2 a b cos C; the corner between a and b comes out at C again.
    c = math.sqrt(a * a + b * b - 2 * a * b * math.cos(angle))
    points = survey_polygon(Survey(3, {(0, 1): a, (1, 2): b, (0, 2): c})).points
    into, out = points[0] - points[1], points[2] - points[1]
    cosine = into @ out / (np.hypot(*into) * np.hypot(*out))
    assert math.acos(np.clip(cosine, -1, 1)) == pytest.approx(angle, abs=1e-6)


@pytest.mark.parametrize(
    ("sides", "p", "q", "known"),
    [
        # A cyclic quadrilateral: Brahmagupta's example 39, 52, 25, 60 with diagonals 56 and 63
        # has the area 1764; from memory.
        ((39.0, 60.0, 52.0, 25.0), 63.0, 56.0, 1764.0),
    ],
)
def test_brahmagupta_s_quadrilateral(sides, p, q, known):
    lengths = dict(zip([(0, 1), (1, 2), (2, 3), (0, 3)], sides, strict=True))
    for diagonals in ({(0, 2): p}, {(1, 3): q}, {(0, 2): p, (1, 3): q}):
        found = survey_polygon(Survey(4, {**lengths, **diagonals}))
        assert area(found.points) == pytest.approx(known, rel=1e-9)


@given(st.floats(100, 800), st.floats(100, 800))
def test_a_rectangle_of_equal_diagonals_is_square_at_its_corners(width, height):
    # How a frame is squared on site: opposite sides equal, diagonals equal.
    across = math.hypot(width, height)
    lengths = {(0, 1): width, (1, 2): height, (2, 3): width, (0, 3): height}
    found = survey_polygon(Survey(4, {**lengths, (0, 2): across, (1, 3): across}))
    expected = [(0, 0), (width, 0), (width, height), (0, height)]
    assert np.abs(found.points - expected).max() < 1e-6


def test_least_squares_agree_with_a_search_that_knows_no_derivatives():
    # A braced quadrilateral with errors of some millimetres. The adjusted sum of squares is
    # compared with that of a plain downhill search by shrinking steps over all coordinates.
    true = np.array([(0, 0), (1200, 0), (1100, 700), (100, 800)], dtype=float)
    pairs = list(itertools.combinations(range(4), 2))
    errors = dict(zip(pairs, (1.5, -2.0, 1.0, 2.5, -1.0, 0.5), strict=True))
    taken = {(a, b): math.dist(true[a], true[b]) + errors[a, b] for a, b in pairs}
    found = survey_polygon(Survey(4, taken, accuracy_mm=3.0))

    def miss(points):
        return sum((math.dist(points[a], points[b]) - mm) ** 2 for (a, b), mm in taken.items())

    best, step = true.copy(), 1.0
    while step > 1e-6:
        is_better = False
        for k in range(1, 8):
            for sign in (1, -1):
                tried = best.copy()
                tried[k // 2, k % 2] += sign * step
                if miss(tried) < miss(best):
                    best, is_better = tried, True
        step = step if is_better else step / 2
    assert miss(found.points) <= miss(best) + 1e-9
    assert miss(found.points) == pytest.approx(miss(best), abs=1e-4)


def test_a_polygon_of_triangles_agrees_with_shapely():
    corners = [(0, 0), (620, -40), (900, 310), (700, 640), (240, 690), (-120, 330)]
    ring = Polygon(corners)
    assert shapely.is_ccw(ring.exterior)
    pairs = [(i, i + 1) for i in range(5)] + [(0, 5), (0, 2), (0, 3), (0, 4)]
    taken = {(a, b): math.dist(corners[a], corners[b]) for a, b in pairs}
    found = Polygon(survey_polygon(Survey(6, taken)).points)
    assert found.area == pytest.approx(ring.area, rel=1e-9)
    assert found.length == pytest.approx(ring.length, rel=1e-9)

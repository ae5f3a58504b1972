import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from core.errors import InputError
from core.geometry.survey import Survey, name_of, needed_measures, survey_polygon
from core.units import Units

QUAD = np.array([(0, 0), (800, 0), (850, 500), (-30, 480)], dtype=float)
DENT = np.array([(0, 0), (800, 0), (900, 400), (400, 300), (-50, 500)], dtype=float)
"""Its fourth corner points inward."""


def measured(points, pairs):
    return {
        (a, b): float(np.hypot(*(points[b] - points[a])))
        for a, b in (sorted(pair) for pair in pairs)
    }


def sides(count):
    return [(i, (i + 1) % count) for i in range(count)]


def every(count):
    return list(itertools.combinations(range(count), 2))


def fan(count):
    return [*sides(count), *((0, k) for k in range(2, count - 1))]


@st.composite
def convex(draw):
    """A convex polygon of 3 to 8 corners, its first side level: corners on an ellipse."""
    count = draw(st.integers(3, 8))
    share = [draw(st.floats(1.0, 2.0)) for _ in range(count)]
    angles = np.cumsum(share) / sum(share) * 2 * math.pi
    a, b = draw(st.floats(200, 900)), draw(st.floats(200, 900))
    points = np.stack([a * np.cos(angles), b * np.sin(angles)], axis=1)
    run = points[1] - points[0]
    turn = np.array([[run[0], run[1]], [-run[1], run[0]]]) / np.hypot(*run)
    return (points - points[0]) @ turn.T


@given(convex(), st.booleans())
def test_exact_measures_give_the_true_polygon(points, has_spares):
    count = len(points)
    pairs = every(count) if has_spares else fan(count)
    result = survey_polygon(Survey(count, measured(points, pairs)))
    assert np.abs(result.points - points).max() < 1e-6
    assert result.spare == len(set(measured(points, pairs))) - needed_measures(count)
    assert all(abs(v) < 1e-7 for v in result.residuals_mm.values())


@given(convex(), st.integers(0, 2**32 - 1), st.floats(0.1, 3.0))
def test_noisy_measures_are_held_no_worse_than_they_were_taken(points, seed, error):
    # Least squares: the residuals' sum of squares is at most that of the errors made, since
    # the true polygon is one of those that were tried.
    count = len(points)
    assume(count > 3)
    true = measured(points, every(count))
    noise = np.random.default_rng(seed).uniform(-error, error, len(true))
    taken = {pair: mm + float(e) for (pair, mm), e in zip(true.items(), noise, strict=True)}
    result = survey_polygon(Survey(count, taken, accuracy_mm=error))
    residuals = np.array(list(result.residuals_mm.values()))
    assert residuals @ residuals <= noise @ noise + 1e-9
    held = measured(result.points, every(count))
    assert all(abs(held[pair] - taken[pair]) <= math.sqrt(noise @ noise) for pair in true)


def test_a_corner_that_points_inward_is_placed_so():
    pairs = [*sides(5), (0, 3), (1, 3)]
    result = survey_polygon(Survey(5, measured(DENT, pairs), frozenset({3})))
    assert np.abs(result.points - DENT).max() < 1e-9
    with pytest.raises(InputError, match="pointing inward"):
        survey_polygon(Survey(5, measured(DENT, every(5)), frozenset({2})))


def test_a_wrong_measure_is_named_where_the_spares_can_tell():
    lengths = measured(DENT, every(5))
    lengths[(1, 3)] += 30
    with pytest.raises(InputError, match=r"2–4 does not fit.*they give 500 mm") as caught:
        survey_polygon(Survey(5, lengths, frozenset({3})))
    assert "Measure it again" in caught.value.mend


@pytest.mark.parametrize("wrong", every(5))
def test_any_one_wrong_measure_of_a_braced_pentagon_is_the_one_named(wrong):
    points = np.array([(0, 0), (700, 0), (950, 450), (350, 800), (-200, 420)], dtype=float)
    lengths = measured(points, every(5))
    lengths[wrong] += 40
    with pytest.raises(InputError, match=f"{name_of(wrong)} does not fit"):
        survey_polygon(Survey(5, lengths))


def test_with_one_spare_it_is_said_that_it_cannot_be_told():
    # With a redundancy of one every measure's test value is the same: a known limit.
    lengths = measured(QUAD, every(4))
    lengths[(0, 2)] += 40
    with pytest.raises(InputError, match="cannot be told which"):
        survey_polygon(Survey(4, lengths))


def test_lengths_are_said_in_the_job_s_units():
    lengths = measured(DENT, every(5))
    lengths[(1, 3)] += 30
    with pytest.raises(InputError, match=r"they give 19\.685 in"):
        survey_polygon(Survey(5, lengths, frozenset({3}), units=Units.IN))


def test_a_triangle_that_cannot_close_names_its_longest_side():
    with pytest.raises(InputError, match="1–2 is longer than 2–3 and 1–3 together"):
        survey_polygon(Survey(3, {(0, 1): 1200, (1, 2): 500, (0, 2): 600}))


@pytest.mark.parametrize(
    ("lengths", "words"),
    [
        ({(0, 1): 800.0, (1, 2): 500.0}, "The side 3–4 has no length"),
        (measured(QUAD, sides(4)), "Measure one more diagonal"),
        ({**measured(QUAD, fan(4)), (0, 1): 0.0}, "longer than nothing"),
    ],
)
def test_what_is_missing_is_said(lengths, words):
    with pytest.raises(InputError, match=words):
        survey_polygon(Survey(4, lengths))


def test_measures_that_leave_a_corner_loose_are_refused():
    # Six corners, nine measures, but all three diagonals are among the first four corners.
    angles = np.arange(6) * math.pi / 3
    points = 500 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    pairs = [*sides(6), (0, 2), (1, 3), (0, 3)]
    with pytest.raises(InputError, match="Corner 5 has only its two sides"):
        survey_polygon(Survey(6, measured(points, pairs)))


def test_a_tape_s_error_in_a_flat_triangle_is_bridged():
    flat = {(0, 1): 1000.0, (1, 2): 400.0, (0, 2): 600.5}
    result = survey_polygon(Survey(3, flat))
    assert result.points[2, 1] > 0


def test_too_many_corners_are_refused():
    with pytest.raises(InputError, match="3 to 12 corners"):
        survey_polygon(Survey(13, {}))

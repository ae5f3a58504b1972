import numpy as np
import pytest
from shapely import box

from core.document.edits.surfaces import with_reading
from core.document.surface import ReadingKind, ReadingPlace
from core.shape.answer import answer_for
from core.shape.developing import develop
from core.shape.judging import judge
from core.shape.model import Window
from core.shape.surface import CurvedSurface, surface_of
from core.shape.tape import find_doubts, fit_tape
from helpers.taped import (
    BALL,
    FLAT,
    ONE_SIDED,
    PARTS,
    SHOULDERS,
    WHOLE,
    Part,
    girth_circle_cone,
    misread,
    true_network,
    without_diagonals,
)

WINDOW = Window(2.0, 10.0)
NOTHING_PCT = 0.1
"""What is that near to nothing is nothing."""
SEEN_S = np.repeat(np.linspace(30.0, 570.0, 7), 9)
SEEN_T = np.tile(np.linspace(-300.0, 300.0, 9), 7)


def _answer(grid, area=WHOLE):
    surface = surface_of(grid)
    assert isinstance(surface, CurvedSurface)
    return answer_for(surface, area)


@pytest.mark.parametrize(
    ("part", "within"), [(FLAT, 1e-9), (BALL, 1e-3), (SHOULDERS, 0.03), (ONE_SIDED, 0.03)]
)
def test_readings_without_errors_give_the_part_back(part, within) -> None:
    fit = fit_tape(part.grid())
    assert fit.doubts == ()
    found = fit.fermi.widening(SEEN_S, SEEN_T)
    assert np.abs(found - part.widening(SEEN_S, SEEN_T)).max() < within


def test_the_same_readings_always_give_the_same_answer() -> None:
    grid = misread(BALL.grid(), np.random.default_rng(1))
    one, two = fit_tape(grid), fit_tape(grid)
    assert (one.draws == two.draws).all()
    assert (one.fermi.coefficients == two.fermi.coefficients).all()


@pytest.mark.parametrize("name", PARTS)
def test_the_stated_interval_holds_the_truth(name) -> None:
    # The 500 draws are run by tests/bench/test_tape_bench.py; these few keep it honest.
    part, rng = PARTS[name], np.random.default_rng(11)
    true = judge(true_network(part), WINDOW).range_pct
    grid = part.grid()
    answers = [_answer(misread(grid, rng)) for _ in range(3)]
    held = [a.low_pct - NOTHING_PCT <= true <= a.high_pct for a in answers]
    assert sum(held) >= 2, (true, [(a.low_pct, a.high_pct) for a in answers])


@pytest.mark.parametrize("name", ["ball", "shoulders"])
def test_the_interval_of_a_strip_along_the_shoulder_holds_its_truth(name) -> None:
    part, rng = PARTS[name], np.random.default_rng(12)
    strip = box(0, 150, 600, 300)
    true = develop(true_network(part, 37, 37), strip).range_pct
    grid = part.grid()
    answers = [_answer(misread(grid, rng), strip) for _ in range(4)]
    assert sum(a.low_pct - NOTHING_PCT <= true <= a.high_pct for a in answers) >= 3


def test_an_interval_is_narrower_the_more_often_lengths_are_read() -> None:
    rng = np.random.default_rng(5)
    once = _answer(misread(BALL.grid(), rng))
    often = _answer(misread(BALL.grid(), rng, repeats=6))
    assert often.high_pct - often.low_pct < 0.7 * (once.high_pct - once.low_pct)
    assert often.floor_pct < 0.7 * once.floor_pct


def test_three_lines_call_shoulders_too_mild_but_their_interval_does_not() -> None:
    true = judge(true_network(SHOULDERS), WINDOW).range_pct
    three, five = _answer(SHOULDERS.grid(lines=3)), _answer(SHOULDERS.grid(lines=5))
    assert three.range_pct < 0.9 * true
    assert abs(five.range_pct - true) < 0.1 * true
    assert three.low_pct < true < three.high_pct


@pytest.mark.parametrize("half", [150.0, 200.0])
def test_a_cone_taped_on_its_girth_circles_is_caught_by_the_diagonal(half) -> None:
    cone = girth_circle_cone(half)
    rng = np.random.default_rng(2)
    for _ in range(5):
        read = misread(cone, rng, 1.0, repeats=2)
        assert find_doubts(without_diagonals(read)) == ()  # all else looks sound
        (doubt, *_) = find_doubts(read)
        assert "diagonal" in doubt.what
        assert "not steered" in doubt.mend


def test_sound_readings_are_seldom_doubted() -> None:
    rng = np.random.default_rng(7)
    doubted = sum(bool(find_doubts(misread(BALL.grid(), rng))) for _ in range(5))
    assert doubted <= 1


def test_one_wild_reading_is_named() -> None:
    place = ReadingPlace(ReadingKind.LENGTH, 2, 3)
    (doubt, *_) = find_doubts(with_reading(BALL.grid(), place, (175.0,)))
    assert "do not fit one smooth surface" in doubt.what
    assert doubt.place == place


def test_a_part_that_rounds_over_too_far_is_refused() -> None:
    steep = Part(lambda _s, _t: 1 / 300**2)
    assert any("rounds over so far" in d.what for d in find_doubts(steep.grid()))


@pytest.mark.parametrize(("stations", "lines"), [(3, 3), (3, 5), (9, 5), (5, 3)])
def test_three_to_nine_stations_and_three_or_five_lines_are_taken(stations, lines) -> None:
    rng = np.random.default_rng(3)
    answer = _answer(misread(BALL.grid(stations, lines), rng, 1.0))
    true = judge(true_network(BALL), WINDOW).range_pct
    assert answer.low_pct < true < answer.high_pct

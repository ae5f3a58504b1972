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
    Errors,
    Part,
    misread,
    true_network,
)

WINDOW = Window(2.0, 10.0)
FEW = 120
"""Triangles where there are many draws; by that the range comes out 4 % of itself larger."""
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


@pytest.mark.parametrize("errors", [Errors.OWN, Errors.HALF], ids=["own", "shared"])
def test_in_nine_of_ten_draws_of_readings_the_stated_interval_holds_the_truth(errors) -> None:
    # 500 draws in all, of errors of 2 mm; tests/bench/test_tape_bench.py has more, and a table.
    rng, held, doubted = np.random.default_rng(11), [], 0
    for part in PARTS.values():
        true, grid = judge(true_network(part), WINDOW).range_pct, part.grid()
        surfaces = [surface_of(misread(grid, rng, errors=errors)) for _ in range(50)]
        answers = [answer_for(s, WHOLE, target_triangles=FEW) for s in surfaces]
        held.append([a.low_pct - NOTHING_PCT <= true <= a.high_pct for a in answers])
        doubted += sum(bool(s.doubts) for s in surfaces)
        if part is FLAT:
            # No film that there is takes less than this, so none is told to need a seam.
            assert max(a.low_pct for a in answers) < Window(0.5, 1.0).range_pct
            assert np.mean([a.high_pct for a in answers]) < 2.7
    assert np.mean(held) >= 0.9
    assert min(np.mean(held, axis=1)) >= 0.85, np.mean(held, axis=1)
    assert doubted <= 5


@pytest.mark.parametrize("errors", [Errors.OWN, Errors.HALF], ids=["own", "shared"])
@pytest.mark.parametrize("name", ["ball", "shoulders"])
def test_the_interval_of_a_strip_along_the_shoulder_holds_its_truth(name, errors) -> None:
    part, rng = PARTS[name], np.random.default_rng(12)
    strip = box(0, 150, 600, 300)
    true = develop(true_network(part, 37, 37), strip).range_pct
    grid = part.grid()
    answers = [_answer(misread(grid, rng, errors=errors), strip) for _ in range(5)]
    assert sum(a.low_pct - NOTHING_PCT <= true <= a.high_pct for a in answers) >= 4


def test_repeats_narrow_an_interval_but_what_a_line_shares_stays() -> None:
    grids = [misread(BALL.grid(), np.random.default_rng(5), 1.6, repeats=n) for n in (1, 4, 12)]
    once, often, always = (a.high_pct - a.low_pct for a in map(_answer, grids))
    assert often < 0.92 * once
    assert 0.7 * often < always < often


@pytest.mark.parametrize("errors", [Errors.OWN, Errors.HALF], ids=["own", "shared"])
@pytest.mark.parametrize("part", [SHOULDERS, ONE_SIDED], ids=["shoulders", "one-sided"])
def test_three_lines_call_shoulders_too_mild_but_their_interval_does_not(part, errors) -> None:
    true, grid = judge(true_network(part), WINDOW).range_pct, part.grid(lines=3)
    three, five = _answer(grid), _answer(part.grid(lines=5))
    assert three.range_pct < 0.9 * true
    assert abs(five.range_pct - true) < 0.1 * true
    assert three.high_pct - three.low_pct > 1.1 * (five.high_pct - five.low_pct)
    rng = np.random.default_rng(13)
    surfaces = [surface_of(misread(grid, rng, errors=errors)) for _ in range(10)]
    answers = [answer_for(s, WHOLE, target_triangles=FEW) for s in surfaces]
    assert sum(a.low_pct <= true <= a.high_pct for a in answers) >= 9


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

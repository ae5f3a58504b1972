import numpy as np
import pytest

from core.document.surface import ReadingKind
from core.shape.tape import find_doubts
from helpers.taped import (
    BALL,
    FLAT,
    ONE_SIDED,
    SADDLE,
    Errors,
    girth_circle_barrel,
    girth_circle_cone,
    misread,
    without_checks,
)

BESIDE = (ReadingKind.FIRST_BESIDE, ReadingKind.LAST_BESIDE)
DIAGONALS = (ReadingKind.TO_LEFT, ReadingKind.TO_RIGHT)
STEERED = {
    "cone, evenly marked, 300 mm wide": girth_circle_cone(150.0),
    "cone, evenly marked, 400 mm wide": girth_circle_cone(200.0),
    "cone, evenly marked, 500 mm wide": girth_circle_cone(250.0),
    "cone, marked along its lines": girth_circle_cone(250.0, on_its_lines=True),
    "barrel of 500 mm radius": girth_circle_barrel(500.0),
    "barrel of 800 mm radius": girth_circle_barrel(800.0),
}


def _doubts(grid, kept, errors=Errors.OWN):
    """Of ten readings of a grid with some of its checks, what is doubted first."""
    rng = np.random.default_rng(2)
    reads = [without_checks(misread(grid, rng, errors=errors), *kept) for _ in range(10)]
    return [found[0].what if (found := find_doubts(one)) else "" for one in reads]


@pytest.mark.parametrize("name", STEERED)
def test_stations_laid_round_the_girth_are_found_by_a_tight_tape(name) -> None:
    grid = STEERED[name]
    assert grid.first_beside[0] > 15
    for errors in (Errors.OWN, Errors.HALF):
        assert all("was steered" in what for what in _doubts(grid, BESIDE, errors))
    (doubt, *_) = find_doubts(grid)
    assert "flat and not steered" in doubt.mend
    assert doubt.place is not None


@pytest.mark.parametrize("name", STEERED)
def test_the_diagonals_find_them_or_ask_for_the_tight_tape(name) -> None:
    # At 250 mm half width both diagonals are as long as on what the cone seems to be.
    whats = _doubts(STEERED[name], DIAGONALS)
    assert sum("diagonal" in what for what in whats) >= 9, whats


@pytest.mark.parametrize("part", [FLAT, BALL, ONE_SIDED], ids=["flat", "ball", "one-sided"])
def test_what_was_laid_straight_is_seldom_doubted(part) -> None:
    for kept in (BESIDE, DIAGONALS, (*BESIDE, *DIAGONALS)):
        assert sum(bool(what) for what in _doubts(part.grid(), kept, Errors.HALF)) <= 1


def test_a_saddle_reads_as_a_cone_until_the_tight_tape_tells() -> None:
    whats = _doubts(SADDLE.grid(), DIAGONALS)
    assert sum("cone" in what for what in whats) > 2
    assert not any(_doubts(SADDLE.grid(), BESIDE))


def test_without_any_check_nothing_is_told_and_one_is_asked_for() -> None:
    (doubt,) = find_doubts(without_checks(BALL.grid()))
    assert "Nothing shows yet that the stations lie straight" in doubt.what
    assert "Pull a tape tight from rim to rim" in doubt.mend
    assert doubt.place is not None
    assert doubt.place.kind is ReadingKind.FIRST_BESIDE
    # One of the two alone is half the check.
    half = without_checks(BALL.grid(), ReadingKind.FIRST_BESIDE)
    (doubt,) = find_doubts(half)
    assert doubt.place.kind is ReadingKind.LAST_BESIDE

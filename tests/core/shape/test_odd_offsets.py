"""Offsets that jump out of their line are asked for; outlines that are so are not."""

import numpy as np
import pytest

from core.document.edits.surfaces import with_reading
from core.document.surface import ReadingKind, ReadingPlace, places
from core.shape.odd_offsets import odd_offsets
from core.shape.readings import Grid
from core.shape.tape import find_doubts, fit_tape
from helpers.taped import BALL

S = np.linspace(0, 1, 5)
ROUND = 260 * np.sqrt(1 - (0.93 * (2 * S - 1)) ** 2)
OUTLINES = {
    "even": (200 + 0 * S, 200 + 0 * S),
    "tapered": (200 - 90 * S, 200 - 90 * S),
    "tapered on one side": (200 - 80 * S, 180 + 0 * S),
    "round": (ROUND, ROUND),
    "round on one side": (200 + 0 * S, ROUND),
    "arched": (200 - 60 * (2 * S - 1) ** 2, 120 + 0 * S),
    "a drop": (60 + 160 * np.sqrt(S) * (1 - 0.3 * S**2),) * 2,
}


def _grid(name, rng, slip=None, by_mm=0.0, own_mm=1.64):
    left, right = OUTLINES[name]
    offsets = np.column_stack([left, left / 2, 0 * S, -right / 2, -right])
    offsets += 2.0 * rng.standard_normal(offsets.shape) * (np.arange(5) != 2)
    if slip is not None:
        offsets[slip] += by_mm * np.sign(offsets[slip])
    return Grid(offsets, np.full((4, 5), 125.0), np.ones((4, 5)), own_mm, 0.7 * own_mm)


@pytest.mark.parametrize("name", OUTLINES)
def test_what_was_read_right_is_seldom_asked_for(name) -> None:
    # Repeats may agree better than marks lie on their line.
    for own_mm in (1.64, 0.5):
        rng = np.random.default_rng(6)
        grids = [_grid(name, rng, own_mm=own_mm) for _ in range(50)]
        assert sum(bool(odd_offsets(grid)) for grid in grids) <= 1


@pytest.mark.parametrize("name", ["even", "tapered", "arched", "round"])
def test_a_slip_of_30_mm_between_the_ends_is_named(name) -> None:
    rng, named = np.random.default_rng(7), 0
    slips = [(i, j) for i in (1, 2, 3) for j in (0, 1, 3, 4)]
    for slip in slips:
        asked = odd_offsets(_grid(name, rng, slip, -30.0))
        named += slip in {(p.row, p.line) for odd in asked for p in odd.places}
    assert named >= 0.9 * len(slips)


def test_a_question_leaves_the_judgement_standing() -> None:
    place = ReadingPlace(ReadingKind.OFFSET, 2, 1)
    grid = with_reading(BALL.grid(), place, (172.0,))
    fit = fit_tape(grid)
    assert fit.doubts == ()
    (question,) = fit.questions
    assert question.place == place
    assert question.is_question
    assert "22 mm further out" in question.what
    assert find_doubts(grid) == (question,)


def test_a_rim_that_truly_jumps_is_not_asked_for() -> None:
    # A plate: the ways between marks are straight.
    grid = BALL.grid()
    rims = {i: 300.0 + 60.0 * (i == 2) for i in range(5)}
    for place in places(grid):
        if place.kind is ReadingKind.OFFSET:
            out = (
                rims[place.row] if place.line == 0 else 150.0 if place.line in (1, 3) else 300.0
            )
            grid = with_reading(grid, place, (out,))
        if place.kind is ReadingKind.LENGTH:
            jump = rims[place.row + 1] - rims[place.row] if place.line == 0 else 0.0
            grid = with_reading(grid, place, (float(np.hypot(150.0, jump)),))
    assert fit_tape(grid).questions == ()

import numpy as np
import pytest
from msgspec.structs import replace

from core.document.edits.surfaces import with_reading
from core.document.surface import MeasuredSurface, ReadingKind, ReadingPlace
from core.shape.readings import LEAST_MM, READING_MM, doubts_before, grid_of, own_error_mm
from helpers.taped import BALL, misread

GRID = BALL.grid()
OFFSET, LENGTH = ReadingKind.OFFSET, ReadingKind.LENGTH


def test_readings_become_numbers_left_positive_and_averaged() -> None:
    place = ReadingPlace(OFFSET, 1, 4)
    grid = grid_of(with_reading(GRID, place, (299.0, 302.0)))
    assert grid.offsets[0].tolist() == [300, 150, 0, -150, -300]
    assert grid.offsets[1, 4] == -300.5
    assert grid.along == pytest.approx([0, 150, 300, 450, 600])
    assert grid.repeats.min() == 1


def test_repeats_give_the_error_and_without_them_it_is_two_millimetres() -> None:
    rng = np.random.default_rng(4)
    assert grid_of(GRID).error_mm == pytest.approx(READING_MM)
    assert 0 < grid_of(GRID).shared_mm < own_error_mm(GRID) < READING_MM
    assert own_error_mm(misread(GRID, rng, 1.2, repeats=3)) == pytest.approx(1.2, rel=0.2)
    assert own_error_mm(misread(GRID, rng, 1e-6, repeats=2)) == LEAST_MM
    # One repeated place is not enough to believe its scatter.
    few = with_reading(GRID, ReadingPlace(LENGTH, 0, 0), (150.0, 150.1))
    assert grid_of(few).error_mm == pytest.approx(READING_MM)


def test_a_whole_sound_grid_is_not_doubted() -> None:
    assert doubts_before(GRID) == ()


@pytest.mark.parametrize(
    ("place", "values", "words"),
    [
        (ReadingPlace(LENGTH, 2, 1), (), "along the left shoulder from station 3 to 4"),
        (ReadingPlace(LENGTH, 0, 4), (140.0, 155.0), "differ by 15 mm"),
        (ReadingPlace(OFFSET, 2, 0), (140.0,), "no further out than the shoulder"),
        (ReadingPlace(OFFSET, 1, 4), (480.0,), "Shorter than the line moves sideways"),
        (ReadingPlace(LENGTH, 3, 1), (1480.0,), "times as long, or as short, as the spine"),
    ],
)
def test_doubts_name_the_place_and_the_cure(place, values, words) -> None:
    doubts = doubts_before(with_reading(GRID, place, values))
    assert doubts
    assert words in doubts[0].sentence()
    assert "easure" in doubts[0].mend


def test_length_and_width_alone_say_nothing_of_curvature() -> None:
    (doubt,) = doubts_before(MeasuredSurface(length=(640.0,), width=(420.0,)))
    assert "only size the blank" in doubt.what


def test_diagonals_are_not_needed() -> None:
    assert doubts_before(replace(GRID, to_left=(), to_right=())) == ()


@pytest.mark.parametrize("half", [2.0, 40_000.0])
def test_a_grid_that_is_next_to_a_line_is_doubted(half) -> None:
    offsets = ((half, half / 2, half / 2, half),) * 5
    grid = replace(
        GRID,
        offsets=tuple(tuple((v,) for v in row) for row in offsets),
        to_left=(),
        to_right=(),
    )
    assert any("next to a line" in doubt.what for doubt in doubts_before(grid))

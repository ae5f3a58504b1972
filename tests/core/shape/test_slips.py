"""Which reading is named when one of a grid is wrong by a slip of 15 to 30 mm."""

import numpy as np
import pytest

from core.document.edits.surfaces import with_reading
from core.document.surface import ReadingKind, ReadingPlace, places, reading_at
from core.shape.tape import find_doubts, fit_tape
from helpers.taped import BALL, SHOULDERS, misread

SLIPS_MM = (-29.0, -15.0, 15.0, 30.0)


def _named(doubts):
    return {p for d in doubts[:1] if d.place for p in (d.place, *d.others)}


@pytest.mark.parametrize("part", [BALL, SHOULDERS], ids=["ball", "shoulders"])
def test_the_wrong_length_is_named_and_seldom_another(part) -> None:
    grid = misread(part.grid(), np.random.default_rng(4), 1.0)
    named, noticed, most = 0, 0, 0
    for place in places(grid):
        if place.kind is not ReadingKind.LENGTH:
            continue
        for slip in SLIPS_MM:
            read = (reading_at(grid, place)[0] + slip,)
            found = _named(find_doubts(with_reading(grid, place, read)))
            noticed += bool(found)
            named += place in found
            most = max(most, len(found))
    assert noticed >= 0.85 * 80
    assert named >= 0.95 * noticed
    assert most <= 3


@pytest.mark.parametrize("read_mm", [20.0, 60.0, 170.0])
def test_one_wrong_length_of_the_spine_does_not_blame_the_lines_beside_it(read_mm) -> None:
    place = ReadingPlace(ReadingKind.LENGTH, 0, 2)
    (doubt, *others) = find_doubts(with_reading(BALL.grid(), place, (read_mm,)))
    assert doubt.place == place
    assert not doubt.others
    assert not [d for d in others if d.place and d.place.kind is ReadingKind.LENGTH]


def test_a_rim_that_is_marked_wrong_at_a_corner_is_named_with_its_diagonal() -> None:
    corner = ReadingPlace(ReadingKind.OFFSET, 0, 0)
    (doubt, *_) = fit_tape(with_reading(BALL.grid(), corner, (335.0,))).doubts
    assert corner in doubt.others
    assert "The other diagonal fits" in doubt.mend

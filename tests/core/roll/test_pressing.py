"""Layouts pressed together: against lengths known by hand, and the laws for random ones."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from core.ids import StockId
from core.roll.model import Placement, Sheet
from core.roll.pressing import pressed
from core.roll.quick import quick_layout
from core.roll.room import sheet_plan
from core.roll.verify import verify_sheet
from helpers.film_pieces import items, panel_like_shapes

SHEET = Sheet(StockId("buy"), "roll", 500.0, None, 10.0)


def never() -> bool:
    return False


def at(item, x, y, angle_deg=0.0):
    return Placement(item, angle_deg, x, y)


def length_of(placements, sheet=SHEET, gap=5.0):
    """Usable length of a layout that holds."""
    plan = sheet_plan(sheet, gap, tuple(placements), "test")
    assert verify_sheet(plan, gap) == ()
    return plan.used_length_mm - sheet.start_mm - sheet.end_mm


def test_a_row_closes_up_to_its_gaps():
    """Three boxes that fill the film from edge to edge: 3 x 100 and two gaps of 5."""
    row = items([box(0, 0, 100, 480)] * 3, (0.0,))
    loose = [at(i, 10.0 + 117.0 * k, 10.0) for k, i in enumerate(row)]
    assert length_of(pressed(loose, SHEET, 5.0, never)) == pytest.approx(310.0, abs=1e-6)


def test_slanted_sides_slide_along_each_other():
    """Two triangles make one box of 300 x 400, the gap of 5 square to the slanted side between.

    The slanted sides are 500 long and rise by 400: what is square to them points along the
    roll by 400 / 500, so a gap of 5 takes 5 * 500 / 400 along the roll.
    """
    film = replace(SHEET, width_mm=420.0)
    first = Polygon([(0, 0), (300, 0), (0, 400)])
    second = Polygon([(300, 0), (300, 400), (0, 400)])
    pair = items([first, second], (0.0,))
    loose = [at(pair[0], 10.0, 10.0), at(pair[1], 50.0, 10.0)]
    found = pressed(loose, film, 5.0, never)
    assert length_of(found, film) == pytest.approx(300.0 + 5.0 * 500 / 400, abs=1e-6)


def test_a_piece_that_may_turn_is_levelled():
    long = items([box(0, 0, 300, 80)])[0]
    tilted = Placement(long, 87.0, 200.0, 50.0)
    found = pressed([tilted], SHEET, 5.0, never)
    assert length_of(found) == pytest.approx(80.0, abs=0.05)
    assert found[0].angle_deg == pytest.approx(90.0, abs=0.05)


def test_a_piece_that_may_not_turn_keeps_its_turn():
    long = items([box(0, 0, 300, 80)], (87.0,))[0]
    found = pressed([Placement(long, 87.0, 200.0, 50.0)], SHEET, 5.0, never)
    assert found[0].angle_deg == 87.0
    turn = math.radians(87.0)
    least = 300 * math.cos(turn) + 80 * math.sin(turn)
    assert length_of(found) == pytest.approx(least, abs=1e-6)


def test_without_a_gap_pieces_come_as_near_as_they_are_told_apart():
    row = items([box(0, 0, 100, 480)] * 2, (0.0,))
    loose = [at(row[0], 10.0, 10.0), at(row[1], 130.0, 10.0)]
    assert length_of(pressed(loose, SHEET, 0.0, never), gap=0.0) == pytest.approx(200, abs=2e-3)


@pytest.mark.parametrize("placements", [(), "touching"])
def test_nothing_to_press(placements):
    row = items([box(0, 0, 100, 480)] * 2, (0.0,))
    touching = (at(row[0], 10.0, 10.0), at(row[1], 110.0, 10.0))
    layout = touching if placements else ()
    found = pressed(layout, SHEET, 0.0, never)
    assert [(p.dx_mm, p.dy_mm) for p in found] == [(p.dx_mm, p.dy_mm) for p in layout]


def test_it_ends_when_told_to():
    row = items([box(0, 0, 100, 480)] * 3, (0.0,))
    loose = [at(i, 10.0 + 160.0 * k, 10.0) for k, i in enumerate(row)]
    asked = []

    def is_over() -> bool:
        asked.append(1)
        return len(asked) > 2

    found = length_of(pressed(loose, SHEET, 5.0, is_over))
    assert 310.0 < found < length_of(loose)


@settings(max_examples=10)
@given(
    count=st.integers(2, 5),
    seed=st.integers(0, 10_000),
    gap=st.sampled_from([0.5, 5.0, 20.0]),
    angles=st.sampled_from([None, (0.0, 180.0)]),
)
def test_a_pressed_layout_holds_and_is_never_longer(count, seed, gap, angles):
    film = replace(SHEET, width_mm=1200.0)
    pieces = items(panel_like_shapes(count, seed), angles)
    layout = quick_layout(pieces, film, gap)
    before = length_of(layout.placements, film, gap)
    found = pressed(layout.placements, film, gap, never)
    assert [p.item for p in found] == [p.item for p in layout.placements]
    assert length_of(found, film, gap) <= before + 1e-6

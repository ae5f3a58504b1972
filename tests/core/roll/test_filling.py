"""Film that is not free all over: offcuts of any outline, damage, pinned pieces, feeds."""

import itertools
from dataclasses import replace

import pytest
import shapely
from shapely import Point, Polygon, box
from shapely.affinity import rotate

from core.ids import StockId
from core.roll.filling import fill_layout, fill_layouts
from core.roll.model import Placement, Sheet
from core.roll.room import sheet_plan
from core.roll.verify import verify_sheet
from helpers.film_pieces import items, panel_like_shapes

GAP = 5.0
CORNER = Polygon([(0, 0), (2000, 0), (2000, 700), (900, 700), (900, 1400), (0, 1400)])
RING = Point(700, 700).buffer(700).difference(Point(700, 700).buffer(200))
SHEETS = {
    "an L": Sheet(StockId("k1"), "offcut", 1400.0, 2000.0, 10.0, outline=CORNER),
    "a ring": Sheet(StockId("k1"), "offcut", 1400.0, 1400.0, 10.0, outline=RING),
    "a slanted board": Sheet(
        StockId("k1"),
        "offcut",
        1400.0,
        1400.0,
        10.0,
        outline=rotate(box(300, 300, 1100, 1100), 45),
    ),
    "damaged across": Sheet(
        StockId("r1"), "roll", 1500.0, 4000.0, 10.0, blocked=(box(800, 0, 900, 1500),)
    ),
    "damaged in part": Sheet(
        StockId("r1"), "roll", 1500.0, 4000.0, 10.0, blocked=(box(300, 400, 900, 410),)
    ),
    "fed in sections": Sheet(
        StockId("r1"), "roll", 1500.0, 6000.0, 10.0, lead_mm=60.0, section_mm=900.0
    ),
    "an open roll fed in sections": Sheet(
        StockId("buy"), "roll", 1500.0, None, 10.0, 60.0, 80.0, 900.0
    ),
}


def assert_holds(layout, sheet, pinned=()):
    plan = sheet_plan(sheet, GAP, (*pinned, *layout.placements), "fill")
    assert verify_sheet(plan, GAP) == ()


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS.keys())
def test_what_is_laid_holds_on_film_of_any_kind(sheet):
    pieces = items(panel_like_shapes(14, 1))
    layout = fill_layout(pieces, sheet, GAP)
    assert len(layout.placements) >= 3
    assert len(layout.placements) + len(layout.left) == len(pieces)
    assert_holds(layout, sheet)


def test_restarts_give_more_or_as_much_and_all_hold():
    sheet = SHEETS["an L"]
    found = list(itertools.islice(fill_layouts(items(panel_like_shapes(14, 2)), sheet, GAP), 8))
    for layout in found:
        assert_holds(layout, sheet)
    assert min(x.rank for x in found) <= found[0].rank


def test_the_same_seed_gives_the_same_layouts():
    pieces, sheet = items(panel_like_shapes(6, 3)), SHEETS["an L"]
    one, two = (list(itertools.islice(fill_layouts(pieces, sheet, GAP), 4)) for _ in range(2))
    assert [x.rank for x in one] == [x.rank for x in two]


def test_a_piece_goes_into_the_hollow_between_pinned_ones():
    """Two bars pinned 210.01 apart leave a lane of 200.01 between them, a gap on each side."""
    sheet = Sheet(StockId("r1"), "roll", 1000.0, 2000.0, 0.0)
    bars = items([box(0, 0, 100, 1000)] * 2, (0.0,))
    pinned = (Placement(bars[0], 0.0, 0.0, 0.0), Placement(bars[1], 0.0, 310.01, 0.0))
    (inner,) = items([box(0, 0, 200, 900)], (0.0,))
    layout = fill_layout([replace(inner, attempt=2)], sheet, GAP, pinned)
    left, _, right, _ = layout.placements[0].polygon.bounds
    assert (left, right) == pytest.approx((105.0, 305.0), abs=0.01)
    assert_holds(layout, sheet, pinned)
    assert layout.length_mm == pytest.approx(410.01)


@pytest.mark.parametrize(("side", "fits"), [(480.0, True), (481.0, False)])
def test_an_outline_that_is_a_rectangle_takes_what_the_rectangle_takes(side, fits):
    sheet = Sheet(StockId("k1"), "offcut", 500.0, 500.0, 10.0, outline=box(0, 0, 500, 500))
    layout = fill_layout(items([box(0, 0, side, side)], (0.0,)), sheet, GAP)
    assert bool(layout.placements) is fits
    assert_holds(layout, sheet)


def test_damage_takes_no_gap_and_a_sliver_of_it_is_not_lost():
    """Damage 2 mm wide, less than the gap: a piece lies right up to it on both sides."""
    sheet = Sheet(StockId("r1"), "roll", 500.0, 402.0, 0.0, blocked=(box(200, 0, 202, 500),))
    layout = fill_layout(items([box(0, 0, 195, 500)] * 2, (0.0,)), sheet, GAP)
    assert len(layout.placements) == 2
    assert_holds(layout, sheet)
    damage = sheet.blocked[0]
    assert all(shapely.intersection(p.polygon, damage).area < 1e-6 for p in layout.placements)


def test_a_piece_longer_than_a_feed_is_left_and_one_as_long_is_laid():
    sheet = replace(SHEETS["fed in sections"], lead_mm=0.0, margin_mm=0.0)
    pieces = items([box(0, 0, 901, 100), box(0, 0, 900, 100)], (0.0,))
    layout = fill_layout(pieces, sheet, GAP)
    assert [i.piece for i in layout.left] == ["g1"]
    assert_holds(layout, sheet)


def test_an_open_roll_takes_pieces_however_far_down_it_begins():
    """As for retakes, which lie behind all of the job."""
    sheet = replace(SHEETS["an open roll fed in sections"], lead_mm=9000.0)
    layout = fill_layout(items([box(0, 0, 300, 200)] * 2), sheet, 5.0)
    assert not layout.left
    assert verify_sheet(sheet_plan(sheet, 5.0, layout.placements, "fill"), 5.0) == ()


def test_nothing_to_lay_gives_nothing():
    assert fill_layout([], SHEETS["an L"], GAP).placements == ()

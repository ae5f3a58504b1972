"""Small pieces in the openings of large ones."""

import pytest
import shapely
from shapely import Point, box
from shapely.affinity import rotate

from core.ids import StockId
from core.roll.model import Placement, Sheet
from core.roll.nest import NestOptions, nest
from core.roll.openings import fill_openings
from core.roll.room import sheet_plan
from core.roll.verify import verify_sheet
from helpers.film_pieces import items

GAP = 5.0
FRAME = box(0, 0, 600, 600).difference(box(100, 100, 500, 500))
OPEN = Sheet(StockId("buy"), "roll", 1000.0, None, 10.0)


@pytest.mark.parametrize(
    "turns",
    [None, (0.0, 180.0), (33.0,), (7.0, 97.0, 187.0, 277.0)],
    ids=["free", "two-way", "slanted", "weave"],
)
@pytest.mark.parametrize("host_turn", [0, 1, -1])
def test_what_lies_inside_holds_however_its_host_is_turned(turns, host_turn):
    frame = rotate(FRAME, 20, origin=(0, 0))
    pieces = items([frame, box(0, 0, 200, 100), box(0, 0, 90, 300)], turns)
    hosted = fill_openings(pieces, GAP)
    assert [i.piece for i in hosted.items] == ["g1"]
    angle = (0.0, 57.0)[host_turn % 2] if turns is None else turns[host_turn % len(turns)]
    whole = hosted.unpacked([Placement(pieces[0], angle, 2000.0, 2000.0)])
    assert len(whole) == 3
    wide = Sheet(StockId("k1"), "offcut", 4000.0, 4000.0, 10.0)
    assert verify_sheet(sheet_plan(wide, GAP, whole, "x"), GAP) == ()


def test_grain_that_hosts_do_not_share_keeps_a_piece_out():
    frame, small = items([FRAME, box(0, 0, 50, 50)])
    (one_way,) = items([box(0, 0, 50, 50)], (0.0,))
    assert fill_openings([frame, small], GAP).inside
    assert not fill_openings([frame, one_way], GAP).inside  # a free host may end at any turn


def test_bolt_holes_take_nothing():
    plate = box(0, 0, 600, 600).difference(Point(300, 300).buffer(4.9))
    assert not fill_openings(items([plate, box(0, 0, 1, 1)]), GAP).inside


def test_a_frame_with_its_inside_full_takes_the_length_of_the_frame():
    pieces = items([FRAME, box(0, 0, 380, 180), box(0, 0, 380, 180)], (0.0,))
    found = nest(pieces, OPEN, NestOptions(gap_mm=GAP))
    assert found.plan.used_length_mm == pytest.approx(620.0)
    assert verify_sheet(found.plan, GAP) == ()
    inner = [p.polygon for p in found.plan.placements if p.item.piece != "g1"]
    hole = shapely.Polygon(found.plan.placements[0].polygon.interiors[0])
    assert all(hole.contains(shape) for shape in inner)


def test_what_was_to_lie_inside_a_host_without_room_lies_on_its_own():
    narrow = Sheet(StockId("k1"), "offcut", 500.0, 800.0, 10.0)
    pieces = items([FRAME, box(0, 0, 380, 180)], (0.0,))
    found = nest(pieces, narrow, NestOptions(gap_mm=GAP))
    assert [i.piece for i in found.left] == ["g1"]
    assert [p.item.piece for p in found.plan.placements] == ["g2"]

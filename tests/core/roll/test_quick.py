import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate

from core.ids import StockId
from core.roll import profiles as banding
from core.roll import quick
from core.roll.model import Sheet
from core.roll.orders import by_area
from core.roll.outlines import grown_outlines
from core.roll.profiles import item_profiles
from core.roll.quick import fill_up, quick_layout, shelf_layout, shuffled_layouts
from core.roll.room import sheet_plan
from core.roll.turns import narrowest_turn, with_edge_turns
from core.roll.verify import verify_sheet
from helpers.film_pieces import items, panel_like_shapes

OPEN = Sheet(StockId("buy"), "roll", 1500.0, None, 10.0)
TURNS = {
    "free": None,
    "two-way": (0.0, 180.0),
    "slanted": (33.0,),
    "weave": (7.0, 97.0, 187.0, 277.0),
}


def assert_holds(layout, sheet, gap=5.0):
    assert verify_sheet(sheet_plan(sheet, gap, layout.placements, "quick"), gap) == ()


@pytest.mark.parametrize("turns", TURNS.values(), ids=TURNS.keys())
@pytest.mark.parametrize("seed", [1, 2])
def test_sixty_pieces_lie_lawfully_and_much_shorter_than_on_shelves(seed, turns):
    pieces = items(panel_like_shapes(60, seed), turns)
    layout = quick_layout(pieces, OPEN, 5.0)
    assert_holds(layout, OPEN)
    assert not layout.left
    assert layout.length_mm < 0.95 * shelf_layout(pieces, OPEN, 5.0).length_mm


def test_the_same_pieces_give_the_same_layout():
    layouts = [quick_layout(items(panel_like_shapes(20, 3)), OPEN, 5.0) for _ in range(2)]
    places = [
        [(p.item.piece, p.angle_deg, p.dx_mm, p.dy_mm) for p in x.placements] for x in layouts
    ]
    assert places[0] == places[1]


def test_like_boxes_fill_the_width_as_shelves_do():
    """Six of 240 by 100: three across 750 with gaps of 10, two rows of 100."""
    sheet = Sheet(StockId("r1"), "roll", 750.0, None, 0.0)
    layout = quick_layout(items([box(0, 0, 100, 240)] * 6, (0.0,)), sheet, 10.0)
    assert layout.length_mm == pytest.approx(210.0, abs=1e-6)
    assert_holds(layout, sheet, 10.0)


def test_a_piece_exactly_as_wide_as_the_usable_film_fits():
    layout = quick_layout(items([box(0, 0, 300, 1480)], (0.0,)), OPEN, 5.0)
    assert layout.length_mm == pytest.approx(300.0)
    assert_holds(layout, OPEN)


def test_a_piece_a_hair_wider_does_not():
    layout = quick_layout(items([box(0, 0, 300, 1480.001)], (0.0,)), OPEN, 5.0)
    assert len(layout.left) == 1


def test_a_free_piece_is_turned_until_it_fits():
    wide = rotate(box(0, 0, 2000, 300), 30)
    layout = quick_layout(items([wide]), OPEN, 5.0)
    assert layout.length_mm == pytest.approx(
        300.0, abs=0.5
    ) or layout.length_mm == pytest.approx(2000.0, abs=0.5)
    assert_holds(layout, OPEN)


def test_a_free_piece_that_fits_only_at_its_narrowest_turn_is_laid():
    """A right triangle of 1000 by 1000: its least rectangle is a square or 1414 by 707."""
    corner = Polygon([(0, 0), (1000, 0), (0, 1000)])
    narrow = Sheet(StockId("buy"), "roll", 710.0, None, 0.0)
    layout = quick_layout(items([corner]), narrow, 5.0)
    assert not layout.left
    assert_holds(layout, narrow)


def test_narrowest_turn_of_a_right_triangle_is_its_height():
    width, _ = narrowest_turn(items([Polygon([(0, 0), (300, 0), (0, 400)])])[0])
    assert width == pytest.approx(240.0)  # legs times each other over the hypotenuse


def test_small_pieces_go_into_hollows():
    """A horseshoe 400 long has a hollow of 300 by 300; a block of 280 goes in there."""
    horseshoe = box(0, 0, 400, 500).difference(box(0, 100, 300, 400))
    sheet = Sheet(StockId("r1"), "roll", 500.0, None, 0.0)
    layout = quick_layout(items([horseshoe, box(0, 0, 280, 280)], (0.0,)), sheet, 5.0)
    assert layout.length_mm == pytest.approx(400.0)
    assert_holds(layout, sheet)


def test_a_sheet_takes_what_it_holds_and_leaves_the_rest():
    sheet = Sheet(StockId("k1"), "offcut", 220.0, 320.0, 10.0)
    pieces = items([box(0, 0, 200, 100)] * 5, (0.0,))
    layout = quick_layout(pieces, sheet, 5.0)
    assert (len(layout.placements), len(layout.left)) == (1, 4)
    turned = quick_layout(items([box(0, 0, 100, 200)] * 5, (0.0,)), sheet, 0.0)
    assert (len(turned.placements), len(turned.left)) == (3, 2)
    assert_holds(turned, sheet, 0.0)


@pytest.mark.parametrize(
    "sheet",
    [
        Sheet(StockId("k1"), "offcut", 20.0, 500.0, 10.0),
        Sheet(StockId("k1"), "offcut", 500.0, 15.0, 10.0),
    ],
    ids=["no width", "no length"],
)
def test_a_sheet_that_its_margins_eat_up_takes_nothing(sheet):
    assert len(quick_layout(items([box(0, 0, 5, 5)]), sheet, 5.0).left) == 1
    assert len(shelf_layout(items([box(0, 0, 5, 5)]), sheet, 5.0).left) == 1


def test_no_pieces_need_no_length():
    assert quick_layout([], OPEN, 5.0).length_mm == 0.0
    assert shelf_layout([], OPEN, 5.0).length_mm == 0.0


def test_shuffled_layouts_hold_and_win_length_the_same_way_each_time():
    pieces = items(panel_like_shapes(40, 1))
    found = [list(shuffled_layouts(pieces, OPEN, 5.0, 20)) for _ in range(2)]
    assert found[0] == found[1]
    for layout in found[0]:
        assert_holds(layout, OPEN)
        assert len(layout.placements) == 40
    quick = quick_layout(pieces, OPEN, 5.0).length_mm
    assert min(layout.length_mm for layout in found[0]) < quick


def test_nothing_is_shuffled_on_a_sheet_without_room():
    narrow = Sheet(StockId("k1"), "offcut", 20.0, 500.0, 10.0)
    assert list(shuffled_layouts(items([box(0, 0, 5, 5)]), narrow, 5.0, 3)) == []


def test_fill_up_adds_behind_what_lies_there():
    sheet = Sheet(StockId("r1"), "roll", 500.0, 1000.0, 10.0)
    first = quick_layout(
        items(panel_like_shapes(2, 5)), Sheet(sheet.id, "roll", 500.0, None, 10.0), 5.0
    )
    plan = sheet_plan(sheet, 5.0, first.placements, "quick")
    more = [i for i in items([box(0, 0, 60, 40)] * 12) if i.piece not in {"g1", "g2"}]
    added = fill_up(plan, more)
    assert added.placements
    both = sheet_plan(sheet, 5.0, (*plan.placements, *added.placements), "quick")
    assert verify_sheet(both, 5.0) == ()
    assert fill_up(plan, []).placements == ()


class TestOutlines:
    @pytest.mark.parametrize(("by", "tolerance"), [(2.5, 0.5), (0.0, 0.2), (15.0, 0.5)])
    def test_hold_all_that_is_near_and_little_more(self, by, tolerance):
        shapes = panel_like_shapes(40, 4)
        grown = grown_outlines(shapes, by, tolerance)
        for shape, outline in zip(shapes, grown, strict=True):
            assert outline.contains(shape)
            assert shape.distance(outline.exterior) >= by
            apart = shapely.hausdorff_distance(outline.exterior, shape.exterior)
            assert apart <= 1.5 * (by + 2 * tolerance) * 1.02
        before = shapely.get_num_coordinates(shapes).sum()
        assert shapely.get_num_coordinates(grown).sum() < 0.5 * before

    def test_of_spikes_and_slivers_are_whole(self):
        spike = Polygon(
            [(0, 0), (100, 0), (100, 100), (50.0001, 100), (50, 300), (49.9999, 100), (0, 100)]
        )
        sliver = Polygon([(0, 0), (500, 0), (500, 0.05)])
        grown = grown_outlines([spike, sliver], 0.0, 0.2)
        assert all(
            g.is_valid and g.covers(s) for g, s in zip(grown, [spike, sliver], strict=True)
        )


def test_profiles_cover_their_pieces_in_every_band():
    """Every point within half the gap of the piece lies between left and right of its band."""
    pieces = items(panel_like_shapes(6, 8), (0.0, 180.0, 25.0))
    band = 8.0
    rng = np.random.default_rng(1)
    for item, profiles in zip(pieces, item_profiles(pieces, 1480.0, 5.0, band), strict=True):
        for p in profiles:
            shape = rotate(item.polygon, p.angle_deg, origin=(0, 0)).buffer(2.5, quad_segs=32)
            ring = shapely.get_coordinates(shape.exterior) + p.shift_mm
            part = rng.uniform(0, 1, len(ring) - 1)[:, None]
            points = ring[:-1] * part + ring[1:] * (1 - part)
            rows = np.clip((points[:, 1] / band).astype(int), 0, p.bands - 1)
            assert (points[:, 0] >= p.left[rows, 0] - 1e-6).all()
            assert (points[:, 0] <= p.right[rows, 0] + 1e-6).all()


@pytest.mark.parametrize("width", [50.0, 50.00000000000001, 50.5])
def test_a_sheet_that_its_margins_all_but_eat_takes_nothing_and_costs_nothing(width):
    """An offcut of 51 x 50.00000000000001 with margins of 25 once asked for 1e17 bands."""
    sheet = Sheet(StockId("k1"), "offcut", width, 51.0, 25.0)
    pieces = items([box(0, 0, 150, 90), box(0, 0, 1600, 0.4), box(0, 0, 3, 2)], None)
    for layout in (quick_layout(pieces, sheet, 0.0), shelf_layout(pieces, sheet, 0.0)):
        assert layout.placements == ()
        assert len(layout.left) == 3
    assert list(shuffled_layouts(pieces, sheet, 0.0, 2)) == [] or width == 50.5


def test_after_an_edit_only_its_pieces_are_measured_anew(monkeypatch):
    pieces = items(panel_like_shapes(12, 3))
    before = quick_layout(pieces, OPEN, 5.0)
    built: list[int] = []
    build = banding._build
    monkeypatch.setattr(
        banding,
        "_build",
        lambda items, *rest: (built.append(len(items)), build(items, *rest))[1],
    )
    assert quick_layout(pieces, OPEN, 5.0) == before
    assert built == []
    edited = [*pieces[:-1], items([box(0, 0, 300, 200)])[0]]
    quick_layout(edited, OPEN, 5.0)
    assert set(built) == {1}


def test_a_free_piece_is_also_turned_with_its_longest_side_along_the_roll():
    gusset = Polygon([(0, 0), (400, 0), (0, 300)])  # its longest side falls by 3 in 4
    free, tied = items([gusset])[0], items([gusset], (0.0, 180.0))[0]
    quarters = (0.0, 90.0, 180.0, 270.0)
    turns = with_edge_turns(free, quarters)
    slope = np.degrees(np.arctan2(3, 4))
    assert turns[:4] == quarters
    assert sorted(turns[4:]) == pytest.approx([slope + quarter for quarter in quarters])
    assert with_edge_turns(tied, (0.0, 180.0)) == (0.0, 180.0)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(
    "sheet", [OPEN, replace(OPEN, length_mm=1200.0)], ids=["open", "short"]
)
def test_an_order_is_given_up_only_when_it_cannot_win(sheet, seed):
    """Laid to its end, it comes out the same whenever there is something worse to beat."""
    pieces = items(panel_like_shapes(25, seed))
    profiles = item_profiles(pieces, 1480.0, 5.0, 1485.0 / 200)
    order = by_area(profiles)

    def laid(to_beat):
        return quick._lay(pieces, profiles, order, quick._Room.of(sheet, 5.0, 0.5), to_beat)

    whole = laid((math.inf, math.inf))
    lost, length = whole.rank
    assert (lost == 0) is (sheet is OPEN)
    assert laid((lost, length + 1e-6)) == whole
    assert laid(whole.rank) is None
    assert laid((lost, 0.9 * length)) is None

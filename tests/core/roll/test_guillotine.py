"""Blanks by straight cuts, on instances whose best layout is known.

Cut apart from a whole sheet at chance places, blanks have a layout without waste: whatever
finds 3000 mm there has found the shortest. The judge of straight cuts is ``verify``'s own.
"""

import itertools

import numpy as np
import pytest
from shapely import box
from shapely.affinity import rotate

from core.ids import StockId
from core.roll.blanks import blank_layouts, least_blank_length
from core.roll.guillotine import Blank, guillotine_layouts, least_length, length_of
from core.roll.model import Sheet
from core.roll.room import sheet_plan
from core.roll.verify import straight_cut_breaches, verify_sheet
from helpers.film_pieces import blanks, perfect_cut
from helpers.published_cuts import published_cuts

OPEN = Sheet(StockId("buy"), "roll", 1500.0, None, 0.0)


def laid(sides, width, *, may_turn, steps):
    """The last of the layouts found in so many steps."""
    wanted = [Blank(float(a), float(b), may_turn) for a, b in sides]
    found = guillotine_layouts(wanted, width)
    return [x for x in itertools.islice(found, steps) if x][-1], wanted


def boxes_of(layout, wanted):
    found = []
    for s in layout:
        b = wanted[s.blank]
        sides = (b.length_mm, b.width_mm)
        along, across = sides[::-1] if s.is_turned else sides
        found.append((s.x_mm, s.y_mm, s.x_mm + along, s.y_mm + across))
    return found


def assert_apart(found, width):
    for a in found:
        assert min(a) >= -1e-6
        assert a[3] <= width + 1e-6
    for a, b in itertools.combinations(found, 2):
        assert min(a[2], b[2]) - max(a[0], b[0]) <= 1e-6 or (
            min(a[3], b[3]) - max(a[1], b[1]) <= 1e-6
        )


@pytest.mark.parametrize("may_turn", [True, False])
@pytest.mark.parametrize("count", [20, 40])
def test_a_perfect_cut_is_found_again(count, may_turn):
    layout, wanted = laid(perfect_cut(count, 2), 1500.0, may_turn=may_turn, steps=60)
    assert length_of(layout, wanted) == pytest.approx(3000.0)
    assert_apart(boxes_of(layout, wanted), 1500.0)


@pytest.mark.parametrize("stages", [None, 3])
@pytest.mark.parametrize("case", published_cuts(), ids=lambda case: case.name)
def test_no_layout_is_shorter_than_the_published_shortest(case, stages):
    wanted = [Blank(a, b, may_turn=True) for a, b in case.sides]
    assert sum(a * b for a, b in case.sides) == case.width * case.shortest
    steps = itertools.islice(guillotine_layouts(wanted, case.width, stages), 12)
    found = [x for x in steps if x][-1]
    assert_apart(boxes_of(found, wanted), case.width)
    length = length_of(found, wanted)
    assert case.shortest - 1e-9 <= length <= 1.5 * case.shortest
    if case.by_straight_cuts is False:  # what no straight cut parts cannot be reached
        assert length > case.shortest
    elif case.by_straight_cuts and stages is None:
        assert length == pytest.approx(case.shortest)


def test_a_published_shortest_is_reached():
    """C1-P1 and C1-P3 of Hopper and Turton: 20 long, which straight cuts reach, too."""
    for case in published_cuts():
        if case.name in ("C1-P1", "C1-P3"):
            layout, wanted = laid(case.sides, case.width, may_turn=True, steps=600)
            assert length_of(layout, wanted) == pytest.approx(case.shortest)


@pytest.mark.parametrize("count", [20, 40])
def test_three_stages_take_little_more(count):
    """What was cut in any number of stages; the shortest for three is not known."""
    wanted = [Blank(float(a), float(b), may_turn=True) for a, b in perfect_cut(count, 2)]
    found = [x for x in itertools.islice(guillotine_layouts(wanted, 1500.0, 3), 40) if x]
    assert length_of(found[-1], wanted) <= 1.2 * 3000.0


@pytest.mark.parametrize("stages", [None, 3])
@pytest.mark.parametrize("seed", range(4))
def test_straight_cuts_free_every_blank(seed, stages):
    rng = np.random.default_rng(seed)
    shapes = [box(0, 0, *(rng.integers(40, 160, 2) * 5).tolist()) for _ in range(12)]
    pieces = blanks([rotate(s, 25, origin=(0, 0)) for s in shapes])
    found = [x for x in itertools.islice(blank_layouts(pieces, OPEN, stages, seed), 30) if x]
    lengths = [x.length_mm for x in found]
    assert lengths == sorted(lengths, reverse=True)
    for layout in found:
        plan = sheet_plan(OPEN, 5.0, layout.placements, "blanks")
        assert not layout.left
        assert verify_sheet(plan, 5.0) == ()
        assert list(straight_cut_breaches(plan, stages)) == []


def test_the_same_blanks_and_seed_give_the_same_layout():
    runs = [laid(perfect_cut(15, 5), 1500.0, may_turn=True, steps=20)[0] for _ in range(2)]
    assert runs[0] == runs[1]


def test_the_search_ends_when_the_shortest_is_proved():
    """700 and 800 across a film of 1500, both 400 long: nothing is shorter than 400."""
    wanted = [Blank(400, 700, False), Blank(400, 800, False)]
    steps = list(guillotine_layouts(wanted, 1500.0))
    assert length_of(steps[-1], wanted) == pytest.approx(400.0)


@pytest.mark.parametrize(
    ("sides", "may_turn", "least"),
    [
        ([(100, 1000), (200, 900)], False, 300.0),  # too wide to lie side by side
        ([(100, 1000), (200, 900)], True, 200.0),  # turned they do: the longer counts
        ([(2000, 100)], False, 2000.0),
        ([(300, 750), (300, 750)], False, 300.0),  # area alone
        ([], True, 0.0),
    ],
)
def test_no_layout_beats_the_least_length(sides, may_turn, least):
    found = least_length([Blank(a, b, may_turn) for a, b in sides], 1500.0)
    assert found == pytest.approx(least)


def test_what_a_short_sheet_cannot_hold_is_left_out_and_the_rest_holds():
    pieces = blanks([box(0, 0, 500, 700)] * 6, (0.0,))
    sheet = Sheet(StockId("r1"), "roll", 1520.0, 1050.0, 10.0)
    layout = next(blank_layouts(pieces, sheet))
    assert (len(layout.placements), len(layout.left)) == (4, 2)
    plan = sheet_plan(sheet, 5.0, layout.placements, "blanks")
    assert verify_sheet(plan, 5.0) == ()


def test_a_blank_too_long_at_its_turn_is_left_out():
    pieces = blanks([box(0, 0, 2000, 100), box(0, 0, 100, 100)], (0.0,))
    sheet = Sheet(StockId("r1"), "roll", 1520.0, 1050.0, 10.0)
    layout = next(blank_layouts(pieces, sheet))
    assert [i.piece for i in layout.left] == ["g1"]


def test_a_free_blank_is_turned_to_fit_and_lies_level():
    pieces = blanks([rotate(box(0, 0, 1400, 300), 17)])
    narrow = Sheet(StockId("buy"), "roll", 400.0, None, 0.0)
    layout = next(blank_layouts(pieces, narrow))
    assert layout.length_mm == pytest.approx(1400.0)
    assert least_blank_length(pieces, 400.0) == pytest.approx(1400.0)


def test_no_blanks_give_an_empty_layout():
    assert list(guillotine_layouts([], 1500.0)) == []
    assert next(blank_layouts([], OPEN)).placements == ()

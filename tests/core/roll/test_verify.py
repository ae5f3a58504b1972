"""The judge is judged by layouts with one fault each, measured by hand."""

from dataclasses import replace

import pytest
from shapely import Polygon, box
from shapely.affinity import scale

from core.document.film import Grain
from core.ids import StockId
from core.roll.model import FilmRolls, Missing, Pin, Placement, Sheet, SheetPlan
from core.roll.verify import straight_cut_breaches, verify, verify_sheet
from helpers.film_pieces import a_film, offcut, problem_of, rolls

FILM = a_film(grain=Grain.TWO_WAY, stock=(*rolls(500), offcut("k1", 300, 300)))
PROBLEM = problem_of([box(0, 0, 100, 50), Polygon([(0, 0), (80, 0), (0, 60)])], FILM)
BOX, WEDGE = PROBLEM.items
ROLL, CUT = PROBLEM.stock


def laid(*placements: Placement, used: float = 205.0, gap: float = 5.0) -> FilmRolls:
    return FilmRolls(
        PROBLEM.film_id, (SheetPlan(ROLL, gap, tuple(placements), used, "test"),), ()
    )


FIRST = Placement(BOX, 0.0, 10.0, 10.0)
SECOND = Placement(WEDGE, 0.0, 115.0, 10.0)
"""The box ends at x = 110; the wedge starts a gap of 5 mm further, ends at 195, margin 10."""


def test_a_sound_layout_passes():
    assert verify(PROBLEM, laid(FIRST, SECOND)) == ()


def test_half_turns_are_allowed_on_two_way_film():
    turned = Placement(WEDGE, 180.0, 195.0, 70.0)
    assert verify(PROBLEM, laid(FIRST, turned)) == ()


@pytest.mark.parametrize(
    ("rolls_", "breach"),
    [
        (laid(FIRST, replace(SECOND, dx_mm=114.999), used=204.999), "4.999 mm apart"),
        (laid(FIRST, replace(SECOND, dx_mm=20.0), used=120.0), "0 mm apart"),
        (laid(replace(FIRST, dy_mm=9.99), SECOND), "0.01 mm outside"),
        (laid(FIRST, replace(SECOND, dx_mm=415.0), used=505.0), "5 mm outside"),
        (laid(FIRST, replace(SECOND, dy_mm=931.0)), "1 mm outside"),
        (laid(FIRST, Placement(WEDGE, 90.0, 180.0, 10.0), used=190.0), "grain forbids"),
        (laid(FIRST, Placement(WEDGE, 180.1, 195.0, 70.0)), "grain forbids"),
        (laid(FIRST), "laid 0"),
        (laid(FIRST, SECOND, replace(FIRST, dy_mm=400.0)), "laid 2"),
        (laid(FIRST, SECOND, used=195.0), "uses 205 mm, not 195"),
        (laid(FIRST, SECOND, gap=4.0), "gap 4.0"),
        (laid(FIRST, replace(SECOND, dx_mm=float("nan"))), "not a number"),
    ],
)
def test_one_fault_is_found(rolls_, breach):
    assert breach in " / ".join(verify(PROBLEM, rolls_))


def test_a_mirrored_polygon_is_found():
    flipped = replace(WEDGE, polygon=scale(WEDGE.polygon, 1, -1, origin=(0, 0)))
    found = verify(PROBLEM, laid(FIRST, Placement(flipped, 0.0, 115.0, 80.0)))
    assert any("another shape" in breach for breach in found)


def test_a_polygon_drawn_elsewhere_than_its_turn_and_move_say_is_found():
    drawn = Placement(WEDGE, 0.0, 115.0, 10.0)
    drawn.__dict__["polygon"] = scale(SECOND.polygon, 1, -1)
    found = verify(PROBLEM, laid(FIRST, drawn))
    assert any("is drawn" in breach for breach in found)


def test_sheets_that_are_not_in_stock_are_found():
    longer = replace(ROLL, length_mm=900.0)
    strange = FilmRolls(
        PROBLEM.film_id, (SheetPlan(longer, 5.0, (FIRST, SECOND), 205.0, "test"),), ()
    )
    assert any("not in stock" in b for b in verify(PROBLEM, strange))
    unknown = replace(ROLL, id=StockId("r9"))
    strange = FilmRolls(
        PROBLEM.film_id, (SheetPlan(unknown, 5.0, (FIRST, SECOND), 205.0, "test"),), ()
    )
    assert any("not in stock" in b for b in verify(PROBLEM, strange))


def test_one_sheet_used_twice_is_found():
    twice = FilmRolls(
        PROBLEM.film_id,
        (
            SheetPlan(ROLL, 5.0, (FIRST,), 120.0, "test"),
            SheetPlan(ROLL, 5.0, (replace(SECOND, dx_mm=10.0),), 100.0, "test"),
        ),
        (),
    )
    assert any("used 2 times" in b for b in verify(PROBLEM, twice))


def test_an_item_listed_as_fitting_nowhere_need_not_lie():
    problem = problem_of([box(0, 0, 100, 50), box(0, 0, 100, 980.01)], FILM)
    fits, wide = problem.items
    plan = SheetPlan(ROLL, 5.0, (Placement(fits, 0.0, 10.0, 10.0),), 120.0, "test")
    out = FilmRolls(problem.film_id, (plan,), (Missing("too wide", None, (wide,)),))
    assert verify(problem, out) == ()


def test_an_item_that_fits_may_not_be_listed_as_fitting_nowhere():
    out = FilmRolls(
        PROBLEM.film_id,
        (SheetPlan(ROLL, 5.0, (FIRST,), 120.0, "test"),),
        (Missing("too wide", None, (WEDGE,)),),
    )
    assert verify(PROBLEM, out) == ("Piece g2, try 1, is left out, but fits",)


def test_one_piece_in_the_opening_of_another_keeps_the_gap_too():
    frame = box(0, 0, 200, 200).difference(box(50, 50, 150, 150))
    problem = problem_of([frame, box(0, 0, 80, 80)], FILM)
    outer, inner = problem.items

    def inside(dx: float) -> tuple[str, ...]:
        placements = (Placement(outer, 0.0, 10.0, 10.0), Placement(inner, 0.0, dx, 70.0))
        plan = SheetPlan(problem.stock[0], 5.0, placements, 220.0, "test")
        return verify(problem, FilmRolls(problem.film_id, (plan,), ()))

    assert inside(70.0) == ()
    assert any("4 mm apart" in b for b in inside(64.0))


@pytest.mark.parametrize(("overlap", "holds"), [(0.0, True), (1e-9, True), (1e-3, False)])
def test_without_a_gap_pieces_may_touch_but_not_overlap(overlap, holds):
    problem = problem_of([box(0, 0, 100, 50), box(0, 0, 80, 50)], FILM, gap_mm=0.0)
    a, b = problem.items
    placements = (Placement(a, 0.0, 10.0, 10.0), Placement(b, 0.0, 110.0 - overlap, 10.0))
    plan = SheetPlan(problem.stock[0], 0.0, placements, 200.0 - overlap, "test")
    breaches = verify(problem, FilmRolls(problem.film_id, (plan,), ()))
    assert (breaches == ()) is holds


def on_sheet(sheet, *boxes, blanks=False):
    """A plan of boxes where they are given, on a sheet of any kind."""
    placed = tuple(
        Placement(replace(BOX, piece=f"b{i}", polygon=b, is_blank=blanks), 0.0, 0.0, 0.0)
        for i, b in enumerate(boxes, 1)
    )
    reach = max(b.bounds[2] for b in boxes)
    return SheetPlan(sheet, 5.0, placed, reach + max(sheet.margin_mm, sheet.trail_mm), "test")


CORNER = Polygon([(0, 0), (500, 0), (500, 200), (200, 200), (200, 500), (0, 500)])


@pytest.mark.parametrize(
    ("kind", "shape", "breach"),
    [
        ({"outline": CORNER}, box(10, 10, 190, 490), None),
        ({"outline": CORNER}, box(10, 10, 191, 490), "9 mm from its rim"),
        ({"outline": CORNER}, box(210, 210, 400, 400), "off the film"),
        ({"blocked": (box(100, 0, 110, 500),)}, box(110, 10, 200, 90), None),
        ({"blocked": (box(100, 0, 110, 500),)}, box(109, 10, 200, 90), "blocked film"),
        ({"section_mm": 250.0}, box(250, 10, 480, 90), None),
        ({"section_mm": 250.0}, box(249, 10, 480, 90), "end of a feed"),
        ({"lead_mm": 40.0}, box(40, 10, 480, 90), None),
        ({"lead_mm": 40.0}, box(39, 10, 480, 90), "1 mm outside"),
        ({"trail_mm": 40.0}, box(10, 10, 461, 90), "1 mm outside"),
    ],
)
def test_film_of_any_kind_is_judged(kind, shape, breach):
    sheet = Sheet(StockId("k1"), "roll", 500.0, 500.0, 10.0, **kind)
    found = verify_sheet(on_sheet(sheet, shape), 5.0)
    assert (found == ()) if breach is None else any(breach in b for b in found)


ROOM = Sheet(StockId("r1"), "roll", 320.0, 1000.0, 10.0)
PINWHEEL = (
    box(10, 10, 210, 110),
    box(210, 10, 310, 210),
    box(110, 210, 310, 310),
    box(10, 110, 110, 310),
)
"""Four blanks round a middle that no straight cut enters: the classic that is no guillotine."""


def test_a_pinwheel_is_not_freed_by_straight_cuts():
    plan = on_sheet(ROOM, *PINWHEEL, blanks=True)
    assert verify_sheet(plan, 5.0) == ()  # blanks lie edge to edge
    assert any("straight cuts" in b for b in straight_cut_breaches(plan))
    assert list(straight_cut_breaches(on_sheet(ROOM, *PINWHEEL[:3], blanks=True))) == []


def test_stages_are_counted_by_hand():
    """Across, along, across: a row of two beside one; then one level deeper."""
    three = (box(10, 10, 60, 60), box(60, 10, 110, 60), box(10, 60, 110, 110))
    assert list(straight_cut_breaches(on_sheet(ROOM, *three, blanks=True), 3)) == []
    four = (box(10, 10, 60, 35), box(10, 35, 60, 60), *three[1:])
    found = list(straight_cut_breaches(on_sheet(ROOM, *four, blanks=True), 3))
    assert found == ["freeing the blanks on r1 takes 4 stages, not 3"]


def test_pins_and_forbidden_sheets_are_judged():
    pinned = replace(PROBLEM, pinned=(Pin(ROLL.id, FIRST),))
    assert verify(pinned, laid(FIRST, SECOND)) == ()
    elsewhere = laid(replace(FIRST, dy_mm=11.0), SECOND)
    assert any("where it is pinned" in b for b in verify(pinned, elsewhere))
    barred = replace(PROBLEM, forbidden=((WEDGE.key, frozenset({ROLL.id})),))
    assert any("forbidden" in b for b in verify(barred, laid(FIRST, SECOND)))

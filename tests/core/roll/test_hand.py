"""Laying by hand: turning by the grain, edges that catch, and what a piece runs into."""

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings
from shapely import Polygon, box
from shapely.affinity import rotate, translate

from core.ids import StockId
from core.roll.hand import moved, slid_onto_film, touch_of, turned
from core.roll.model import Placement, Sheet
from helpers.film_pieces import items

ROLL = Sheet(StockId("r1"), "roll", 500.0, 2000.0, 10.0)
WEDGE = Polygon([(0, 0), (120, 0), (0, 80)])


def laid(shape=WEDGE, angles=None, x=0.0, y=0.0, angle=0.0):
    (item,) = items([shape], angles)
    return Placement(item, angle, x, y)


def pair():
    return [Placement(item, 0.0, 0.0, 0.0) for item in items([WEDGE, WEDGE], None)]


@given(st.floats(-720, 720), st.floats(-500, 500))
@settings(max_examples=50)
def test_a_free_piece_turns_about_its_middle(by, x):
    before = laid(x=x)
    after = turned(before, by)
    expected = rotate(before.polygon, by, origin=(0, 0))
    ex0, ey0, ex1, ey1 = expected.bounds
    x0, y0, x1, y1 = after.polygon.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((ex1 - ex0, ey1 - ey0), abs=1e-6)
    bx0, by0, bx1, by1 = before.polygon.bounds
    middle = ((bx0 + bx1) / 2, (by0 + by1) / 2)
    assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx(middle, abs=1e-6)


def test_a_grain_lets_it_turn_to_its_angles_alone():
    weave = (7.0, 97.0, 187.0, 277.0)
    piece = laid(angles=weave, angle=7.0)
    seen = []
    for _ in range(4):
        piece = turned(piece, 1.0)
        seen.append(piece.angle_deg)
    assert seen == [97.0, 187.0, 277.0, 7.0]
    assert turned(piece, -90.0).angle_deg == 277.0
    assert turned(laid(angles=(30.0,), angle=30.0), 90.0).angle_deg == 30.0


def test_edges_of_the_usable_film_catch_within_reach():
    off = moved(laid(), 4.0, 487.0 - 80.0)
    caught = slid_onto_film(off, ROLL, 8.0)
    assert caught.polygon.bounds == pytest.approx((10, 410, 130, 490))
    assert slid_onto_film(moved(laid(), 40, 40), ROLL, 8.0) == moved(laid(), 40, 40)


def test_it_tells_what_is_run_into():
    held, other = pair()
    held, other = moved(held, 100, 100), moved(other, 200, 100)
    key = other.item.key
    loose = touch_of(held, ROLL, [held, other], frozenset(), 5.0)
    assert (loose.loose, loose.pinned, loose.is_lawful) == ((key,), (), True)
    stuck = touch_of(held, ROLL, [held, other], frozenset({key}), 5.0)
    assert (stuck.loose, stuck.pinned, stuck.is_lawful) == ((), (key,), False)
    clear = touch_of(moved(held, -25.1, 0), ROLL, [other], frozenset({key}), 5.0)
    assert clear.is_lawful
    assert clear.pinned == ()


def test_a_gap_is_kept_to_the_hair_and_none_means_no_overlap():
    held, other = pair()
    held, other = moved(held, 100, 100), moved(other, 225, 100)
    assert touch_of(held, ROLL, [other], frozenset(), 5.0).loose == ()
    assert touch_of(moved(held, 0.01, 0), ROLL, [other], frozenset(), 5.0).loose
    beside = moved(held, 5.0, 0)
    assert touch_of(beside, ROLL, [other], frozenset(), 0.0).loose == ()
    assert touch_of(moved(beside, 0.5, 0), ROLL, [other], frozenset(), 0.0).loose


@pytest.mark.parametrize(
    ("x", "y", "is_off"),
    [(10, 10, False), (9.9, 10, True), (10, 410.1, True), (1870, 10, False), (1871, 10, True)],
)
def test_it_must_lie_on_usable_film(x, y, is_off):
    assert touch_of(laid(x=x, y=y), ROLL, [], frozenset(), 5.0).is_off_film is is_off


def test_damage_is_no_film():
    damaged = Sheet(
        StockId("r1"), "roll", 500.0, 2000.0, 10.0, blocked=(box(300, 0, 400, 500),)
    )
    assert touch_of(laid(x=290, y=50), damaged, [], frozenset(), 5.0).is_off_film
    assert not touch_of(laid(x=170, y=50), damaged, [], frozenset(), 5.0).is_off_film


def test_an_open_roll_has_no_end():
    to_buy = Sheet(StockId("buy"), "roll", 500.0, None, 10.0)
    assert touch_of(laid(x=50_000, y=50), to_buy, [], frozenset(), 5.0).is_lawful
    assert translate(laid().polygon, 50_000, 50).equals(laid(x=50_000, y=50).polygon)

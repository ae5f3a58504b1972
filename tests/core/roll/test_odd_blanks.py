"""Blanks on offcuts of any outline, beside damage and around pins: straight cuts free them.

Judged by cutting: the film itself is parted with shapely's own split, cut by cut.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box
from shapely.ops import split

from core.document.film import Offcut
from core.ids import StockId
from core.roll.cut_sequence import KEEP_MM, SLACK_MM, cut_sequence
from core.roll.findings import roll_findings
from core.roll.free_rooms import free_rooms, largest_rectangles
from core.roll.model import Pin, Placement, Sheet
from core.roll.nest import NestOptions, nest
from core.roll.problem import FilmProblem, film_problems
from core.roll.sheets import quick_rolls
from core.roll.verify import verify, verify_sheet
from helpers.film_pieces import a_film, blanks, items, piece, plan_of

L_SHAPE = Polygon([(0, 0), (2000, 0), (2000, 700), (900, 700), (900, 1400), (0, 1400)])
SLANTED = Polygon([(0, 200), (1500, 0), (2000, 900), (700, 1400)])
ROUND = Point(700, 700).buffer(700, quad_segs=24)
WAVY = Polygon(
    [
        (750 + r * math.cos(t), 750 + r * math.sin(t))
        for t in np.linspace(0, 2 * math.pi, 120, endpoint=False)
        for r in [650 + 80 * math.sin(5 * t)]
    ]
)


def sheet_of(outline: Polygon) -> Sheet:
    _, _, length, width = outline.bounds
    return Sheet(StockId("k1"), "offcut", width, length, 10.0, outline=outline)


def some_blanks(count: int = 14):
    sides = np.random.default_rng(4).integers(20, 90, (count, 2)) * 5
    return blanks([box(0, 0, *pair) for pair in sides.tolist()], (0.0, 90.0))


@pytest.mark.parametrize("stages", [None, 3])
@pytest.mark.parametrize(
    "outline", [L_SHAPE, SLANTED, ROUND, WAVY], ids=["an L", "slanted", "round", "wavy"]
)
def test_an_odd_offcut_comes_apart_by_the_cuts_that_are_told(outline, stages):
    found = nest(some_blanks(), sheet_of(outline), NestOptions(gap_mm=5.0, stages=stages))
    assert verify_sheet(found.plan, 5.0) == ()
    sequence = cut_sequence(found.plan)
    assert sequence.stuck == ()
    parts = [outline]
    for cut in sequence.cuts:
        line = LineString([cut.start, cut.end])
        parts = [q for p in parts for q in split(p, line).geoms]
    assert len(sequence.blanks) >= 5
    for blank in sequence.blanks:
        own = box(*blank.rectangle)
        (part,) = (p for p in parts if p.intersection(own).area > 1e-6)
        assert part.buffer(1e-6).contains(own), "no cut runs through a blank"
        spare = np.abs(np.array(part.bounds) - own.bounds)
        assert spare.max() <= KEEP_MM + SLACK_MM
    assert any(cut.is_trim for cut in sequence.cuts)
    assert not any(cut.is_trim and cut.frees == () for cut in sequence.cuts[-1:])


def test_cuts_of_an_odd_offcut_are_measured_from_film_that_is_there():
    """Behind 900 mm the L is 700 mm wide: its upper edge is there, not at 1400 mm."""
    one = blanks([box(0, 0, 500, 650)], (0.0,))[0]
    sheet = sheet_of(
        Polygon([(0, 700), (900, 700), (900, 0), (2000, 0), (2000, 1400), (0, 1400)])
    )
    plan = nest([], sheet, NestOptions(pinned=(Placement(one, 0.0, 50.0, 730.0),))).plan
    first, second, *_ = cut_sequence(plan).cuts
    assert (first.at_mm, first.is_trim) == (47.0, True)
    assert second.at_mm == pytest.approx(506.0)
    slit = next(c for c in cut_sequence(plan).cuts if c.knife == "slit")
    assert slit.at_mm == pytest.approx(727.0 - 700.0)


def test_an_offcut_without_waste_is_laid_full():
    """Four blanks cut from an L: each way to part it but one leaves one over."""
    sides = [(900, 700), (900, 700), (600, 700), (500, 700)]
    sheet = replace(sheet_of(L_SHAPE), margin_mm=0.0)
    found = nest(blanks([box(0, 0, *s) for s in sides], (0.0,)), sheet, NestOptions())
    assert found.left == ()


def test_pre_cut_pieces_keep_off_the_lanes_of_the_cuts():
    mixed = [*some_blanks(8), *items([Point(0, 0).buffer(60)] * 6)]
    mixed = [replace(i, piece=f"g{k}") for k, i in enumerate(mixed)]
    found = nest(mixed, sheet_of(L_SHAPE), NestOptions(gap_mm=5.0))
    sequence = cut_sequence(found.plan)
    held = {p.item.is_blank for p in found.plan.placements}
    assert held == {True, False}
    assert not [b for group in sequence.stuck for b in group if b.is_blank]


def test_the_largest_rectangles_of_an_l_are_its_two_arms():
    found = {tuple(r) for r in largest_rectangles(L_SHAPE).tolist()}
    assert found == {(0.0, 0.0, 2000.0, 700.0), (0.0, 0.0, 900.0, 1400.0)}


def test_the_largest_rectangle_in_a_circle_is_nearly_its_square():
    """The square inscribed in a circle of radius r has the area 2 r² (any textbook)."""
    best = largest_rectangles(ROUND)[0]
    area = (best[2] - best[0]) * (best[3] - best[1])
    assert ROUND.buffer(1e-6).contains(box(*best))
    assert 0.97 <= area / (2 * 700.0**2) <= 1.0


def test_free_rectangles_keep_the_unused_edge_from_a_wavy_rim():
    rooms = free_rooms(sheet_of(WAVY), (), 5.0, 0.0)
    near = shapely.distance([box(*r) for r in rooms.rectangles], WAVY.boundary)
    assert near.min() >= 10.0 - 1e-6


PINWHEEL = [(0, 0, 600, 300), (600, 0, 900, 600), (300, 600, 900, 900), (0, 300, 300, 900)]


def pinwheel_problem(middle: Polygon | None, *, blanks_too: bool) -> FilmProblem:
    """A pinwheel pinned to an offcut of 900 mm; the film's own roll is 200 mm wide."""
    film = a_film(
        roll_width_mm=220.0,
        edge_margin_mm=0.0,
        stock=(Offcut(id="k1", length_mm=900.0, width_mm=900.0),),
    )
    # Pieces that are no blanks keep their gap from each other and from the blank within.
    less = 0.0 if blanks_too else 2.5
    shapes = [box(0, 0, x1 - x0 - 2 * less, y1 - y0 - 2 * less) for x0, y0, x1, y1 in PINWHEEL]
    pieces = [piece(f"g{k}", s) for k, s in enumerate([*shapes, *([middle] if middle else [])])]
    (problem,) = film_problems(plan_of(pieces, [film]))
    made = [
        replace(i, is_blank=blanks_too or k == 4, angles_deg=(0.0,))
        for k, i in enumerate(problem.items)
    ]
    pins = tuple(
        Pin(StockId("k1"), Placement(item, 0.0, r[0] + less, r[1] + less))
        for item, r in zip(made[:4], PINWHEEL, strict=True)
    )
    return replace(problem, items=tuple(made), pinned=pins)


def test_blanks_pinned_so_that_they_block_each_other_are_told():
    problem = pinwheel_problem(None, blanks_too=True)
    rolls = quick_rolls(problem)
    assert verify(problem, rolls) == ()
    (told,) = (f for f in roll_findings(problem, rolls) if f.check == "N515")
    assert all(f"Piece g{k}" in told.text for k in range(4))


def test_a_blank_that_no_cut_frees_and_no_roll_takes_lies_as_a_piece_and_is_told():
    problem = pinwheel_problem(box(0, 0, 270, 270), blanks_too=False)
    rolls = quick_rolls(problem)
    assert verify(problem, rolls) == ()
    (plan,) = (s for s in rolls.sheets if s.sheet.id == "k1")
    inner = next(p for p in plan.placements if p.item.is_blank)
    assert box(300, 300, 600, 600).contains(inner.polygon)
    assert [f.check for f in roll_findings(problem, rolls) if f.check == "N515"] == ["N515"]


def test_a_blank_that_a_roll_takes_is_not_laid_where_no_cut_frees_it():
    problem = pinwheel_problem(box(0, 0, 270, 200), blanks_too=False)
    rolls = quick_rolls(problem)
    assert verify(problem, rolls) == ()
    holds = {s.sheet.id: [p.item.is_blank for p in s.placements] for s in rolls.sheets}
    assert holds == {"k1": [False] * 4, "buy": [True]}


def test_the_judge_sees_a_blank_in_a_pinwheel_on_an_odd_offcut():
    problem = pinwheel_problem(box(0, 0, 270, 200), blanks_too=False)
    rolls = quick_rolls(problem)
    plan = next(s for s in rolls.sheets if s.sheet.id == "k1")
    moved = Placement(problem.items[4], 0.0, 310.0, 310.0)
    wrong = replace(plan, placements=(*plan.placements, moved))
    breaches = verify(problem, replace(rolls, sheets=(wrong,)))
    assert breaches == ("straight cuts do not free the blanks on k1",)


def test_blanks_lie_around_a_pin_on_film_to_buy():
    pinned = (Placement(items([box(0, 0, 300, 200)])[0], 0.0, 400.0, 600.0),)
    sheet = Sheet(StockId("buy"), "roll", 1500.0, None, 10.0)
    found = nest(some_blanks(), sheet, NestOptions(gap_mm=5.0, pinned=pinned))
    assert found.left == ()
    assert verify_sheet(found.plan, 5.0) == ()
    assert cut_sequence(found.plan).stuck == ()
    area = sum(p.polygon.area for p in found.plan.placements)
    assert found.plan.used_length_mm <= 2.0 * area / 1480.0 + 20.0


@pytest.mark.parametrize("corner", range(4))
def test_a_blank_is_pushed_to_the_rim_and_never_back(corner):
    """In a circle of radius 690 about 700, 700 a blank of 600 reaches to 700 ± 621.3."""
    rooms = free_rooms(sheet_of(ROUND), (), 5.0, 0.0)
    tight = (400.0, 400.0, 1000.0, 1000.0)
    assert rooms.pushed(tight, tight, corner) == (400.0, 400.0)
    x, _ = rooms.pushed(tight, rooms.whole, corner)
    far = 700.0 + (690.0**2 - 300.0**2) ** 0.5
    assert x == pytest.approx(far - 600.0 if corner & 1 else 1400.0 - far, abs=1.5)


def test_no_free_film_lays_nothing():
    sheet = replace(sheet_of(L_SHAPE), blocked=(box(0, 0, 2000, 1400),))
    found = nest(some_blanks(3), sheet, NestOptions())
    assert (found.plan.placements, len(found.left)) == ((), 3)
    assert len(largest_rectangles(shapely.Polygon())) == 0

"""The one door: which engine answers, what a layout tells of itself, films that mix."""

from dataclasses import replace

import pytest
from shapely import Polygon, box

from core.document.film import DamagedStretch, Offcut, Roll
from core.document.job import Settings
from core.ids import StockId
from core.roll import nest as nesting
from core.roll.model import Pin, Placement, Sheet
from core.roll.nest import NestOptions, nest, nests
from core.roll.problem import film_problems
from core.roll.quick import quick_layout
from core.roll.room import sheet_plan
from core.roll.sheets import quick_rolls
from core.roll.tightening import Clock, tighten_film
from core.roll.verify import straight_cut_breaches, verify, verify_sheet
from helpers.film_pieces import (
    a_film,
    blanks,
    items,
    panel_like_shapes,
    piece,
    plan_of,
    problem_of,
)

OPEN = Sheet(StockId("buy"), "roll", 1500.0, None, 10.0)
GAP = 5.0


def never() -> bool:
    return False


def mixed():
    pieces = items(panel_like_shapes(9, 6), (0.0, 180.0))
    return [replace(i, is_blank=False) for i in pieces] + [
        replace(i, attempt=2)
        for i in blanks([box(0, 0, 950, 1000), box(0, 0, 400, 300)], (0.0,))
    ]


def test_blanks_lie_first_and_the_rest_behind_a_straight_cut():
    found = nest(mixed(), OPEN, NestOptions(gap_mm=GAP))
    assert verify_sheet(found.plan, GAP) == ()
    assert list(straight_cut_breaches(found.plan)) == []
    reach = max(p.polygon.bounds[2] for p in found.plan.placements if p.item.is_blank)
    starts = [p.polygon.bounds[0] for p in found.plan.placements if not p.item.is_blank]
    assert min(starts) >= reach + GAP - 1e-6


def test_each_layout_is_better_than_the_one_before_and_tells_its_time():
    found = list(nests(mixed(), OPEN, NestOptions(gap_mm=GAP, seconds=3.0)))
    ranks = [n.rank for n in found]
    assert ranks == sorted(ranks, reverse=True)
    assert found[-1].plan.seconds > 0
    for one in found:
        assert verify_sheet(one.plan, GAP) == ()


def test_a_layout_tells_its_bound_and_that_it_is_the_shortest():
    """Two blanks of 400 by 740 fill 1480 of usable width: 400 and two margins of 10."""
    found = nest(blanks([box(0, 0, 400, 740)] * 2, (0.0,)), OPEN, NestOptions(gap_mm=GAP))
    assert found.plan.used_length_mm == pytest.approx(420.0)
    assert found.plan.bound_mm == pytest.approx(420.0)
    assert found.plan.gap_to_bound == pytest.approx(0.0)
    assert found.plan.is_shortest
    assert found.plan.engine == "blanks"


def test_the_bound_of_other_pieces_is_their_area_over_the_width():
    found = nest(items([box(0, 0, 300, 740)], (0.0,)), OPEN, NestOptions(gap_mm=GAP))
    assert found.plan.bound_mm == pytest.approx(300 * 740 / 1480 + 20)
    assert found.plan.gap_to_bound == pytest.approx(320 / 170 - 1)
    assert not found.plan.is_shortest


def test_nothing_to_lay_gives_what_is_pinned():
    (item,) = items([box(0, 0, 90, 90)])
    pin = Placement(item, 0.0, 100.0, 100.0)
    found = nest([], OPEN, NestOptions(gap_mm=GAP, pinned=(pin,)))
    assert found.plan.placements == (pin,)
    assert nest([], OPEN, NestOptions(gap_mm=GAP)).plan.used_length_mm == 0.0


def test_cancel_ends_a_search_at_once():
    asked = NestOptions(gap_mm=GAP, seconds=600.0, is_cancelled=lambda: True)
    assert len(list(nests(mixed(), OPEN, asked))) >= 1


@pytest.mark.parametrize("seconds", [0.0, 1.5])
def test_a_film_with_everything_at_once_holds(seconds):
    """Damage, an odd offcut, machine waste, blanks, a pin, a forbidden roll."""
    corner = ((0.0, 0.0), (900.0, 0.0), (900.0, 300.0), (400.0, 700.0), (0.0, 700.0))
    film = a_film(
        stock=(
            Roll(
                id="r1",
                length_mm=2500.0,
                damaged=(DamagedStretch(start_mm=900.0, end_mm=960.0),),
            ),
            Roll(id="r2", length_mm=1500.0),
            Offcut(id="k1", length_mm=900.0, width_mm=700.0, outline=corner),
        )
    )
    pieces = [piece(f"g{i}", s) for i, s in enumerate(panel_like_shapes(9, 8), 1)]
    square = piece("h1", box(0, 0, 300, 250))
    pieces.append(replace(square, spec=replace(square.spec, is_blank=True, grip_mm=50.0)))
    plan = plan_of(pieces, [film])
    job = plan.job.__class__(
        name="Rolls",
        films=(film,),
        variants=plan.job.variants,
        settings=Settings(lead_mm=40.0, trail_mm=60.0),
    )
    (problem,) = film_problems(replace(plan, job=job))
    first, second = problem.items[:2]
    x0, y0, _, _ = first.polygon.bounds
    pin = Pin(StockId("r2"), Placement(first, 0.0, 300.0 - x0, 20.0 - y0))
    problem = replace(
        problem,
        pinned=(pin,),
        forbidden=((second.key, frozenset({StockId("r1"), StockId("k1")})),),
    )
    start = quick_rolls(problem)
    assert verify(problem, start) == ()
    if seconds:
        rolls, _ = tighten_film(problem, start, Clock(seconds, never), lambda _: None)
        assert verify(problem, rolls) == ()


def test_an_offcut_is_filled_better_with_time():
    """Whatever is found in the time, no more film is used than at once."""
    film = a_film(stock=(Offcut(id="k1", length_mm=520.0, width_mm=400.0),))
    shapes = [*panel_like_shapes(6, 21), Polygon([(0, 0), (300, 0), (0, 300)])]
    problem = problem_of(shapes, film)
    start = quick_rolls(problem)
    rolls, findings = tighten_film(problem, start, Clock(2.0, never), lambda _: None)
    assert verify(problem, rolls) == ()
    assert rolls.used_length_mm <= start.used_length_mm
    assert findings == ()


def test_a_piece_longer_than_the_machines_feed_is_told():
    plan = plan_of([piece("g1", box(0, 0, 900, 900))], [a_film()])
    job = plan.job.__class__(
        name="Rolls",
        films=plan.job.films,
        variants=plan.job.variants,
        settings=Settings(longest_feed_mm=600.0),
    )
    (problem,) = film_problems(replace(plan, job=job))
    rolls = quick_rolls(problem)
    assert verify(problem, rolls) == ()
    assert "in one go" in rolls.missing[0].text


def test_a_large_job_is_sought_in_parts_that_lie_one_behind_the_other(monkeypatch):
    monkeypatch.setattr(nesting, "_MANY", 8)
    monkeypatch.setattr(nesting, "_PART", 4)
    asked = []

    def sought(part, sheet, gap, *_):
        asked.append(len(part))
        yield quick_layout(part, sheet, gap).placements

    monkeypatch.setattr(nesting, "strip_layouts", sought)
    pieces = items(panel_like_shapes(10, 3), (0.0, 180.0))
    table = nesting._Table(OPEN, NestOptions(gap_mm=GAP, seconds=5.0))
    rest = nesting._Rest(table, pieces)
    found = list(rest._in_parts(OPEN, 5.0))
    assert asked == [4, 3, 3]
    for layout, _ in found:
        assert not layout.left
        assert len(layout.placements) == 10
        assert verify_sheet(sheet_plan(OPEN, GAP, layout.placements, "strip"), GAP) == ()

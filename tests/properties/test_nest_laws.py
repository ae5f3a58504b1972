"""Law 5 on random pieces: gap, room, grain, nothing lost, nothing mirrored."""

import math
from dataclasses import replace

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings
from msgspec.structs import replace as changed
from shapely import Polygon

from core.document.film import Grain
from core.roll.model import FilmRolls
from core.roll.problem import FilmProblem, film_problems
from core.roll.quick import quick_layout, shelf_layout
from core.roll.rolls import kept_nests, roll_plan
from core.roll.room import sheet_plan
from core.roll.sheets import quick_rolls
from core.roll.verify import verify, verify_sheet
from helpers.film_pieces import a_film, offcut, piece, plan_of, rolls

EXAMPLES = settings(max_examples=40, deadline=None)


@st.composite
def shapes(draw: st.DrawFn) -> Polygon:
    """Star-shaped outlines, thin to round, spiky to smooth, anywhere on the panel."""
    count = draw(st.integers(3, 24))
    size = draw(st.floats(5, 400))
    radii = draw(st.lists(st.floats(0.15, 1.0), min_size=count, max_size=count))
    squash = draw(st.floats(0.1, 1.0))
    x, y = draw(st.tuples(st.floats(-2e3, 2e3), st.floats(-2e3, 2e3)))
    turn = 2 * math.pi / count
    corners = [
        (x + size * r * math.cos(i * turn), y + squash * size * r * math.sin(i * turn))
        for i, r in enumerate(radii)
    ]
    return Polygon(corners)


@st.composite
def plans(draw: st.DrawFn):
    """One film of any grain and stock, with up to nine pieces."""
    stock = rolls(*draw(st.lists(st.floats(50, 3000), max_size=2)))
    cuts = draw(st.lists(st.tuples(st.floats(50, 800), st.floats(50, 800)), max_size=2))
    film = a_film(
        grain=draw(st.sampled_from(Grain)),
        roll_width_mm=draw(st.floats(100, 1600)),
        edge_margin_mm=draw(st.sampled_from([0.0, 10.0, 25.0])),
        stock=(*stock, *(offcut(f"k{i}", *size) for i, size in enumerate(cuts, 1))),
    )
    pieces = [
        piece(
            f"g{i}",
            shape,
            tries=draw(st.integers(1, 2)),
            flow_deg=draw(st.sampled_from([0.0, 90.0, 17.3, -123.4])),
        )
        for i, shape in enumerate(draw(st.lists(shapes(), min_size=1, max_size=9)), 1)
    ]
    return plan_of(pieces, [film], gap_mm=draw(st.sampled_from([0.0, 3.0, 12.5])))


def open_items(problem: FilmProblem):
    """Items that a roll of the film is wide enough for."""
    laid = quick_layout(problem.items, problem.buy, problem.gap_mm)
    return [p.item for p in laid.placements]


@EXAMPLES
@given(plans())
def test_quick_layouts_hold(plan):
    (problem,) = film_problems(plan)
    assert verify(problem, quick_rolls(problem)) == ()


@EXAMPLES
@given(plans())
def test_quick_layouts_hold_before_any_fallback(plan):
    """As above for the engine alone: where it failed, quick_rolls would take shelves."""
    (problem,) = film_problems(plan)
    for sheet in (*problem.stock, problem.buy):
        layout = quick_layout(problem.items, sheet, problem.gap_mm)
        laid = sheet_plan(sheet, problem.gap_mm, layout.placements, "quick")
        assert verify_sheet(laid, problem.gap_mm) == ()
        assert len(layout.placements) + len(layout.left) == len(problem.items)


@EXAMPLES
@given(plans())
def test_no_quick_layout_is_longer_than_shelves(plan):
    (problem,) = film_problems(plan)
    pieces = open_items(problem)
    quick = quick_layout(pieces, problem.buy, problem.gap_mm)
    shelves = shelf_layout(pieces, problem.buy, problem.gap_mm)
    assert len(quick.left) <= len(shelves.left)
    assert quick.length_mm <= shelves.length_mm + 1e-9


@EXAMPLES
@given(plans())
def test_kept_nests_come_back_whole(plan):
    before = roll_plan(plan)
    nests = kept_nests(plan, before.rolls)
    after = roll_plan(replace(plan, job=changed(plan.job, nests=nests)))
    places = [
        [[(p.item, p.angle_deg, p.dx_mm, p.dy_mm) for p in s.placements] for s in f.sheets]
        for report in (before, after)
        for f in report.rolls.films
    ]
    assert places[0] == places[1]
    assert after.findings == before.findings


@EXAMPLES
@given(plans(), st.data())
def test_a_placement_pushed_onto_another_is_found(plan, data):
    (problem,) = film_problems(plan)
    rolls_ = quick_rolls(problem)
    crowded = [s for s in rolls_.sheets if len(s.placements) > 1]
    if not crowded:
        return
    sheet = data.draw(st.sampled_from(crowded))
    a, b = data.draw(st.permutations(sheet.placements))[:2]
    centre, aim = a.polygon.representative_point(), b.polygon.representative_point()
    pushed = replace(a, dx_mm=a.dx_mm + aim.x - centre.x, dy_mm=a.dy_mm + aim.y - centre.y)
    others = tuple(p for p in sheet.placements if p is not a)
    spoilt = sheet_plan(sheet.sheet, problem.gap_mm, (*others, pushed), "quick")
    sheets = tuple(spoilt if s is sheet else s for s in rolls_.sheets)
    assert verify(problem, FilmRolls(rolls_.film, sheets, rolls_.missing)) != ()


@pytest.mark.parametrize("grain", [Grain.ONE_WAY, Grain.NONE])
def test_a_piece_of_many_tries_fills_rolls_lawfully(grain):
    film = a_film(grain=grain, stock=rolls(400, 700))
    wedge = Polygon([(0, 0), (300, 0), (0, 200)])
    (problem,) = film_problems(plan_of([piece("g1", wedge, tries=20, flow_deg=30.0)], [film]))
    found = quick_rolls(problem)
    assert verify(problem, found) == ()
    assert sum(len(s.placements) for s in found.sheets) == 20

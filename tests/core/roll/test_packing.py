"""The polygon solver, where it is installed; without it filling takes its place."""

from dataclasses import replace

import pytest
from shapely import Polygon, box

from core.ids import StockId
from core.roll import nest as nesting
from core.roll import packing
from core.roll.model import Placement, Sheet
from core.roll.nest import NestOptions, nest
from core.roll.packing import has_packing, packing_layouts
from core.roll.room import sheet_plan
from core.roll.strip_workers import SolverFailed
from core.roll.verify import verify_sheet
from helpers.film_pieces import items, panel_like_shapes

GAP = 5.0
CORNER = Polygon([(0, 0), (2000, 0), (2000, 700), (900, 700), (900, 1400), (0, 1400)])
OFFCUT = Sheet(
    StockId("k1"),
    "offcut",
    1400.0,
    2000.0,
    10.0,
    outline=CORNER,
    blocked=(box(300, 300, 420, 420),),
)
FED = Sheet(StockId("r1"), "roll", 1500.0, 2700.0, 10.0, lead_mm=60.0, section_mm=900.0)

installed = pytest.mark.skipif(not has_packing(), reason="the solver is not installed")


def never() -> bool:
    return False


@installed
@pytest.mark.parametrize("sheet", [OFFCUT, FED], ids=["an L with damage", "fed in sections"])
@pytest.mark.parametrize("turns", [None, (33.0, 213.0)], ids=["free", "slanted"])
def test_layouts_hold_and_grow(sheet, turns):
    pieces = items(panel_like_shapes(12, 1), turns)
    first, *rest = pieces
    x0, y0, _, _ = Placement(first, 33.0, 0.0, 0.0).polygon.bounds
    pinned = (Placement(first, 33.0, 100.0 - x0, 80.0 - y0),)
    sheet = replace(sheet, blocked=())
    areas = []
    for layout in packing_layouts(rest, sheet, GAP, pinned, 2.0, never):
        plan = sheet_plan(sheet, GAP, (*pinned, *layout.placements), "packing")
        assert verify_sheet(plan, GAP) == ()
        assert len(layout.placements) + len(layout.left) == len(rest)
        areas.append(plan.pieces_area_mm2)
    assert areas
    assert areas == sorted(areas)


@installed
def test_damage_is_kept_off():
    found = list(packing_layouts(items(panel_like_shapes(10, 4)), OFFCUT, GAP, (), 2.0, never))
    plan = sheet_plan(OFFCUT, GAP, found[-1].placements, "packing")
    assert verify_sheet(plan, GAP) == ()


@pytest.mark.parametrize("is_there", [True, False])
def test_a_sheet_of_any_shape_is_laid_with_the_solver_and_without(is_there, monkeypatch):
    if is_there and not has_packing():
        pytest.skip("the solver is not installed")
    monkeypatch.setattr(nesting, "has_packing", lambda: is_there)
    pieces = items(panel_like_shapes(12, 2))
    found = nest(pieces, OFFCUT, NestOptions(gap_mm=GAP, seconds=1.0))
    assert verify_sheet(found.plan, GAP) == ()
    assert found.rank <= nest(pieces, OFFCUT, NestOptions(gap_mm=GAP)).rank


def test_nothing_that_fits_needs_no_solver(monkeypatch):
    monkeypatch.setattr(packing, "answers", lambda *_: pytest.fail("started"))
    assert list(packing_layouts([], OFFCUT, GAP, (), 1.0, never)) == []
    narrow = Sheet(StockId("k1"), "offcut", 15.0, 500.0, 10.0)
    assert list(packing_layouts(items([box(0, 0, 9, 9)]), narrow, GAP, (), 1.0, never)) == []


@pytest.mark.skipif(has_packing(), reason="the solver is installed")
def test_a_solver_that_is_missing_is_told_in_words():
    with pytest.raises(SolverFailed, match="gave up"):
        list(packing_layouts(items([box(0, 0, 90, 90)]), OFFCUT, GAP, (), 5.0, never))

"""How long layouts take, and how long they are; figures go to the benchmark's extra info."""

import pytest

from core.ids import StockId
from core.roll import profiles
from core.roll import turns as turning
from core.roll.model import Sheet
from core.roll.quick import quick_layout, shelf_layout
from core.roll.room import sheet_plan
from core.roll.sheets import _quick, quick_rolls
from core.roll.strip import strip_layouts
from core.roll.verify import verify_sheet
from helpers.film_pieces import (
    BENCHMARKS,
    a_film,
    benchmark_instance,
    items,
    panel_like_shapes,
    problem_of,
)

SHEET = Sheet(StockId("buy"), "roll", 1520.0, None, 10.0)
TURNS = {"free": None, "two-way": (0.0, 180.0)}
SECONDS = 5.0


def strip_length(pieces, sheet, gap_mm):
    last = ()
    for placements in strip_layouts(pieces, sheet, gap_mm, SECONDS, lambda: False):
        last = placements
    plan = sheet_plan(sheet, gap_mm, last, "strip")
    assert verify_sheet(plan, gap_mm) == ()
    return plan.used_length_mm


def forget():
    """Let every outline be new, as when a job is opened."""
    for memory in (profiles._known, turning._narrowest):
        memory._kept.clear()


@pytest.mark.parametrize("is_new", [True, False], ids=["new outlines", "known outlines"])
@pytest.mark.parametrize("turns", TURNS.values(), ids=TURNS.keys())
def test_quick_layout_of_sixty_pieces(benchmark, turns, is_new):
    """Goal: under 50 ms."""
    pieces = items(panel_like_shapes(60, 1), turns)
    quick_layout(pieces, SHEET, 5.0)
    setup = forget if is_new else None
    layout = benchmark.pedantic(
        quick_layout, (pieces, SHEET, 5.0), setup=setup, rounds=20, warmup_rounds=1
    )
    shelves = shelf_layout(pieces, SHEET, 5.0)
    benchmark.extra_info["length_mm"] = round(layout.length_mm)
    benchmark.extra_info["shelves_mm"] = round(shelves.length_mm)
    assert layout.length_mm <= shelves.length_mm


def test_quick_rolls_of_sixty_pieces_verified(benchmark):
    """The whole path of a live preview: problem, layout, judge."""
    problem = problem_of(panel_like_shapes(60, 1), a_film(roll_width_mm=1520.0))

    def lay():
        forget()
        quick_rolls.cache_clear()
        _quick.cache_clear()
        return quick_rolls(problem)

    assert benchmark(lay).sheets


def test_quick_layout_of_three_hundred_pieces(benchmark):
    """Goal: under 1 s."""
    pieces = items(panel_like_shapes(300, 2))
    layout = benchmark.pedantic(quick_layout, (pieces, SHEET, 5.0), rounds=3)
    assert not layout.left


@pytest.mark.parametrize("turns", TURNS.values(), ids=TURNS.keys())
def test_strip_against_quick_on_sixty_pieces(benchmark, turns):
    pieces = items(panel_like_shapes(60, 1), turns)
    length = benchmark.pedantic(strip_length, (pieces, SHEET, 5.0), rounds=1)
    benchmark.extra_info["strip_mm"] = round(length - 20)
    benchmark.extra_info["quick_mm"] = round(quick_layout(pieces, SHEET, 5.0).length_mm)


@pytest.mark.skipif(not BENCHMARKS.is_dir(), reason="no benchmark instances here")
@pytest.mark.parametrize(("name", "best_pct"), [("marques", 92.02), ("trousers", 92.62)])
def test_strip_on_open_instances(benchmark, name, best_pct):
    """Best-known densities: see tests/core/roll/test_open_instances.py."""
    pieces, width, area = benchmark_instance(name)
    sheet = Sheet(StockId("buy"), "roll", width, None, 0.0)
    length = benchmark.pedantic(strip_length, (pieces, sheet, 0.0), rounds=1)
    density_pct = 100 * area / (width * length)
    benchmark.extra_info["density_pct"] = round(density_pct, 2)
    benchmark.extra_info["of_best_known"] = round(density_pct / best_pct, 4)
    assert density_pct <= best_pct + 0.01

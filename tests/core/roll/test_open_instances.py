"""Layouts against the literature: open strip-packing instances with best-known densities.

Densities: the table in the README beside the instances, from Gardeyn & Wauters, "An open-source
heuristic to reboot 2D nesting research" (arXiv:2509.13329, 2025), best of long runs. Nobody is
expected to beat them here: a layout that is denser than best-known by more than rounding would
show that pieces overlap or that lengths are measured wrongly.
"""

import pytest

from core.ids import StockId
from core.roll.model import Sheet
from core.roll.quick import quick_layout
from core.roll.room import sheet_plan
from core.roll.strip import strip_layouts
from core.roll.verify import verify_sheet
from helpers.film_pieces import BENCHMARKS, benchmark_instance

BEST_PCT = {
    "albano": 89.82,
    "dagli": 90.17,
    "fu": 92.40,
    "jakobs1": 89.25,
    "marques": 92.02,
    "shapes0": 69.98,
    "shirts": 90.92,
    "swim": 79.83,
    "trousers": 92.62,
}
ROUNDING_PCT = 0.01

pytestmark = pytest.mark.skipif(not BENCHMARKS.is_dir(), reason="no benchmark instances here")


def density_pct(placements, width, area):
    sheet = Sheet(StockId("buy"), "roll", width, None, 0.0)
    plan = sheet_plan(sheet, 0.0, tuple(placements), "test")
    assert verify_sheet(plan, 0.0) == ()
    return 100 * area / (width * plan.used_length_mm)


@pytest.mark.parametrize("name", BEST_PCT)
def test_quick_layouts_are_sane(name):
    pieces, width, area = benchmark_instance(name)
    layout = quick_layout(pieces, Sheet(StockId("buy"), "roll", width, None, 0.0), 0.0)
    assert len(layout.placements) == len(pieces)
    share = density_pct(layout.placements, width, area) / BEST_PCT[name]
    assert share > 0.6
    assert share <= 1 + ROUNDING_PCT / 100


@pytest.mark.parametrize("name", ["fu", "dagli", "shapes0"])
def test_a_few_seconds_of_the_solver_come_near_best_known(name):
    pieces, width, area = benchmark_instance(name)
    sheet = Sheet(StockId("buy"), "roll", width, None, 0.0)
    layouts = list(strip_layouts(pieces, sheet, 0.0, 4.0, lambda: False))
    density = density_pct(layouts[-1], width, area)
    assert 0.7 * BEST_PCT[name] < density <= BEST_PCT[name] + ROUNDING_PCT

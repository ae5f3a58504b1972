"""How good layouts are in the time given; figures go to the benchmark's extra info.

Run with ``pytest tests/bench/test_nest_bench.py --benchmark-only`` on a machine that does
nothing else: the solvers run on every core for a given time. Every layout is judged.
"""

import itertools
import resource
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import spyrrow
from shapely import Point, Polygon, box

from core.document.file import load_job
from core.ids import StockId
from core.plan.plan import plan_job
from core.roll.blanks import odd_blank_layouts
from core.roll.filling import fill_layouts
from core.roll.guillotine import Blank, guillotine_layouts, length_of
from core.roll.model import Placement, Sheet
from core.roll.nest import NestOptions, nest
from core.roll.packing import has_packing, packing_layouts
from core.roll.problem import film_problems
from core.roll.quick import shelf_layout
from core.roll.room import sheet_plan, usable_size
from core.roll.strip import strip_layouts
from core.roll.verify import verify_sheet
from helpers.film_pieces import (
    BENCHMARKS,
    benchmark_instance,
    blanks,
    items,
    panel_like_shapes,
    perfect_cut,
)
from helpers.published_cuts import published_cuts

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
"""Source: see tests/core/roll/test_open_instances.py."""
TRIKE = Path(__file__).parents[2] / "sample_projects" / "library_trike.lapline"
OFFCUT = Sheet(
    StockId("k1"),
    "offcut",
    1400.0,
    2000.0,
    10.0,
    outline=Polygon([(0, 0), (2000, 0), (2000, 700), (900, 700), (900, 1400), (0, 1400)]),
    blocked=(box(300, 300, 420, 420),),
)
SECONDS = 3.0
PIN = Placement(items([Polygon([(0, 0), (400, 50), (150, 380)])])[0], 0.0, 800.0, 500.0)
PLAIN = Sheet(StockId("k1"), "offcut", 1400.0, 2000.0, 10.0)
ODD = {
    "an L": (replace(OFFCUT, blocked=()), ()),
    "slanted": (
        replace(PLAIN, outline=Polygon([(0, 200), (1500, 0), (2000, 900), (700, 1400)])),
        (),
    ),
    "round": (
        replace(PLAIN, length_mm=1400.0, outline=Point(700, 700).buffer(700, quad_segs=24)),
        (),
    ),
    "damaged": (
        replace(PLAIN, blocked=(box(600, 300, 750, 500), box(1300, 900, 1400, 1400))),
        (),
    ),
    "with a pin": (PLAIN, (PIN,)),
}
"""Offcuts on which straight cuts have to go around something."""


def never() -> bool:
    return False


@pytest.mark.skipif(not BENCHMARKS.is_dir(), reason="no benchmark instances here")
@pytest.mark.parametrize("seconds", [10.0, 60.0])
@pytest.mark.parametrize("name", BEST_PCT)
def test_share_of_best_known_density(benchmark, name, seconds):
    """Goals: mean at least 0.965 after 10 s and 0.98 after 60 s, and above the plain solver."""
    pieces, width, area = benchmark_instance(name)
    sheet = Sheet(StockId("buy"), "roll", width, None, 0.0)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)

    def sought():
        last = ()
        for placements in strip_layouts(pieces, sheet, 0.0, seconds, never):
            last = placements
        return last

    plan = sheet_plan(sheet, 0.0, benchmark.pedantic(sought, rounds=1), "strip")
    assert verify_sheet(plan, 0.0) == ()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    share = 100 * area / (width * plan.used_length_mm) / BEST_PCT[name]
    benchmark.extra_info["of_best_known"] = round(share, 4)
    benchmark.extra_info["core_seconds"] = round(after.ru_utime - before.ru_utime, 1)
    assert share <= 1.0001


@pytest.mark.skipif(not BENCHMARKS.is_dir(), reason="no benchmark instances here")
@pytest.mark.parametrize("seconds", [10, 60])
@pytest.mark.parametrize("name", BEST_PCT)
def test_share_of_best_known_density_of_the_plain_solver(benchmark, name, seconds):
    """The solver as it comes, on all cores; its layouts overlap by its rounding."""
    pieces, width, area = benchmark_instance(name)
    rings = [list(i.polygon.exterior.coords) for i in pieces]
    wanted = [
        spyrrow.Item(str(k), ring, 1, list(i.angles_deg))
        for k, (i, ring) in enumerate(zip(pieces, rings, strict=True))
    ]
    instance = spyrrow.StripPackingInstance(name, width * (1 + 1e-6), wanted)
    config = spyrrow.StripPackingConfig(total_computation_time=seconds, seed=1)
    found = benchmark.pedantic(instance.solve, (config,), rounds=1)
    share = 100 * area / (width * found.width) / BEST_PCT[name]
    benchmark.extra_info["of_best_known"] = round(share, 4)
    assert share > 0.5


@pytest.mark.parametrize("stages", [None, 3], ids=["any stages", "three stages"])
@pytest.mark.parametrize("may_turn", [True, False], ids=["turning", "oriented"])
@pytest.mark.parametrize("count", [20, 40, 60])
def test_gap_to_a_perfect_cut(benchmark, count, may_turn, stages):
    """Goal, any number of stages: at most 1.03 of the shortest, 3000 mm, in 3 s."""
    ratios = []

    def sought():
        for seed in (1, 2, 3):
            wanted = [Blank(float(a), float(b), may_turn) for a, b in perfect_cut(count, seed)]
            end, best = time.process_time() + SECONDS, ()
            for layout in guillotine_layouts(wanted, 1500.0, stages, seed):
                best = layout or best
                if time.process_time() > end:
                    break
            ratios.append(length_of(best, wanted) / 3000.0)

    benchmark.pedantic(sought, rounds=1)
    benchmark.extra_info["ratios"] = [round(r, 4) for r in ratios]
    assert min(ratios) >= 1.0 - 1e-9


@pytest.mark.parametrize("stages", [None, 3], ids=["any stages", "three stages"])
@pytest.mark.parametrize("case", published_cuts(), ids=lambda case: case.name)
def test_gap_to_a_published_shortest(benchmark, case, stages):
    """The shortest of any layout: straight cuts do not reach it everywhere."""
    wanted = [Blank(a, b, may_turn=True) for a, b in case.sides]

    def sought():
        end, best = time.process_time() + SECONDS, ()
        for layout in guillotine_layouts(wanted, case.width, stages):
            best = layout or best
            if time.process_time() > end:
                break
        return best

    length = length_of(benchmark.pedantic(sought, rounds=1), wanted)
    benchmark.extra_info["over_shortest"] = round(length / case.shortest, 4)
    assert length >= case.shortest - 1e-9


@pytest.mark.parametrize("stages", [None, 3], ids=["any stages", "three stages"])
@pytest.mark.parametrize("name", ODD)
def test_blanks_on_odd_film(benchmark, name, stages):
    """Share of the film that is laid by straight cuts, and by filling as other pieces are."""
    sheet, pinned = ODD[name]
    free = sheet.free().area - sum(p.polygon.area for p in pinned)
    shares: dict[str, list[float]] = {"cuts": [], "filled": []}

    def most(layouts) -> float:
        end, best = time.process_time() + SECONDS, 0.0
        for layout in layouts:
            if layout is not None:
                plan = sheet_plan(sheet, 5.0, (*pinned, *layout.placements), "bench")
                assert verify_sheet(plan, 5.0) == ()
                best = max(best, sum(p.item.polygon.area for p in layout.placements) / free)
            if time.process_time() > end:
                break
        return best

    def sought():
        for seed in (1, 2):
            sides = np.random.default_rng(seed).integers(20, 110, (25, 2)) * 5
            wanted = blanks([box(0, 0, *pair) for pair in sides.tolist()])
            found = odd_blank_layouts(wanted, sheet, pinned, 5.0, stages)
            shares["cuts"].append(round(most(found), 3))
            shares["filled"].append(round(most(fill_layouts(wanted, sheet, 5.0, pinned)), 3))

    benchmark.pedantic(sought, rounds=1)
    benchmark.extra_info.update(shares)


def test_an_odd_offcut_filled(benchmark):
    pieces = items(panel_like_shapes(30, 1))
    free = OFFCUT.free().area

    def share(layouts):
        end, most = time.monotonic() + SECONDS, 0.0
        for layout in layouts:
            plan = sheet_plan(OFFCUT, 5.0, layout.placements, "bench")
            assert verify_sheet(plan, 5.0) == ()
            most = max(most, plan.pieces_area_mm2 / free)
            if time.monotonic() > end:
                break
        return most

    own = benchmark.pedantic(share, (fill_layouts(pieces, OFFCUT, 5.0),), rounds=1)
    benchmark.extra_info["filled"] = round(own, 3)
    if has_packing():
        found = packing_layouts(pieces, OFFCUT, 5.0, (), SECONDS, never)
        benchmark.extra_info["filled_by_packing"] = round(share(found), 3)


def test_three_hundred_pieces(benchmark):
    """Goals: first layout within 1 s, good within 60 s, memory under 1 GB."""
    pieces = items(panel_like_shapes(300, 2), (0.0, 180.0))
    sheet = Sheet(StockId("buy"), "roll", 1520.0, None, 10.0)
    first = benchmark.pedantic(nest, (pieces, sheet, NestOptions()), rounds=1)
    assert verify_sheet(first.plan, 5.0) == ()
    good = nest(pieces, sheet, NestOptions(seconds=60.0))
    assert verify_sheet(good.plan, 5.0) == ()
    peaks = [
        resource.getrusage(who).ru_maxrss / 1024
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    ]
    benchmark.extra_info["first_mm"] = round(first.plan.used_length_mm)
    benchmark.extra_info["good_mm"] = round(good.plan.used_length_mm)
    benchmark.extra_info["megabytes"] = [round(p) for p in peaks]
    assert sum(peaks) < 1024


def test_the_trike_against_shelves(benchmark):
    """Goal: at most 0.75 of bounding boxes on shelves, longest first.

    Told beside it: against boxes as they are drawn, each on the shelf begun last or a new one;
    and the share that pieces with half their gap around would need without any waste.
    """
    plan = plan_job(load_job(TRIKE).job)
    problem = max(film_problems(plan), key=lambda p: len(p.items))
    pieces = [i for i in problem.items if i.attempt == 1]
    shelves = shelf_layout(pieces, problem.buy, problem.gap_mm)
    options = NestOptions(gap_mm=problem.gap_mm, seconds=30.0)
    found = benchmark.pedantic(nest, (pieces, problem.buy, options), rounds=1)
    assert verify_sheet(found.plan, problem.gap_mm) == ()
    used = found.plan.used_length_mm - problem.buy.start_mm - problem.buy.end_mm
    width = usable_size(problem.buy)[1] + problem.gap_mm
    area = sum(i.polygon.buffer(problem.gap_mm / 2).area for i in pieces)
    benchmark.extra_info["of_shelves"] = round(used / shelves.length_mm, 3)
    plain = _plain_shelves_mm([i.polygon for i in pieces], width, problem.gap_mm)
    benchmark.extra_info["of_plain_shelves"] = round(used / plain, 3)
    benchmark.extra_info["least_of_shelves"] = round(area / width / shelves.length_mm, 3)


def _plain_shelves_mm(shapes, width, gap):
    """Length of boxes as drawn, longest first; width holds a gap more than the film."""
    bounds = [s.bounds for s in shapes]
    sides = sorted(((b[2] - b[0], b[3] - b[1]) for b in bounds), reverse=True)
    length, free = 0.0, -1.0
    for along, across in sides:
        if across + gap > free:
            length, free = length + along + gap, width
        free -= across + gap
    return length - gap


def test_blanks_of_a_job(benchmark):
    """Random blanks in steps of 5 mm, which have no perfect cut; the bound is their area."""
    rng = np.random.default_rng(25)
    sides = rng.integers(40, 160, (25, 2)) * 5.0
    wanted = [Blank(float(a), float(b), may_turn=True) for a, b in sides]

    def sought():
        found = guillotine_layouts(wanted, 1500.0)
        return [x for x in itertools.islice(found, 600) if x][-1]

    layout = benchmark.pedantic(sought, rounds=1)
    bound = float((sides[:, 0] * sides[:, 1]).sum() / 1500.0)
    benchmark.extra_info["over_bound"] = round(length_of(layout, wanted) / bound, 4)

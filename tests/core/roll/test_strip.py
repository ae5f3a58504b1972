"""The strip solver's known traps, each met on purpose; and the worker, killed and cancelled."""

import itertools
import json
import os
import subprocess
import sys
import time

import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate, translate

from core.ids import StockId
from core.roll import strip_workers
from core.roll.model import Sheet
from core.roll.room import sheet_plan
from core.roll.solver_shapes import solver_shapes
from core.roll.strip import SolverFailed, strip_layouts
from core.roll.strip_workers import WORKER
from core.roll.verify import verify_sheet
from helpers.film_pieces import items, panel_like_shapes

SHEET = Sheet(StockId("buy"), "roll", 500.0, None, 10.0)
SHEET_WIDE = Sheet(StockId("buy"), "roll", 1500.0, None, 10.0)
GAP = 5.0
SEARCHES = max(1, (os.cpu_count() or 1) // 2)


def never() -> bool:
    return False


def first_layout(pieces, sheet=SHEET, gap=GAP):
    """The first layout, which holds."""
    layouts = strip_layouts(pieces, sheet, gap, 20.0, never)
    placements = next(layouts)
    layouts.close()
    plan = sheet_plan(sheet, gap, placements, "strip")
    assert verify_sheet(plan, gap) == ()
    assert sorted(p.item.piece for p in placements) == sorted(i.piece for i in pieces)
    return plan


TRAPS = {
    "as wide as the usable film": [box(0, 0, 60, 480), box(0, 0, 50, 480), box(0, 0, 90, 90)],
    "far from the origin": [
        translate(s, 4e5, -3e5)
        for s in (box(0, 0, 80, 50), Polygon([(0, 0), (90, 5), (40, 70)]))
    ],
    "with a spike": [
        Polygon([(0, 0), (100, 0), (100, 60), (50.001, 60), (50, 200), (49.999, 60), (0, 60)]),
        box(0, 0, 90, 90),
    ],
    "microscopic": [box(0, 0, 0.01, 0.01), box(0, 0, 1e-4, 40), box(0, 0, 90, 90)],
    "with an opening": [
        box(0, 0, 200, 200).difference(box(20, 20, 180, 180)),
        box(0, 0, 90, 90),
    ],
    "the same piece twice": [box(0, 0, 80, 50)] * 2,
    "with doubled points": [
        Polygon([(0, 0), (80, 0), (80, 0), (80, 50), (0, 50), (0, 50 - 1e-9)]),
        box(0, 0, 90, 90),
    ],
}


@pytest.mark.parametrize("shapes", TRAPS.values(), ids=TRAPS.keys())
def test_pieces_that_would_make_the_solver_panic_are_laid(shapes):
    first_layout(items(shapes, (0.0, 180.0)))


def test_the_gap_is_not_kept_from_the_rolls_edges():
    """Four of 100 with gaps of 25 between them are 475 wide: they stand side by side in 480."""
    plan = first_layout(items([box(0, 0, 150, 100)] * 4, (0.0,)), gap=25.0)
    assert plan.used_length_mm == pytest.approx(150 + 20, abs=1.0)
    bounds = shapely.total_bounds([p.polygon for p in plan.placements])
    assert bounds[0] == pytest.approx(10.0)
    assert bounds[1] >= 10.0 - 1e-6
    assert bounds[3] <= 490.0 + 1e-6


def test_slanted_grain_is_met_exactly():
    plan = first_layout(items(panel_like_shapes(5, 9), (33.3, 213.3)), SHEET_WIDE)
    assert {p.angle_deg for p in plan.placements} <= {33.3, 213.3}


def test_what_the_solver_sees_contains_the_outline_and_at_most_a_third_of_a_millimetre_more():
    pieces = items(panel_like_shapes(30, 10), (0.0, 90.0))
    for item, shape in zip(pieces, solver_shapes(pieces, 1480.0, 5.0), strict=True):
        seen = translate(Polygon(shape.ring), -shape.shift_mm[0], -shape.shift_mm[1])
        assert shapely.difference(item.polygon, seen).area < 1e-6 * item.polygon.area
        assert shapely.hausdorff_distance(item.polygon, seen) <= 1 / 3
        true, wide = item.polygon.bounds, seen.bounds
        assert wide == pytest.approx(true, abs=1e-9)


def test_with_a_hair_around_it_what_the_solver_sees_contains_all_that_near():
    pieces = items([*panel_like_shapes(10, 10), box(0, 0, 60, 480)], (0.0, 90.0))
    for item, shape in zip(pieces, solver_shapes(pieces, 480.0, 5.0, 0.003), strict=True):
        seen = translate(Polygon(shape.ring), -shape.shift_mm[0], -shape.shift_mm[1])
        assert shapely.distance(seen.exterior, item.polygon) == pytest.approx(0.003, abs=1e-6)


def test_free_pieces_may_be_turned_to_fit_a_narrow_roll():
    plan = first_layout(items([rotate(box(0, 0, 700, 300), 30), box(0, 0, 90, 90)]))
    assert plan.used_length_mm < 850.0


def test_a_piece_wider_than_the_roll_makes_the_solver_give_up_in_words():
    with pytest.raises(SolverFailed, match="gave up"):
        first_layout(items([box(0, 0, 60, 481), box(0, 0, 90, 90)], (0.0,)))


def test_time_is_not_overrun():
    start = time.monotonic()
    pieces = items(panel_like_shapes(40, 11))
    list(strip_layouts(pieces, SHEET_WIDE, GAP, 2.0, never))
    assert time.monotonic() - start < 4.0  # the solver alone would take up to 4.5 s more


def test_cancel_ends_the_worker(started):
    asked = []

    def is_cancelled() -> bool:
        asked.append(1)
        return len(asked) > 2

    list(strip_layouts(items(panel_like_shapes(30, 12)), SHEET_WIDE, GAP, 60.0, is_cancelled))
    assert len(asked) == 3
    assert [p.poll() is not None for p in started] == [True] * SEARCHES


def test_a_consumer_that_walks_away_leaves_no_worker(started):
    layouts = strip_layouts(items([box(0, 0, 80, 50)] * 3), SHEET, GAP, 60.0, never)
    next(layouts)
    layouts.close()
    assert [p.poll() is not None for p in started] == [True] * SEARCHES


def test_a_killed_worker_is_told(started):
    def kill() -> bool:
        for process in started:
            process.kill()
        return False

    with pytest.raises(SolverFailed, match="stopped unexpectedly"):
        list(strip_layouts(items(panel_like_shapes(30, 12)), SHEET_WIDE, GAP, 60.0, kill))


def test_for_a_killed_worker_another_begins(started):
    def kill_first() -> bool:
        started[0].kill()
        return False

    pieces = items(panel_like_shapes(12, 12))
    layouts = list(strip_layouts(pieces, SHEET_WIDE, GAP, 3.0, kill_first))
    assert len(started) == SEARCHES + 1
    assert verify_sheet(sheet_plan(SHEET_WIDE, GAP, layouts[-1], "strip"), GAP) == ()


def test_each_layout_told_is_shorter_than_the_one_before():
    pieces = items(panel_like_shapes(8, 13), (0.0, 180.0))
    lengths = [
        sheet_plan(SHEET_WIDE, GAP, placed, "strip").used_length_mm
        for placed in strip_layouts(pieces, SHEET_WIDE, GAP, 2.0, never)
    ]
    assert lengths
    assert all(b < a for a, b in itertools.pairwise(lengths))


def test_a_worker_that_cannot_start_is_told(monkeypatch):
    monkeypatch.setattr(strip_workers.sys, "executable", "/nowhere/python")
    with pytest.raises(SolverFailed, match="did not start"):
        list(strip_layouts(items([box(0, 0, 80, 50)] * 2), SHEET, GAP, 5.0, never))


@pytest.fixture
def started(monkeypatch):
    """Every worker that is started, as it is started."""
    found = []
    start = strip_workers._start_worker

    def start_and_note(*args):
        found.append(start(*args))
        return found[-1]

    monkeypatch.setattr(strip_workers, "_start_worker", start_and_note)
    return found


class TestWorker:
    """The worker itself, spoken to over its pipes."""

    def request(self, ring, height=100.0):
        item = ["0", ring, [0.0]]
        return {
            "height": height,
            "gap": 0.0,
            "seconds": 2,
            "threads": None,
            "seed": 1,
            "items": [item],
        }

    def run(self, request, *, is_open=True):
        with subprocess.Popen(
            [sys.executable, "-P", str(WORKER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        ) as process:
            assert process.stdin is not None
            assert process.stdout is not None
            process.stdin.write(json.dumps(request) + "\n")
            process.stdin.flush()
            if not is_open:
                process.stdin.close()
            answers = [json.loads(line) for line in process.stdout]
        return process.returncode, answers

    def test_answers_with_layouts_and_ends(self):
        code, answers = self.run(self.request([[0, 0], [60, 0], [60, 50], [0, 50]]))
        assert code == 0
        assert answers[-1] == {"done": True}
        assert answers[-2]["width"] == pytest.approx(60.0, abs=0.1)

    def test_a_panic_is_an_error_and_no_silence(self):
        code, answers = self.run(self.request([[0, 0], [60, 50], [60, 0], [0, 50]]))
        assert code == 1
        assert "error" in answers[-1]

    def test_ends_with_its_parent(self):
        code, answers = self.run(self.request([[0, 0], [60, 0], [60, 50]]), is_open=False)
        assert code == 3
        assert {"done": True} not in answers

"""Straight cuts, judged by cutting: the parts are made anew with shapely's own split."""

import random
from collections.abc import Sequence

import pytest
import shapely
from shapely import LineString, Polygon, box
from shapely.ops import split

from core.roll.cut_sequence import KEEP_MM, SLACK_MM, CutSequence, Knife, cut_sequence
from core.roll.model import Item, Placement, Sheet, SheetPlan

ROLL = Sheet(id="r1", kind="roll", width_mm=1520.0, length_mm=5000.0, margin_mm=10.0)


def sheet_of(
    rectangles: Sequence[tuple[float, float, float, float]], sheet=ROLL, retakes=()
) -> SheetPlan:
    """A sheet with blanks; those numbered in ``retakes`` are second tries."""
    placements = tuple(
        Placement(
            Item(f"p{i}", 2 if i in retakes else 1, "p1", f"Blank {i}", box(*r), None),
            angle_deg=0,
            dx_mm=0,
            dy_mm=0,
        )
        for i, r in enumerate(rectangles, 1)
    )
    used = max((r[2] for r in rectangles), default=0.0) + 10.0
    return SheetPlan(sheet, 5.0, placements, used, "quick")


def parts_after(plan: SheetPlan, sequence: CutSequence) -> list[Polygon]:
    """Cut the film as a person does: each cut parts just the parts that it crosses wholly."""
    length = plan.sheet.length_mm or plan.used_length_mm
    parts: list[Polygon] = [box(0, 0, length, plan.sheet.width_mm)]
    for cut in sequence.cuts:
        line = LineString([cut.start, cut.end])
        (hit,) = (p for p in parts if p.buffer(1e-6).contains(line) and not p.touches(line))
        assert line.length == pytest.approx(shapely.intersection(line, hit).length)
        parts.remove(hit)
        parts += list(split(hit, line).geoms)
        x0, y0, _, _ = hit.bounds
        edge = x0 if cut.knife is Knife.CROSS_CUT else y0
        at = cut.start[0] if cut.knife is Knife.CROSS_CUT else cut.start[1]
        assert cut.at_mm == pytest.approx(at - edge), "measured on the part in hand"
    return parts


def test_one_slab_after_the_other_is_cross_cut_and_then_slit():
    plan = sheet_of([(10, 10, 950, 620), (10, 625, 950, 1200), (955, 10, 1500, 900)])
    sequence = cut_sequence(plan)
    assert sequence.stuck == ()
    told = [(c.knife, c.part, c.at_mm, c.frees) for c in sequence.cuts]
    assert told == [
        (Knife.CROSS_CUT, "", 952.0, ()),
        (Knife.SLIT, "1", 622.0, ("Blank 1",)),
        (Knife.SLIT, "1", 581.0, ("Blank 2",)),
        (Knife.CROSS_CUT, "", 551.0, ()),
        (Knife.SLIT, "2", 903.0, ("Blank 3",)),
    ]


def test_the_roll_is_cut_off_before_it_is_slit():
    sequence = cut_sequence(sheet_of([(10, 10, 400, 700), (10, 705, 400, 1510)]))
    assert [c.knife for c in sequence.cuts] == [Knife.CROSS_CUT, Knife.SLIT]
    assert sequence.cuts[0].end == (403.0, 1520.0)


def test_a_pinwheel_cannot_be_cut_edge_to_edge():
    turned = [(0, 0, 600, 300), (605, 0, 900, 600), (305, 605, 900, 900), (0, 305, 300, 900)]
    sequence = cut_sequence(sheet_of([*turned, (1000, 0, 1400, 400)]))
    assert [sorted(b.label for b in group) for group in sequence.stuck] == [
        [f"Blank {i}" for i in range(1, 5)]
    ]
    assert {label for cut in sequence.cuts for label in cut.frees} == {"Blank 5"}


def test_rectangles_that_touch_are_parted_on_their_common_edge():
    sequence = cut_sequence(sheet_of([(0, 0, 500, 1520), (500, 0, 900, 1520)]))
    assert [c.start[0] for c in sequence.cuts] == [500.0, 903.0]


def test_an_offcut_that_is_all_blank_needs_no_cut_and_an_empty_sheet_none():
    offcut = Sheet(id="k1", kind="offcut", width_mm=500.0, length_mm=700.0, margin_mm=0.0)
    assert cut_sequence(sheet_of([(0, 0, 700, 500)], offcut)).cuts == ()
    assert cut_sequence(sheet_of([])) == CutSequence((), (), (), ())


def test_the_job_is_cut_free_before_any_cut_is_made_for_retakes():
    """Slabs of job, retakes, both: then retakes alone at the end."""
    job = [(10, 10, 500, 700), (10, 705, 500, 1500)]
    retakes = [(505, 10, 1000, 700), (505, 705, 1000, 1500)]
    both = [(1005, 10, 1500, 500), (1005, 505, 1200, 1500), (1205, 505, 1500, 1500)]
    last = [(1505, 10, 1800, 1500), (1805, 10, 2100, 1500)]
    plan = sheet_of([*job, *retakes, *both, *last], retakes={3, 4, 6, 7, 8, 9})
    sequence = cut_sequence(plan)
    told = [(c.knife.value, c.part, c.frees) for c in sequence.cuts if not c.is_for_retakes]
    assert told == [
        ("cross-cut", "", ()),
        ("slit", "1", ("Blank 1",)),
        ("slit", "1", ("Blank 2",)),
        ("cross-cut", "", ()),
        ("cross-cut", "", ()),
        ("slit", "3", ("Blank 5",)),
    ]
    behind = [c for c in sequence.cuts if c.is_for_retakes]
    assert [c.number for c in behind] == list(range(7, len(sequence.cuts) + 1))
    freed = {label for c in behind for label in c.frees}
    assert freed == {f"Blank {i}, retake 1" for i in (3, 4, 6, 7, 8, 9)}
    parts_after(plan, sequence)


def guillotined(rng: random.Random, area, depth=0) -> list[tuple[float, float, float, float]]:
    """A layout that is known to come apart by straight cuts, as it was made by them."""
    x0, y0, x1, y1 = area
    axis = depth % 2
    low, high = area[axis], area[axis + 2]
    if depth > 4 or high - low < 150 or (depth > 1 and rng.random() < 0.3):
        inset = rng.uniform(2.5, 40)
        return [(x0 + inset, y0 + inset, x1 - inset, y1 - rng.uniform(2.5, 40))]
    at = rng.uniform(low + 70, high - 70)
    near, far = [x0, y0, x1, y1], [x0, y0, x1, y1]
    near[axis + 2], far[axis] = at, at
    return guillotined(rng, near, depth + 1) + guillotined(rng, far, depth + 1)


@pytest.mark.parametrize("seed", range(30))
def test_what_was_made_by_straight_cuts_comes_apart_by_straight_cuts(seed):
    plan = sheet_of(guillotined(random.Random(seed), (0.0, 0.0, 3000.0, 1520.0)))
    sequence = cut_sequence(plan)
    assert sequence.stuck == ()
    parts = parts_after(plan, sequence)
    freed = [label for cut in sequence.cuts for label in cut.frees]
    assert sorted(freed) == sorted(b.label for b in sequence.blanks), "each is freed once"
    for blank in sequence.blanks:
        own = box(*blank.rectangle)
        (part,) = (p for p in parts if p.intersection(own).area > 1e-6)
        assert part.buffer(1e-6).contains(own), "no cut runs through a blank"
        assert part.bounds[2] - own.bounds[2] <= KEEP_MM + SLACK_MM
        assert own.bounds[1] - part.bounds[1] <= KEEP_MM + SLACK_MM

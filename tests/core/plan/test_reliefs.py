"""Relief cuts in the pieces of a plan: where they run, what they change, what is refused."""

import dataclasses

import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from msgspec.structs import replace
from shapely import LineString, Polygon

from core.document.edits.lines import set_lap
from core.document.edits.surfaces import set_surface
from core.document.panel import Trim
from core.errors import EditRefused, ExportFailed
from core.plan.lookup import drawn_plans
from core.plan.model import Severity
from core.plan.plan import plan_job
from core.plan.relief_words import find_relief, opening_words, relief_sentence
from core.plan.seam_proposals import adopt, question_for
from core.plan.shape_check import shape_report
from core.progress import Silent
from core.roll.rolls import roll_plan
from core.shape.model import Window
from core.shape.proposals.proposing import _Search, propose
from core.units import Units
from core.write.outputs import planned_outputs
from helpers.jobs import hole, job_with, rect_panel, relief, scheme, seam, spot
from helpers.taped import BALL, SADDLE, Part

DEEP = Part(lambda _s, _t: 1 / 330**2)


def planned(*things, surface=None, **kw):
    panel = rect_panel("p1", 600, 600, **{"edge_turn_mm": 10.0, **kw})
    job = job_with([panel], [scheme("p1", *things)])
    if surface is not None:
        job = set_surface(job, "p1", replace(surface.grid(), origin=(0.0, 300.0)))
    return plan_job(job)


def pieces_of(*things, **kw):
    return planned(*things, **kw).panels[0].pieces


def assert_runs(path, points):
    """It runs along these points, and in this direction."""
    wanted = LineString(list(points))
    assert shapely.hausdorff_distance(path, wanted) < 1e-6
    assert path.coords[-1] == pytest.approx(wanted.coords[-1])


HALVES = (seam("s1", [(0, 300), (600, 300)]), spot("c1", 300, 100))


def test_a_cut_runs_through_edge_turn_and_lap_to_the_edge_of_its_piece():
    # In film on top it ends at the seam, in film beneath at the end of its lap of 8 mm.
    upper, lower = pieces_of(
        *HALVES,
        relief("e1", [(200, 300), (200, 500)]),
        relief("e2", [(400, 0), (400, 120)]),
        relief("e3", [(300, 300), (300, 150)]),
    )
    (down,) = upper.relief_cuts
    assert_runs(down.path, [(200, 292), (200, 500)])
    (from_rim, from_seam) = lower.relief_cuts
    assert from_rim.path.coords[0] == pytest.approx((400, -10))
    assert from_seam.path.coords[0] == pytest.approx((300, 300))
    assert (down.start, from_rim.start, from_seam.start) == (
        "Seam 1",
        "the lower rim",
        "Seam 1",
    )
    assert [c.seen_mm for c in lower.relief_cuts] == pytest.approx([120, 150])


def test_which_way_it_was_drawn_does_not_matter():
    there, back = (
        pieces_of(relief("e1", points))[0].relief_cuts[0]
        for points in ([(0, 300), (90, 310)], [(90, 310), (0, 300)])
    )
    assert_runs(there.path, back.path.coords)


@pytest.mark.parametrize(
    ("check", "points"),
    [
        ("S210", [(100, 100), (200, 100)]),
        ("S211", [(0, 100), (600, 100)]),
        ("S211", [(0, 100), (606, 100)]),
        ("S211", [(300, 0), (300, -8), (320, -8), (320, 60), (100, 60), (100, -60)]),
        ("S211", [(300, 0), (300, 300)]),
        ("S212", [(300, 0), (300, 310)]),
        ("S212", [(200, 0), (402, 60)]),
        ("S213", [(0, 100), (4, 100)]),
        ("S213", [(900, 100), (950, 100)]),
        ("S214", [(0, 100), (90, 100), (60, 130), (60, 70)]),
    ],
)
def test_a_cut_that_cannot_be_made_is_told_and_left_out(check, points):
    sound = relief("e1", [(400, 0), (400, 100)])
    plan = planned(*HALVES, sound, relief("e2", points))
    told = [f for f in plan.findings if f.severity is Severity.WARNING]
    assert [(f.check, f.lines) for f in told] == [(check, ("e2",))]
    kept = [c.line for p in plan.pieces for c in p.relief_cuts]
    assert kept == ["e1"]


def test_the_inner_end_keeps_clear_of_openings_and_may_start_at_one():
    (piece,) = pieces_of(relief("e1", [(340, 300), (450, 300)]), openings=_openings())
    assert piece.relief_cuts[0].start == "Opening 1"
    plan = planned(relief("e1", [(0, 300), (258, 300)]), openings=_openings())
    assert [f.check for f in plan.findings] == ["S211"]


def _openings():
    return (hole("o1", 300, 300, 40),)


def test_on_a_flat_panel_it_is_a_line_in_the_piece_with_a_hole_at_its_end():
    (plain,), (piece,) = pieces_of(), pieces_of(relief("e1", [(0, 300), (90, 300)]))
    assert piece.final.equals(plain.final)
    assert piece.flat.equals(plain.flat)
    (ring,) = piece.cut.interiors
    assert Polygon(ring).area == pytest.approx(np.pi * 1.5**2, rel=0.01)
    (line,) = piece.inner_cuts
    assert line.length == pytest.approx(100 - 1.5, abs=0.02)
    assert piece.cut_but_reliefs.equals(plain.cut)
    (bare,) = pieces_of(relief("e1", [(0, 300), (90, 300)], hole_mm=0.0))
    assert bare.cut.equals(plain.cut)
    assert bare.inner_cuts[0].length == pytest.approx(100)


def test_a_blank_is_cut_by_hand_and_says_so():
    plan = planned(relief("e1", [(0, 300), (90, 300)]), trim=Trim.ON_PART)
    (piece,) = plan.pieces
    assert not piece.inner_cuts
    assert piece.cut.area == pytest.approx(piece.cut.envelope.area)
    (told,) = plan.findings
    assert told.check == "S215"
    assert "never with a blade over paint" in told.text


def test_on_a_curved_panel_it_opens_and_the_range_falls():
    cuts = [relief(f"e{i}", p) for i, p in enumerate(_corners(150), 1)]
    (whole,), (piece,) = pieces_of(surface=DEEP), pieces_of(*cuts, surface=DEEP)
    assert piece.final.equals(whole.final)
    assert all(r.notch is not None and r.opening_mm > 20 for r in piece.reliefs)
    assert not piece.inner_cuts
    assert piece.cut.is_valid
    assert not piece.cut.interiors
    notches = shapely.union_all([r.notch for r in piece.reliefs])
    assert piece.cut.intersection(notches).area < 1e-6
    # The film covers the same surface, strained less: to first order its area stays.
    assert piece.flat.area == pytest.approx(whole.flat.area, rel=0.02)
    assert piece.development.range_pct < 0.75 * whole.development.range_pct


def _corners(reach):
    ends = [(0, 0, 1, 1), (600, 0, -1, 1), (600, 600, -1, -1), (0, 600, 1, -1)]
    return [[(x, y), (x + reach * i, y + reach * j)] for x, y, i, j in ends]


def test_where_the_film_is_stretched_it_closes_and_stops_the_job():
    plan = planned(relief("e1", [(300, 0), (300, 200)]), surface=SADDLE)
    (told,) = [f for f in shape_report(plan).findings if f.check.startswith("L70")]
    assert (told.check, told.severity, told.lines) == ("L707", Severity.STOP, ("e1",))
    assert "overlie itself" in told.text
    assert "cannot be laid flat" in opening_words(plan.pieces[0], "e1", Units.MM)
    with pytest.raises(ExportFailed, match="overlie itself"):
        planned_outputs(plan, roll_plan(plan).rolls)


def test_the_right_one_of_a_pair_has_them_mirrored():
    plan = planned(relief("e1", [(0, 300), (90, 320)]), is_pair=True, surface=BALL)
    left, right = plan.pieces
    mirrored = [(-x, y) for x, y in left.relief_cuts[0].path.coords]
    assert_runs(right.relief_cuts[0].path, mirrored)
    assert (left.relief_cuts[0].start, right.relief_cuts[0].start) == (
        "the left rim",
        "the right rim",
    )
    assert right.reliefs[0].opening_mm == pytest.approx(left.reliefs[0].opening_mm)
    assert right.cut.area == pytest.approx(left.cut.area)


def test_cuts_that_an_edit_does_not_touch_stay_the_very_same():
    plan = planned(
        *HALVES, relief("e1", [(300, 600), (300, 500)]), relief("e2", [(9, 0), (9, 90)])
    )
    fresh = plan_job(set_lap(plan.job, "v1", "s1", 20.0))
    before, after = (
        {c.line: c for p in one.pieces for c in p.relief_cuts} for one in (plan, fresh)
    )
    assert after["e2"] is before["e2"]  # it is in the film on top, which has no lap


def test_it_is_told_in_plain_words():
    plan = planned(relief("e1", [(600, 300), (480, 300)]), flow_deg=0.0, surface=BALL)
    piece, cut = find_relief(plan, "e1")
    assert relief_sentence(cut, Units.MM) == (
        "Relief cut 1: 120 mm in from the rear rim; the sides meet when the film is laid"
    )
    assert opening_words(piece, "e1", Units.MM) == ""  # nobody has asked for the film yet
    assert piece.development is not None
    assert opening_words(piece, "e1", Units.MM).startswith("In the flat film it opens ")
    assert find_relief(plan, "e2") is None


ends = st.tuples(st.floats(-20, 620), st.floats(-20, 620))


@given(st.lists(st.tuples(ends, ends), min_size=1, max_size=3))
@settings(max_examples=40, deadline=None)
def test_whatever_is_drawn_no_final_shape_changes(drawn):
    cuts = [relief(f"e{i}", pair) for i, pair in enumerate(drawn, 1) if pair[0] != pair[1]]
    plain, pieces = pieces_of(*HALVES), pieces_of(*HALVES, *cuts)
    for piece, bare in zip(pieces, plain, strict=True):
        assert piece.final.equals(bare.final)
        holes = sum(r.hole.area for r in piece.reliefs)
        assert piece.cut.area == pytest.approx(bare.cut.area - holes, abs=1e-3)
        assert piece.cut.is_valid
        for cut in piece.relief_cuts:
            assert piece.final.covers(cut.path.buffer(-1e-6).union(cut.path))
            assert piece.final.boundary.distance(shapely.Point(cut.path.coords[0])) < 1e-6


def test_what_was_proposed_is_what_is_judged_once_it_is_drawn():
    # The proposal is judged on the outline, the piece with its edge turn: here 0. What differs
    # is the triangles alone, so 3 % of the range is allowed.
    plan = planned(surface=DEEP, edge_turn_mm=0.0)
    question = dataclasses.replace(question_for(plan, "p1"), window=Window(4, 6))
    (wanted,) = _Search(question, Silent()).reliefs()
    fresh = adopt(plan.job, "v1", drawn_plans(plan)["p1"], wanted, "f2")
    assert len(fresh.scheme("v1", "p1").reliefs) == len(wanted.lines)
    again = plan_job(fresh)
    assert {f.check for f in again.findings} == {"S215"}
    (shape,) = shape_report(again).pieces
    assert shape.range_pct == pytest.approx(wanted.worst_range_pct, rel=0.03)
    question = dataclasses.replace(question_for(again, "p1"), window=Window(4, 6))
    assert not propose(question).needs_seam  # what is cut already is reckoned with
    with pytest.raises(EditRefused, match="already"):
        adopt(fresh, "v1", drawn_plans(again)["p1"], wanted, "f2")

from dataclasses import replace

import pytest
from msgspec.structs import replace as changed
from shapely import MultiLineString

from core.document.panel import Mark, MarkKind
from core.plan.model import TapeRun
from core.plan.preparation import preparation_of, usual_tasks
from core.plan.tape_plan import tape_plan
from helpers.plans import hand_job, hand_plan


def test_each_run_has_a_tail_at_both_ends_on_every_copy():
    plan = hand_plan()
    job = changed(plan.job, settings=changed(plan.job.settings, tape_tail_mm=80.0))
    tape = tape_plan(replace(plan, job=job))
    assert [(r.panel, r.number, r.before) for r in tape.runs] == [("p1L", 1, 2), ("p1R", 1, 2)]
    assert [r.total_mm for r in tape.runs] == [520.0 + 160.0] * 2
    assert tape.total_mm == 1360.0


def test_a_run_that_an_opening_parts_has_tails_at_each_part():
    plan = hand_plan()
    panel = plan.panels[0]
    path = MultiLineString([[(350, -10), (350, 150)], [(350, 250), (350, 410)]])
    run = TapeRun("s1", "s1", panel.pieces[1].id, path, path.length)
    (told,) = tape_plan(replace(plan, panels=(replace(panel, tape_runs=(run,)),))).runs
    assert (told.parts, told.tails_mm, told.total_mm) == (2, 400.0, 720.0)


def test_parts_that_meet_are_one_length():
    plan = hand_plan()
    panel = plan.panels[0]
    path = MultiLineString([[(350, -10), (350, 150)], [(350, 150), (350, 410)]])
    run = TapeRun("s1", "s1", panel.pieces[1].id, path, path.length)
    (told,) = tape_plan(replace(plan, panels=(replace(panel, tape_runs=(run,)),))).runs
    assert told.parts == 1


def test_runs_are_numbered_in_the_order_in_which_their_pieces_are_laid():
    plan = hand_plan()
    panel = plan.panels[0]
    first, second = panel.pieces
    runs = tuple(
        TapeRun(f"s{i}", "s1", p.id, panel.tape_runs[0].path, 100.0)
        for i, p in ((1, second), (2, first))
    )
    told = tape_plan(replace(plan, panels=(replace(panel, tape_runs=runs),))).runs
    assert [(r.number, r.stretch, r.before) for r in told] == [(1, "s2", 1), (2, "s1", 2)]


@pytest.mark.parametrize(
    ("kind", "word"), [(MarkKind.DAMAGE, "fill"), (MarkKind.BADGE, "badges")]
)
def test_usual_tasks_go_by_what_is_marked(kind, word):
    panel = changed(hand_job().panels[0], marks=())
    marked = changed(panel, marks=(Mark(id="m1", kind=kind, path=((50.0, 50.0),)),))
    assert not any(word in task for task in usual_tasks(panel))
    assert any(word in task for task in usual_tasks(marked))


def test_a_panel_s_own_tasks_stand_in_for_the_usual_ones():
    panel = hand_job().panels[0]
    assert preparation_of(panel) == usual_tasks(panel)
    assert preparation_of(changed(panel, preparation=("Wash",))) == ("Wash",)
    assert preparation_of(changed(panel, preparation=())) == ()

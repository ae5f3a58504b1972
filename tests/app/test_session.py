from pathlib import Path

import pytest

from app.planner import RollKeeper
from app.selection import NOTHING, Selection
from app.session import Session
from core.document.edits.lines import (
    add_line,
    delete_lines,
    find_line,
    move_line,
    set_line_nodes,
)
from core.document.edits.settings import rename_job
from core.document.edits.variants import add_variant
from core.document.file import load_job
from core.errors import InputError, NotAJob
from core.ids import NodeId, PanelId
from core.roll.model import RollPlan
from core.roll.rolls import RollReport
from helpers.jobs import seam, two_tone_job


@pytest.fixture
def session(qapp, small_job) -> Session:
    session = Session()
    session.do("Start", small_job)
    return session


def test_a_step_can_be_undone_and_done_again(session, small_job):
    moved = move_line(small_job, "v1", "s1", 10, 0)
    session.do("Move seam", moved)
    assert session.undo_text == "Move seam"
    assert session.job is moved
    session.undo()
    assert session.job is small_job
    assert session.redo_text == "Move seam"
    session.redo()
    assert session.job is moved


def test_a_preview_is_shown_and_planned_but_leaves_no_trace(session, small_job):
    plan = session.plan
    session.preview(move_line(small_job, "v1", "s1", 10, 0))
    assert session.job is not small_job
    assert session.plan is not plan
    assert session.committed_job is small_job
    session.drop_preview()
    assert session.job is small_job
    assert session.undo_text == "Start"


def test_a_selected_node_goes_with_its_deletion_and_with_its_line(session, small_job):
    bent = add_line(small_job, "v1", "p1", seam("s2", [(100, 0), (120, 150), (100, 300)]))
    session.do("Draw", bent)
    chosen = Selection("node", ("s2",), PanelId("p1"), NodeId("n2"))
    session.select(chosen)
    session.do("Move", move_line(session.job, "v1", "s2", 5, 0))
    assert session.selection == chosen
    path = find_line(session.job, "v1", "s2")[1].nodes
    session.do("Delete", set_line_nodes(session.job, "v1", "s2", (path[0], path[2])))
    assert session.selection == NOTHING
    session.undo()
    session.select(chosen)
    session.do("Delete", delete_lines(session.job, "v1", ["s2"]))
    assert session.selection == NOTHING


def test_what_is_selected_goes_with_what_is_deleted(session, small_job):
    session.select(Selection("line", ("s1", "t1"), "p1"))
    session.do("Delete", delete_lines(small_job, "v1", ["s1"]))
    assert session.selection.ids == ("t1",)
    session.undo()
    session.select(Selection("line", ("s1",), "p1"))
    session.do("Delete", delete_lines(small_job, "v1", ["s1"]))
    assert session.selection == NOTHING


def test_dirty_follows_the_saved_job_by_identity(session, small_job, tmp_path):
    path = tmp_path / "a.lapline"
    session.save(path)
    assert not session.is_dirty
    session.do("Rename", rename_job(small_job, "Other"))
    assert session.is_dirty
    session.undo()
    assert not session.is_dirty
    assert load_job(path).job == small_job


def test_saving_without_a_path_is_refused(session):
    with pytest.raises(InputError, match="no file yet"):
        session.save()


def test_a_file_that_is_no_job_leaves_the_open_one(session, small_job, tmp_path):
    bad = tmp_path / "bad.lapline"
    bad.write_text("nothing")
    with pytest.raises(NotAJob):
        session.open(bad)
    assert session.job is small_job


def test_showing_a_variant_is_no_step_and_undoing_it_away_shows_the_first(session, small_job):
    session.do("Add variant", add_variant(small_job, "Other", like=None))
    session.set_variant("v2")
    assert session.plan.variant.id == "v2"
    assert session.undo_text == "Add variant"
    session.undo()
    assert session.variant == "v1"


def test_only_the_newest_plan_gets_rolls(qtbot, qapp):
    laid = []

    def lay_out(plan):
        laid.append(plan)
        return RollReport(RollPlan(()), ())

    keeper = RollKeeper(None, lay_out)
    first, last = object(), object()
    with qtbot.waitSignal(keeper.found):
        keeper.want(first)
        keeper.want(last)
    assert laid == [last]
    assert not keeper.is_busy


def test_a_job_that_cannot_be_planned_changes_nothing(session, small_job, monkeypatch):
    def refuse(_job, _variant, _scans):
        raise InputError("no")

    monkeypatch.setattr("app.session.plan_job", refuse)
    other = add_line(small_job, "v1", "p2", seam("s9", [(0, 10), (200, 10)]))
    with pytest.raises(InputError):
        session.do("Add", other)
    assert session.job is small_job
    assert session.undo_text == "Start"


def test_colours_stay_with_their_regions_when_a_line_is_dragged_over_their_spots(session):
    job = two_tone_job()
    session.do("Open", job)
    films = {r.id: r.film for r in session.plan.panels[0].regions}
    assert len(set(films.values())) == 2
    spots = [s.at for s in job.scheme("v1", "p1").spots]
    for dx in (-120, 120):
        moved = move_line(job, "v1", "s1", dx, 0)
        session.preview(moved)
        assert {r.id: r.film for r in session.plan.panels[0].regions} == films
        session.do("Move seam", moved)
        assert {r.id: r.film for r in session.plan.panels[0].regions} == films
        session.undo()
    assert [s.at for s in session.job.scheme("v1", "p1").spots] == spots


def test_a_path_holds_wherever_the_next_run_starts(session, job_path, monkeypatch, tmp_path):
    monkeypatch.chdir(job_path.parent)
    session.open(Path(job_path.name))
    assert session.path == job_path
    session.save(Path("other.lapline"))
    assert session.path == tmp_path / "other.lapline"

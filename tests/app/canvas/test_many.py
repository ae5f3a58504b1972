"""The band, several things at once, stripes over several panels: real events and undo."""

import math

import pytest
from PySide6.QtCore import Qt

from app.selection import Selection
from core.document.edits.locks import set_hidden, set_locked
from core.document.edits.runs import find_run
from helpers.mouse import ALT, SHIFT

CTRL = Qt.KeyboardModifier.ControlModifier


def run_of(session, line="t2"):
    return find_run(session.job, "v1", line)


def draw_run(view, hand):
    """A stripe from the left rim of p1 to the right rim of p2, 100 mm up, then its width."""
    view.set_tool("stripe")
    hand.click((300, 60), ALT)
    hand.click((897, 60))
    hand.move((800, 75))
    hand.click((800, 75))
    view.set_tool("select")


def test_a_band_on_empty_ground_selects_the_panels_in_it(session, view, hand):
    hand.drag((660, -40), (930, 330))
    assert session.selection == Selection("panel", ("p2",))
    hand.drag((-40, -40), (640, 330), SHIFT)
    assert session.selection.ids == ("p2", "p1")
    hand.click((660, -40))
    assert session.selection.kind == "none"
    assert not view.canvas_scene.band.isVisible()


def test_a_band_with_ctrl_selects_lines_on_a_panel(session, view, hand):
    hand.drag((150, 299), (250, -20), CTRL)
    assert session.selection.kind == "none"
    hand.drag((150, 320), (250, -20), CTRL)
    assert session.selection == Selection("line", ("s1",))


def test_escape_drops_the_band(session, view, hand):
    hand.drag_on((660, -40), (930, 330))
    hand.key(Qt.Key.Key_Escape)
    assert session.selection.kind == "none"
    assert not view.canvas_scene.band.isVisible()
    hand.release((930, 330))


def test_several_lines_move_together(session, view, hand):
    before = session.job
    session.select(Selection("line", ("s1", "t1"), "p1"))
    hand.drag((200, 100), (220, 110))
    scheme = session.job.scheme("v1", "p1")
    assert scheme.seams[0].nodes[0].at[0] == pytest.approx(220, abs=2)
    assert scheme.stripes[0].nodes[0].at[0] == pytest.approx(20, abs=2)
    assert session.undo_text == "Move 2 lines"
    session.undo()
    assert session.job is before


def test_several_lines_move_by_arrow_keys_and_go_together(session, view, hand):
    session.select(Selection("line", ("s1", "t1"), "p1"))
    hand.key(Qt.Key.Key_Up)
    scheme = session.job.scheme("v1", "p1")
    assert scheme.seams[0].nodes[0].at == (200, 1)
    assert scheme.stripes[0].nodes[0].at == (0, 241)
    hand.key(Qt.Key.Key_Delete)
    assert session.job.scheme("v1", "p1").lines == ()


def test_a_stripe_drawn_over_two_panels_is_one_line(session, view, hand):
    before = session.job
    draw_run(view, hand)
    run = run_of(session)
    assert [part.panel for part in run.parts] == ["p1", "p2"]
    assert run.is_in_line
    assert len(run.path) == 2
    assert session.undo_text == "Draw Stripe 2"
    assert session.selection.ids == ("t2",)
    session.undo()
    assert session.job is before


def test_a_stripe_drawn_over_two_panels_is_previewed_on_both(session, view, hand):
    before = session.committed_job
    view.set_tool("stripe")
    hand.click((2, 60))
    hand.move((897, 60))
    assert run_of(session) is not None
    assert session.committed_job is before
    hand.key(Qt.Key.Key_Escape)
    assert session.job is before


def test_the_end_of_a_run_is_dragged_and_the_whole_turns(session, view, hand):
    draw_run(view, hand)
    old = run_of(session).path
    before = session.job
    hand.drag(old[1].at, (900, 120))
    run = run_of(session)
    assert run.path[1].at == pytest.approx((900, 120), abs=4)
    assert run.path[0].at == pytest.approx(old[0].at)
    assert run.is_in_line
    assert len(run.path) == 2
    # What lies on the first panel has turned with it.
    first = run.parts[0].stripe.nodes
    slope = (first[1].at[1] - first[0].at[1]) / (first[1].at[0] - first[0].at[0])
    end = run.path[1].at
    assert slope == pytest.approx((end[1] - 60) / (end[0] - old[0].at[0]), abs=0.01)
    session.undo()
    assert session.job is before


def test_a_node_inserted_in_a_run_bends_it_over_the_gap(session, view, hand):
    draw_run(view, hand)
    hand.double_click((650, 60))
    assert len(run_of(session).path) == 3
    assert session.selection.kind == "node"
    hand.key(Qt.Key.Key_C)
    assert run_of(session).path[1].smooth
    hand.key(Qt.Key.Key_Delete)
    assert len(run_of(session).path) == 2


def test_the_width_at_the_end_of_a_run_tapers_all_of_it(session, view, hand):
    draw_run(view, hand)
    run = run_of(session)
    x, y = run.path[1].at
    half = run.widths[1] / 2
    hand.drag((x, y + half), (x, y + half + 20))
    after = run_of(session)
    assert after.widths[0] == pytest.approx(run.widths[0])
    assert after.widths[1] == pytest.approx(run.widths[1] + 40, abs=5)
    joint = after.parts[0].stripe.end_width_mm
    assert joint == after.parts[1].stripe.start_width_mm
    assert after.widths[0] < joint < after.widths[1]


def test_moving_one_stripe_of_a_run_moves_all(session, view, hand):
    draw_run(view, hand)
    y = run_of(session).path[0].at[1]
    hand.drag((450, 60), (450, 80))
    run = run_of(session)
    assert [n.at[1] - y for n in run.path] == pytest.approx([20, 20], abs=3)
    hand.key(Qt.Key.Key_Delete)
    assert session.job.scheme("v1", "p2").stripes == ()
    assert [t.id for t in session.job.scheme("v1", "p1").stripes] == ["t1"]


def test_panels_moved_apart_let_their_stripes_be_edited_alone(session, view, hand):
    draw_run(view, hand)
    hand.drag((800, 150), (800, 190))
    assert not run_of(session).is_in_line
    here = session.job.scheme("v1", "p1")
    session.select(Selection("line", ("t3",), "p2"))
    hand.drag((800, 99), (800, 110))
    assert session.job.scheme("v1", "p1") == here
    assert session.job.scheme("v1", "p2").stripes[0].nodes[0].at[1] > 65


def test_a_locked_panel_is_selected_but_not_changed(session, view, hand, qtbot):
    session.do("Lock", set_locked(session.job, ["p1"], locked=True))
    locked = session.job
    with qtbot.waitSignal(session.said) as said:
        hand.drag((300, 100), (340, 120))
    assert "locked" in said.args[0]
    assert session.job is locked
    hand.click((200, 100))
    assert session.selection.ids == ("s1",)
    assert view.canvas_scene.grips.grips == ()
    hand.key(Qt.Key.Key_Delete)
    view.set_tool("seam")
    hand.click((0, 100))
    hand.click((200, 100))
    assert session.committed_job is locked


def test_hidden_panels_are_neither_drawn_nor_hit(session, view, hand):
    shown = view.canvas_scene.content_rect()
    session.do("Hide", set_hidden(session.job, ["p2"], hidden=True))
    assert view.canvas_scene.content_rect().width() < shown.width()
    hand.click((800, 150))
    assert session.selection.kind == "none"
    assert view.hidden.isVisible()
    assert view.hidden.text() == "1 panel hidden: show"
    view.hidden.click()
    assert not view.hidden.isVisible()
    hand.click((800, 150))
    assert session.selection.panel == "p2"
    assert math.isclose(view.canvas_scene.content_rect().width(), shown.width())

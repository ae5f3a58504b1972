"""Selecting, moving, flipping, painting and deleting by real mouse and key events."""

import pytest
from PySide6.QtCore import Qt

from app.selection import Selection
from core.document.edits.lines import find_line
from core.document.lines import Side
from helpers.mouse import ALT, SHIFT


def line_of(session, line_id):
    return find_line(session.job, "v1", line_id)[1]


def test_click_selects_line_region_and_rim(session, hand):
    hand.click((200, 100))
    assert session.selection == Selection("line", ("s1",), "p1")
    hand.click((400, 100))
    assert session.selection.kind == "region"
    assert session.plan.panels[0].region(session.selection.ids[0]).film == "f3"
    hand.click((750, 0))
    assert session.selection == Selection("panel", ("p2",), "p2")
    hand.click((650, 150))
    assert session.selection.kind == "none"


def test_hover_is_told_and_shown(session, view, hand):
    hand.move((200, 100))
    assert session.hovered == "s1"
    hand.move((650, 150))
    assert session.hovered is None
    session.hover("t1")
    assert not view.canvas_scene._hover_item.path().isEmpty()


def test_drag_moves_the_panel_and_undo_brings_it_back(session, hand):
    before = session.job
    hand.drag((800, 150), (830, 170))
    x, y = session.job.panel("p2").at
    assert (x, y) == pytest.approx((730, 20), abs=2)
    assert (x, y) == (round(x), round(y))
    assert session.undo_text == "Move Panel p2"
    session.undo()
    assert session.job is before


def test_escape_during_a_drag_leaves_no_trace(session, hand):
    before = session.job
    hand.drag_on((800, 150), (830, 170))
    assert session.job is not before
    hand.key(Qt.Key.Key_Escape)
    assert session.job is before
    hand.release((830, 170))
    assert session.job is before


def test_node_is_dragged_and_snaps_to_the_rim_middle(session, hand):
    session.select(Selection("line", ("s1",), "p1"))
    hand.drag((200, 300), (297, 296))
    assert line_of(session, "s1").nodes[1].at == pytest.approx((300, 300), abs=1e-6)
    assert session.undo_text == "Move a node of Seam 1"
    session.undo()
    assert line_of(session, "s1").nodes[1].at == (200, 300)


def test_node_is_selected_by_a_click_made_smooth_and_bent(session, hand):
    session.select(Selection("line", ("t1",), "p1"))
    hand.double_click((300, 240))
    stripe = line_of(session, "t1")
    assert len(stripe.nodes) == 3
    node = stripe.nodes[1]
    assert session.selection == Selection("node", ("t1",), "p1", node.id)
    hand.key(Qt.Key.Key_C)
    assert line_of(session, "t1").nodes[1].smooth
    handle = line_of(session, "t1").nodes[1].after
    tip = (node.at[0] + handle[0], node.at[1] + handle[1])
    hand.drag(tip, (tip[0], tip[1] - 60), ALT)
    bent = line_of(session, "t1").nodes[1]
    assert bent.after[1] == pytest.approx(handle[1] - 60, abs=3)
    assert bent.before[0] * bent.after[1] == pytest.approx(
        bent.before[1] * bent.after[0], abs=1
    )


def test_outline_node_is_inserted_moved_and_deleted(session, view, hand):
    hand.click((750, 0))
    hand.double_click((800, 0))
    outline = session.job.panel("p2").outline
    assert len(outline) == 5
    hand.drag((800, 0), (800, -15), ALT)
    at = next(n.at for n in session.job.panel("p2").outline if n.id == session.selection.node)
    assert at == pytest.approx((100, -15), abs=2)
    view.delete_selection()
    assert len(session.job.panel("p2").outline) == 4


def test_opening_node_is_moved(session, hand):
    session.select(Selection("panel", ("p1",), "p1"))
    hand.drag((530, 100), (545, 100), ALT)
    nodes = session.job.panel("p1").openings[0].nodes
    assert nodes[0].at == pytest.approx((545, 100), abs=2)


def test_insert_key_splits_the_segment_after_the_node(session, hand):
    session.select(Selection("node", ("s1",), "p1", "n1"))
    hand.key(Qt.Key.Key_Insert)
    assert [n.at for n in line_of(session, "s1").nodes] == [(200, 0), (200, 150), (200, 300)]


def test_selected_line_is_dragged_whole(session, hand):
    session.select(Selection("line", ("s1",), "p1"))
    hand.drag((200, 100), (240, 100))
    assert line_of(session, "s1").nodes[0].at == pytest.approx((240, 0), abs=2)


def test_width_grip_tapers_and_shift_sets_both(session, hand):
    session.select(Selection("line", ("t1",), "p1"))
    hand.drag((600, 260), (600, 270))
    stripe = line_of(session, "t1")
    assert stripe.start_width_mm == 40
    assert stripe.end_width_mm == pytest.approx(60, abs=4)
    hand.drag((0, 260), (0, 250), SHIFT)
    stripe = line_of(session, "t1")
    assert stripe.start_width_mm == stripe.end_width_mm == pytest.approx(20, abs=4)


def test_delete_line_and_undo(session, hand):
    before = session.job
    hand.click((200, 100))
    hand.key(Qt.Key.Key_Delete)
    assert session.job.scheme("v1", "p1").seams == ()
    assert session.selection.kind == "none"
    assert session.undo_text == "Delete Seam 1"
    session.undo()
    assert session.job is before


def test_delete_panel_takes_its_scheme(session, hand):
    hand.click((300, 0))
    hand.key(Qt.Key.Key_Delete)
    assert [p.id for p in session.job.panels] == ["p2"]
    assert session.job.scheme("v1", "p1").lines == ()


def test_x_flips_the_selected_seam_and_back(session, hand):
    def top():
        stretches = session.plan.panels[0].stretches
        return {s.top_side for s in stretches if s.line == "s1" and s.length_mm > 100}

    hand.click((200, 100))
    assert top() == {Side.RIGHT}
    hand.key(Qt.Key.Key_X)
    assert top() == {Side.LEFT}
    hand.key(Qt.Key.Key_X)
    assert top() == {Side.RIGHT}


def test_flip_tool(session, view, hand):
    before = session.job
    view.set_tool("flip")
    hand.click((200, 100))
    assert line_of(session, "s1").rule.on_top is Side.LEFT
    session.undo()
    assert session.job is before


def test_paint_replaces_the_spot_that_was_there(session, view, hand):
    before = session.job
    view.set_film("f2")
    view.set_tool("paint")
    hand.click((400, 150))
    spots = session.job.scheme("v1", "p1").spots
    assert [(s.film, s.at) for s in spots] == [("f2", pytest.approx((400, 150), abs=2))]
    session.undo()
    assert session.job is before


def test_paint_with_the_film_it_has_makes_no_step(session, view, hand):
    before, step = session.job, session.undo_text
    view.set_film("f3")
    view.set_tool("paint")
    hand.click((400, 150))
    assert session.job is before
    assert session.undo_text == step


def test_delete_on_a_region_takes_its_paint_off(session, hand):
    hand.click((400, 150))
    hand.key(Qt.Key.Key_Delete)
    assert session.job.scheme("v1", "p1").spots == ()


def test_arrow_keys_nudge_in_one_step(session, hand):
    before = session.job
    hand.click((750, 0))
    for _ in range(3):
        hand.key(Qt.Key.Key_Right)
    hand.key(Qt.Key.Key_Up)
    assert session.job.panel("p2").at == (703, 1)
    session.undo()
    assert session.job is before


def test_keys_on_a_node_that_undo_has_taken_away_do_nothing(session, hand):
    session.select(Selection("line", ("t1",), "p1"))
    hand.double_click((300, 240))
    session.undo()
    before = session.job
    for key in (Qt.Key.Key_C, Qt.Key.Key_Insert, Qt.Key.Key_Right, Qt.Key.Key_Delete):
        hand.key(key)
    assert session.job is before


def test_the_last_nodes_of_a_seam_cannot_be_deleted_and_it_says_why(session, hand, qtbot):
    before = session.job
    session.select(Selection("node", ("s1",), "p1", "n1"))
    with qtbot.waitSignal(session.said):
        hand.key(Qt.Key.Key_Delete)
    assert session.job is before


def test_shift_click_adds_and_takes_off(session, hand):
    hand.click((200, 100))
    hand.click((100, 260), SHIFT)
    assert session.selection.ids == ("s1", "t1")
    hand.click((200, 100), SHIFT)
    assert session.selection.ids == ("t1",)


def test_selected_panels_move_together_in_one_step(session, hand):
    before = session.job
    session.select(Selection("panel", ("p1", "p2")))
    hand.drag((800, 150), (830, 170))
    (x1, y1), (x2, y2) = (session.job.panel(p).at for p in ("p1", "p2"))
    assert (x2 - 700, y2) == (x1, y1)
    assert x1 == pytest.approx(30, abs=2)
    session.undo()
    assert session.job is before


def test_handles_too_short_to_be_told_from_their_node_show_once_it_is_chosen(
    session, view, hand
):
    session.select(Selection("panel", ("p1",), "p1"))
    view.zoom_by(0.25)
    ring = session.job.panel("p1").openings[0].nodes
    node = max(ring, key=lambda n: n.at[0])
    tip = (node.at[0] + node.after[0], node.at[1] + node.after[1])
    before = session.job
    hand.drag(node.at, (node.at[0] + 40, node.at[1]), ALT)
    moved = session.job.panel("p1").openings[0].nodes
    assert {n.id for n, m in zip(ring, moved, strict=True) if n.at != m.at} == {node.id}
    session.undo()
    assert session.job == before
    view.zoom_by(8)
    assert view.desk.px_mm * 14 < abs(complex(*node.after))
    hand.drag(tip, (tip[0] + 5, tip[1] + 10), ALT)
    assert session.undo_text == "Bend an opening of Panel p1"

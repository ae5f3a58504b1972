"""Drawing by real mouse and key events, each with its undo and its cancel."""

import math

import pytest
from PySide6.QtCore import Qt

from app.selection import Selection
from core.document.lines import Inlay, Seam, Stripe
from helpers.mouse import ALT


def seams(session, panel="p2"):
    return session.job.scheme("v1", panel).seams


def assert_undo(session, before):
    session.undo()
    assert session.job is before
    session.redo()


def test_seam_from_rim_to_rim_is_one_step_and_undone(session, view, hand):
    before = session.job
    view.set_tool("seam")
    hand.click((700, 100))
    hand.click((900, 180))
    (line,) = seams(session)
    assert isinstance(line, Seam)
    # The rim was caught: its x is exact though a pixel is some millimetres wide.
    assert line.nodes[0].at[0] == pytest.approx(0, abs=1e-6)
    assert line.nodes[1].at[0] == pytest.approx(200, abs=1e-6)
    assert len([r for p in session.plan.panels if p.of == "p2" for r in p.regions]) == 2
    assert session.undo_text == "Draw Seam 2"
    assert session.selection.ids == (line.id,)
    assert_undo(session, before)


def test_seam_start_snaps_to_the_middle_of_the_rim_and_says_so(session, view, hand):
    view.set_tool("seam")
    hand.move((704, 153))
    assert view.canvas_scene.catch.words.startswith("middle, rim")
    hand.click((704, 153))
    hand.click((896, 148))
    (line,) = seams(session)
    assert line.nodes[0].at == pytest.approx((0, 150), abs=1e-6)
    assert line.nodes[1].at == pytest.approx((200, 150), abs=1e-6)


def test_alt_suspends_snapping(session, view, hand):
    view.set_tool("seam")
    hand.click((704, 153), ALT)
    hand.move((800, 153), ALT)
    assert not view.canvas_scene.catch.words.startswith("on")
    hand.click((895, 148), ALT)
    hand.key(Qt.Key.Key_Return)
    (line,) = seams(session)
    assert line.nodes[0].at[0] == pytest.approx(4, abs=1.0)
    assert line.nodes[0].at[0] > 2


def test_right_angle_to_the_rim_is_caught(session, view, hand):
    view.set_tool("seam")
    hand.click((700, 80))
    hand.move((800, 84))
    assert "right angle" in view.canvas_scene.catch.words
    hand.click((800, 84))
    hand.key(Qt.Key.Key_Return)
    (line,) = seams(session)
    assert line.nodes[1].at[1] == pytest.approx(line.nodes[0].at[1], abs=1e-6)


def test_drag_while_clicking_makes_a_smooth_node(session, view, hand):
    view.set_tool("seam")
    hand.click((700, 100))
    hand.drag((800, 200), (840, 200))
    hand.click((900, 100))
    (line,) = seams(session)
    middle = line.nodes[1]
    assert middle.smooth
    assert middle.after[0] == pytest.approx(40, abs=2)
    assert middle.before[0] == pytest.approx(-middle.after[0])
    assert not line.nodes[0].smooth
    assert not line.nodes[2].smooth


def test_live_preview_is_planned_while_the_pointer_is_on_the_rim(session, view, hand):
    before = session.committed_job
    view.set_tool("seam")
    hand.click((700, 100))
    hand.move((900, 200))
    assert session.committed_job is before
    assert len(seams(session)) == 1
    hand.move((800, 200))
    assert session.job is before


def test_escape_leaves_no_trace(session, view, hand):
    before, step = session.job, session.undo_text
    view.set_tool("seam")
    hand.click((700, 100))
    hand.click((800, 150))
    hand.move((900, 200))
    hand.key(Qt.Key.Key_Escape)
    assert session.job is before
    assert session.undo_text == step
    assert view.tool == "seam"
    hand.key(Qt.Key.Key_Escape)
    assert view.tool == "select"


def test_undo_meanwhile_drops_the_gesture(session, view, hand):
    view.set_tool("seam")
    hand.click((700, 100))
    hand.click((800, 150))
    session.undo()
    after = session.job
    hand.move((900, 150))
    hand.key(Qt.Key.Key_Return)
    assert session.job is after
    assert view.canvas_scene.draft.boundingRect().isEmpty()


def test_backspace_drops_the_last_point(session, view, hand):
    view.set_tool("seam")
    hand.click((700, 100))
    hand.click((800, 200))
    hand.key(Qt.Key.Key_Backspace)
    hand.click((900, 100))
    (line,) = seams(session)
    assert len(line.nodes) == 2


def test_backspace_on_the_first_point_ends_the_gesture(session, view, hand):
    before = session.job
    view.set_tool("seam")
    hand.click((700, 100))
    hand.key(Qt.Key.Key_Backspace)
    assert session.job is before
    assert view.canvas_scene.draft.boundingRect().isEmpty()


def test_double_click_finishes_inside_the_panel(session, view, hand):
    view.set_tool("seam")
    hand.click((700, 100))
    hand.double_click((800, 160))
    (line,) = seams(session)
    assert len(line.nodes) == 2


def test_seam_ends_on_another_seam(session, view, hand):
    view.set_tool("seam")
    hand.click((0, 100))
    hand.click((200, 100))
    line = seams(session, "p1")[-1]
    assert line.nodes[1].at[0] == pytest.approx(200, abs=1e-6)


def test_typed_length_and_angle_place_a_point(session, view, hand):
    view.set_tool("seam")
    hand.click((704, 153))
    hand.move((780, 170))
    hand.type("20")
    assert view.entry.isVisible()
    hand.type(" cm")
    hand.key(Qt.Key.Key_Tab)
    hand.type("0")
    hand.key(Qt.Key.Key_Return)
    (line,) = seams(session)
    assert line.nodes[1].at == pytest.approx((200, 150), abs=1e-6)
    assert not view.entry.isVisible()


def test_nonsense_typed_is_refused_in_words_and_the_box_stays(session, view, hand, qtbot):
    view.set_tool("seam")
    hand.click((704, 153))
    hand.type("2")
    hand.type("x")
    with qtbot.waitSignal(session.said) as said:
        hand.key(Qt.Key.Key_Return)
    assert said.args[0]
    assert view.entry.isVisible()
    hand.key(Qt.Key.Key_Escape)
    assert not view.entry.isVisible()
    assert view.hint.startswith("Drag")


def test_stripe_takes_its_width_from_the_pointer(session, view, hand):
    before = session.job
    view.set_film("f3")
    view.set_tool("stripe")
    hand.click((704, 153))
    hand.click((896, 148))
    hand.move((800, 180))
    assert len(session.job.scheme("v1", "p2").stripes) == 1
    hand.click((800, 180))
    (line,) = session.job.scheme("v1", "p2").stripes
    assert isinstance(line, Stripe)
    assert line.start_width_mm == line.end_width_mm == pytest.approx(60, abs=4)
    assert line.film == "f3"
    assert_undo(session, before)


def test_stripe_widths_are_typed_and_taper(session, view, hand):
    view.set_tool("stripe")
    hand.click((704, 153))
    hand.click((896, 148))
    hand.move((800, 180))
    hand.type("3")
    hand.type("0")
    hand.key(Qt.Key.Key_Tab)
    hand.type("1,5 cm")
    hand.key(Qt.Key.Key_Return)
    (line,) = session.job.scheme("v1", "p2").stripes
    assert (line.start_width_mm, line.end_width_mm) == (30, 15)


def test_escape_while_widening_leaves_no_trace(session, view, hand):
    before = session.job
    view.set_tool("stripe")
    hand.click((704, 153))
    hand.click((896, 148))
    hand.move((800, 180))
    hand.key(Qt.Key.Key_Escape)
    assert session.job is before


def test_inlay_closes_on_its_first_point(session, view, hand):
    before = session.job
    view.set_film("f2")
    view.set_tool("inlay")
    for at in ((740, 60), (860, 60), (800, 200)):
        hand.click(at)
    hand.click((742, 62))
    (line,) = session.job.scheme("v1", "p2").inlays
    assert isinstance(line, Inlay)
    assert len(line.nodes) == 3
    assert line.film == "f2"
    assert_undo(session, before)


def test_nothing_starts_off_the_panels(session, view, hand, qtbot):
    before = session.job
    view.set_tool("seam")
    with qtbot.waitSignal(session.said):
        hand.click((650, 150))
    hand.click((900, 150))
    hand.key(Qt.Key.Key_Escape)
    assert session.job is before


def test_a_seam_just_drawn_is_flipped_with_the_tool_still_in_hand(session, view, hand):
    view.set_tool("seam")
    hand.click((700, 100))
    hand.click((900, 180))
    hand.key(Qt.Key.Key_X)
    assert view.tool == "seam"
    assert session.undo_text == "Flip Seam 2"


def test_a_relief_cut_is_two_clicks_from_the_rim_and_its_end_can_be_dragged(
    session, view, hand
):
    before = session.job
    view.set_tool("relief")
    hand.click((700, 100))
    hand.move((760, 100))
    assert [c.line for p in session.plan.pieces for c in p.relief_cuts] == ["e1"]  # live
    hand.click((790, 104))
    (cut,) = session.job.scheme("v1", "p2").reliefs
    assert cut.nodes[0].at[0] == pytest.approx(0, abs=1e-6)
    assert session.undo_text == "Draw Relief cut 1"
    assert_undo(session, before)
    view.set_tool("select")
    session.select(Selection("line", ("e1",), "p2"))
    drawn = session.job
    at = cut.nodes[1].at
    hand.drag((700 + at[0], at[1]), (840, 150))
    (dragged,) = session.job.scheme("v1", "p2").reliefs
    assert dragged.nodes[1].at == pytest.approx((140, 150), abs=4)
    assert dragged.nodes[0].at == cut.nodes[0].at
    session.undo()
    assert session.job is drawn


def test_a_relief_cut_starts_on_a_rim_or_a_line_only(session, view, hand):
    said = []
    session.said.connect(said.append)
    view.set_tool("relief")
    hand.click((760, 100))
    hand.click((790, 104))
    assert not session.job.scheme("v1", "p2").reliefs
    assert "starts on the rim" in said[0]


def test_a_length_typed_ends_a_relief_cut(session, view, hand):
    view.set_tool("relief")
    hand.click((700, 100))
    hand.move((740, 100))
    hand.type("80")
    hand.key(Qt.Key.Key_Return)
    (cut,) = session.job.scheme("v1", "p2").reliefs
    assert math.dist(cut.nodes[0].at, cut.nodes[1].at) == pytest.approx(80)

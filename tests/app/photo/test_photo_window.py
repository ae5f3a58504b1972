"""From a photo to a panel by real events; every step can be taken back."""

import math

import numpy as np
import pytest
import shapely
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.photo.window import PhotoWindow
from app.session import new_job
from core.document.flatten import flatten
from core.document.panel import MarkKind
from core.read.photo import Picture
from core.read.photo_scale import Method
from helpers.gui import type_into
from helpers.synthetic_photo import FRAME, ring_of, side_panel

PART, HOLES = side_panel()
# By the four corners, the ground's frame is that of the scene.


def _undo(window):
    QTest.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)


def _redo(window):
    keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    QTest.keyClick(window, Qt.Key.Key_Z, keys)


def _click(button):
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def test_the_board_is_found_at_a_click_and_undone(window, rest):
    _click(window.scale_page.find_board)
    rest()
    draft = window.desk.draft
    assert draft.scale.method is Method.BOARD
    assert len(draft.scale.clutter) == 2
    assert window.scale_page.result.text().startswith("±")
    assert "over 800 mm" in window.scale_page.result.text()
    assert len(window.desk.overlay.sheets) == 2
    assert window.onward.isEnabled()
    _undo(window)
    assert window.desk.draft.scale is None
    assert not window.onward.isEnabled()
    _redo(window)
    assert window.desk.draft.scale is draft.scale


def test_the_window_looks_for_the_board_by_itself(qtbot, qapp, picture):
    window = PhotoWindow(picture, new_job())
    qtbot.addWidget(window)
    with qtbot.waitSignal(
        window.desk.busy_changed, timeout=60_000, check_params_cb=lambda words: words == ""
    ):
        window.show()
    assert window.desk.draft.scale is not None


def test_a_photo_without_board_says_so_in_one_sentence(qtbot, qapp):
    picture = Picture("floor.jpg", np.full((600, 800, 3), 170, np.uint8))
    window = PhotoWindow(picture, new_job())
    qtbot.addWidget(window)
    with qtbot.waitSignal(window.desk.refused, timeout=60_000):
        window.show()
    qtbot.waitUntil(lambda: not window.desk.is_busy)
    assert "No marker board can be seen." in window.scale_page.problem.text()
    assert window.scale_page.problem.isVisible()
    assert not window.onward.isEnabled()


def test_corners_are_dragged_with_a_magnifier_and_give_the_scale(window, hand, shot, rest):
    window.scale_page.method.setCurrentIndex(1)
    truth = [(x, -y) for x, y in shot.px_of(FRAME)]
    for k, place in enumerate(truth):
        x, y = window.desk.draft.corners[k]
        hand.move((x, -y))
        hand.press((x, -y))
        hand.move(place, is_down=True)
        assert window.view.magnifier.isVisible()
        hand.release(place)
        assert not window.view.magnifier.isVisible()
    assert window.desk.history.undo_text == "Move a corner"
    type_into(window.scale_page.across, "920 mm")
    type_into(window.scale_page.upright, "54 cm")
    _click(window.scale_page.use_corners)
    rest()
    scale = window.desk.draft.scale
    assert scale.method is Method.RECTANGLE
    a, b = scale.to_mm(shot.px_of([(-400.0, 0.0), (400.0, 0.0)]))
    assert math.dist(a, b) == pytest.approx(800, abs=1.0)
    before = window.desk.draft.corners
    _undo(window)
    assert window.desk.draft.scale is None
    _undo(window)
    assert window.desk.draft.corners[:3] == before[:3]
    assert window.desk.draft.corners[3] != before[3]


def test_arrow_keys_nudge_a_corner_by_a_pixel_and_by_a_tenth(window, hand):
    window.scale_page.method.setCurrentIndex(1)
    window.view.setFocus()
    x, y = window.desk.draft.corners[0]
    hand.key(Qt.Key.Key_Right)
    hand.key(Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert window.desk.draft.corners[0] == pytest.approx((x + 1, y - 0.1))
    _undo(window)
    assert window.desk.draft.corners[0] == pytest.approx((x + 1, y))


def test_a_drag_that_is_dropped_leaves_no_trace(window, hand):
    window.scale_page.method.setCurrentIndex(1)
    before = window.desk.draft
    x, y = before.corners[0]
    hand.press((x, -y))
    hand.move((x + 90, -y), is_down=True)
    hand.key(Qt.Key.Key_Escape)
    hand.release((x + 90, -y))
    assert window.desk.draft is before
    assert window.desk.overlay.corners[0] == (x, -y)


def test_one_length_gives_the_scale(window, hand, shot, rest):
    window.scale_page.method.setCurrentIndex(2)
    ends = [(x, -y) for x, y in shot.px_of([(-460.0, -270.0), (460.0, -270.0)])]
    for k, place in enumerate(ends):
        x, y = window.desk.draft.ends[k]
        hand.drag((x, -y), place)
    type_into(window.scale_page.length, "920")
    _click(window.scale_page.use_length)
    rest()
    scale = window.desk.draft.scale
    a, b = scale.to_mm(shot.px_of([(-460.0, -270.0), (460.0, -270.0)]))
    assert math.dist(a, b) == pytest.approx(920, abs=1.5)
    assert "squarely" in window.scale_page.notes.text()


def test_a_size_that_is_none_is_told_beside_the_field(window):
    window.scale_page.method.setCurrentIndex(1)
    type_into(window.scale_page.across, "wide")
    _click(window.scale_page.use_corners)
    assert window.scale_page.problem.isVisible()
    assert window.desk.draft.scale is None


def test_the_outline_is_found_in_a_dragged_rectangle_and_undone(traced_window, hand, rest):
    window = traced_window
    assert window.desk.tool == "find"
    hand.drag((-430.0, 240.0), (430.0, -240.0))
    rest()
    tracing = window.desk.tracing
    off = shapely.distance(
        shapely.LinearRing(ring_of(PART)),
        shapely.points(flatten(tracing.outline, closed=True)),
    )
    assert np.percentile(off, 95) <= 1.0
    assert len(tracing.openings) == 2
    assert window.desk.tool == "edit"
    assert "2 openings" in window.trace_page.found.text()
    _undo(window)
    assert not window.desk.tracing.outline
    _redo(window)
    assert window.desk.tracing == tracing


def test_an_outline_is_drawn_node_by_node(traced_window, hand):
    window = traced_window
    _click(window.trace_page.tools["outline"])
    window.trace_page.catch.setChecked(False)
    for place in ((-300.0, -150.0), (300.0, -150.0), (300.0, 150.0)):
        hand.click(place)
    hand.drag((-200.0, 150.0), (-300.0, 150.0))
    hand.click((-300.0, -150.0))
    outline = window.desk.tracing.outline
    assert [n.smooth for n in outline] == [False, False, False, True]
    assert outline[1].at == pytest.approx((300.0, -150.0), abs=1.0)
    _undo(window)
    assert window.desk.tracing.outline == ()


def test_nodes_catch_strong_edges_only_on_request(traced_window, hand):
    window = traced_window
    _click(window.trace_page.tools["outline"])
    hand.click((-395.0, 0.0))
    assert window.desk.overlay.draft[0].at[0] == pytest.approx(-400.0, abs=0.8)
    hand.key(Qt.Key.Key_Escape)
    window.trace_page.catch.setChecked(False)
    hand.click((-395.0, 0.0))
    assert window.desk.overlay.draft[0].at[0] == pytest.approx(-395.0, abs=0.8)


def test_backspace_takes_back_a_node_and_enter_needs_three(traced_window, hand):
    window = traced_window
    _click(window.trace_page.tools["opening"])
    window.trace_page.catch.setChecked(False)
    window.view.setFocus()
    hand.click((0.0, 0.0))
    hand.click((50.0, 0.0))
    hand.key(Qt.Key.Key_Return)
    assert "three nodes" in window.trace_page.problem.text()
    hand.click((50.0, 40.0))
    hand.key(Qt.Key.Key_Backspace)
    assert len(window.desk.overlay.draft) == 2
    hand.click((20.0, 40.0))
    hand.key(Qt.Key.Key_Return)
    assert len(window.desk.tracing.openings[0]) == 3


def test_a_round_opening_is_drawn_from_its_middle(traced_window, hand):
    window = traced_window
    _click(window.trace_page.tools["round"])
    hand.drag((250.0, -60.0), (293.0, -60.0))
    (opening,) = window.desk.tracing.openings
    radius = math.dist(opening[0].at, (250.0, -60.0))
    assert radius == pytest.approx(45.0, abs=1.0), "its rim was caught"
    _undo(window)
    assert window.desk.tracing.openings == ()


def test_marks_are_placed_moved_and_deleted(traced_window, hand):
    window = traced_window
    _click(window.trace_page.tools["mark"])
    window.trace_page.kind.setCurrentIndex(1)
    hand.click((100.0, 50.0))
    (mark,) = window.desk.tracing.marks
    assert mark.kind is MarkKind.RECESS
    assert mark.path[0] == pytest.approx((100.0, 50.0), abs=1.0)
    _click(window.trace_page.tools["edit"])
    window.view.setFocus()
    hand.drag((100.0, 50.0), (150.0, 20.0))
    assert window.desk.tracing.marks[0].path[0] == pytest.approx((150.0, 20.0), abs=1.0)
    hand.key(Qt.Key.Key_Delete)
    assert window.desk.tracing.marks == ()
    _undo(window)
    _undo(window)
    assert window.desk.tracing.marks == (mark,)


@pytest.fixture
def square_window(traced_window, hand):
    """A square drawn over the photo, with the tool that moves nodes."""
    _click(traced_window.trace_page.tools["outline"])
    traced_window.trace_page.catch.setChecked(False)
    for place in ((-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)):
        hand.click(place)
    hand.click((-100.0, -100.0))
    traced_window.view.setFocus()
    return traced_window


def test_nodes_are_moved_in_one_step(square_window, hand):
    before = square_window.desk.tracing
    hand.drag((100.0, 100.0), (140.0, 130.0))
    assert square_window.desk.tracing.outline[2].at == pytest.approx((140.0, 130.0), abs=1.0)
    _undo(square_window)
    assert square_window.desk.tracing == before


def test_nodes_are_inserted_deleted_and_made_smooth(square_window, hand):
    hand.double_click((0.0, -100.0))
    assert len(square_window.desk.tracing.outline) == 5
    hand.click((0.0, -100.0))
    hand.key(Qt.Key.Key_C)
    assert square_window.desk.tracing.outline[1].smooth
    hand.key(Qt.Key.Key_Delete)
    assert len(square_window.desk.tracing.outline) == 4
    for _ in range(3):
        _undo(square_window)
    assert len(square_window.desk.tracing.outline) == 4


def test_handles_are_dragged(square_window, hand):
    hand.click((100.0, 100.0))
    hand.key(Qt.Key.Key_C)
    node = square_window.desk.tracing.outline[2]
    tip = node.at[0] + node.after[0], node.at[1] + node.after[1]
    hand.drag(tip, (tip[0] - 20.0, tip[1] + 20.0))
    moved = square_window.desk.tracing.outline[2]
    assert moved.after != node.after
    assert moved.at == node.at


def test_the_panel_is_made_of_what_was_typed(square_window):
    _click(square_window.onward)
    page = square_window.panel_page
    assert square_window.stage == 2
    page.name.setText("Side")
    page.turn.setText("12 mm")
    page.pair.setChecked(True)
    _click(square_window.onward)
    traced = square_window.traced
    panel = traced.job.panel(traced.panel)
    assert (panel.name, panel.edge_turn_mm, panel.is_pair) == ("Side", 12.0, True)
    assert min(n.at[0] for n in panel.outline) == pytest.approx(0.0, abs=1e-9)
    photo = traced.job.photos[0]
    assert (photo.id, photo.panel, photo.file) == ("g1", panel.id, traced.file)
    assert photo.error_mm > 0


def test_a_panel_without_a_name_is_told(square_window):
    square_window.go(2)
    square_window.panel_page.name.setText(" ")
    _click(square_window.onward)
    assert "name" in square_window.panel_page.problem.text()
    assert square_window.traced is None


def test_later_stages_wait_for_earlier_ones(window):
    assert [b.isEnabled() for b in window.stages] == [True, False, False]
    window.go(2)
    assert window.stage == 0


def test_the_view_is_moved_and_zoomed(window, hand):
    scale = window.view.transform().m11()
    window.view.setFocus()
    hand.key(Qt.Key.Key_Plus)
    assert window.view.transform().m11() > scale
    hand.key(Qt.Key.Key_F)
    assert window.view.transform().m11() == pytest.approx(scale)

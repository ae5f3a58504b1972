"""Marks of every kind and openings on the photo: placed, changed, deleted, by real events."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.photo.trace_page import MARKS
from core.document.panel import MarkKind
from core.progress import Step


def _click(button):
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def _undo(window):
    QTest.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)


@pytest.fixture
def marking(traced_window):
    """The window at its second stage with the tool that places marks; nothing is caught."""
    traced_window.trace_page.catch.setChecked(False)
    _click(traced_window.trace_page.tools["mark"])
    traced_window.view.setFocus()
    return traced_window


@pytest.fixture
def choose(marking):
    """Choose a kind of mark, as by the list."""

    def pick(kind):
        marking.trace_page.kind.setCurrentIndex([k for k, _ in MARKS].index(kind))
        marking.view.setFocus()

    return pick


def near(path, *places):
    assert len(path) == len(places)
    for point, place in zip(path, places, strict=True):
        assert point == pytest.approx(place, abs=1.0)


@pytest.mark.parametrize("kind", [k for k in MarkKind if k is not MarkKind.RIDGE])
def test_spots_are_placed_by_a_click(marking, hand, choose, kind):
    choose(kind)
    hand.click((40.0, 30.0))
    (mark,) = marking.desk.tracing.marks
    assert mark.kind is kind
    near(mark.path, (40, 30))
    assert marking.desk.history.undo_text == f"Place a {kind.value}"
    _undo(marking)
    assert marking.desk.tracing.marks == ()


def test_a_ridge_is_drawn_point_by_point(marking, hand, choose):
    choose(MarkKind.RIDGE)
    for place in ((0.0, 0.0), (60.0, 20.0), (90.0, 90.0)):
        hand.click(place)
    hand.key(Qt.Key.Key_Backspace)
    hand.click((120.0, 20.0))
    assert marking.desk.tracing.marks == ()
    hand.key(Qt.Key.Key_Return)
    (mark,) = marking.desk.tracing.marks
    assert mark.kind is MarkKind.RIDGE
    near(mark.path, (0, 0), (60, 20), (120, 20))
    assert marking.desk.overlay.draft == ()
    _undo(marking)
    assert marking.desk.tracing.marks == ()


def test_a_ridge_ends_by_a_double_click_and_is_dragged_in_one_go(marking, hand, choose):
    choose(MarkKind.RIDGE)
    hand.click((0.0, 0.0))
    hand.double_click((60.0, 20.0))
    hand.drag((0.0, -50.0), (100.0, -60.0))
    first, second = marking.desk.tracing.marks
    near(first.path, (0, 0), (60, 20))
    near(second.path, (0, -50), (100, -60))


def test_a_ridge_that_is_dropped_leaves_no_trace(marking, hand, choose):
    choose(MarkKind.RIDGE)
    before = marking.desk.tracing
    hand.click((0.0, 0.0))
    hand.click((60.0, 20.0))
    hand.key(Qt.Key.Key_Escape)
    assert marking.desk.overlay.draft == ()
    hand.click((10.0, 10.0))
    _click(marking.trace_page.tools["edit"])
    assert marking.desk.tracing is before
    assert not marking.view.hand.is_busy


def test_a_ridge_goes_into_the_panel_as_a_line(marking, hand, choose):
    choose(MarkKind.RIDGE)
    hand.drag((-40.0, 0.0), (40.0, 0.0))
    choose(MarkKind.DAMAGE)
    hand.click((0.0, 40.0))
    _click(marking.trace_page.tools["outline"])
    for place in ((-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)):
        hand.click(place)
    hand.click((-100.0, -100.0))
    marking.go(2)
    marking.panel_page.name.setText("Lid")
    _click(marking.onward)
    panel = marking.traced.job.panel(marking.traced.panel)
    ridge, damage = panel.marks
    near(ridge.path, (60, 100), (140, 100))
    near(damage.path, (100, 140))
    assert (ridge.kind, damage.kind) == (MarkKind.RIDGE, MarkKind.DAMAGE)


def test_a_point_of_a_ridge_is_moved_alone_and_its_line_whole(marking, hand, choose):
    choose(MarkKind.RIDGE)
    hand.drag((0.0, 0.0), (100.0, 0.0))
    _click(marking.trace_page.tools["edit"])
    hand.drag((100.0, 0.0), (120.0, 40.0))
    near(marking.desk.tracing.marks[0].path, (0, 0), (120, 40))
    hand.drag((60.0, 20.0), (60.0, 60.0))
    near(marking.desk.tracing.marks[0].path, (0, 40), (120, 80))
    assert marking.desk.history.undo_text == "Move a mark"
    assert marking.trace_page.delete.text().strip() == "Delete the mark"
    _click(marking.trace_page.delete)
    assert marking.desk.tracing.marks == ()
    assert not marking.trace_page.delete.isEnabled()


def test_the_radius_of_a_ridge_is_called_by_what_it_is(marking, choose):
    choose(MarkKind.RIDGE)
    assert marking.trace_page.radius.accessibleName() == "Half its width"
    choose(MarkKind.BOLT)
    assert marking.trace_page.radius.accessibleName() == "Its radius"


# Openings


@pytest.fixture
def opened(marking, hand):
    """A round opening, with the tool that changes things."""
    _click(marking.trace_page.tools["round"])
    hand.drag((0.0, 0.0), (50.0, 0.0))
    _click(marking.trace_page.tools["edit"])
    marking.view.setFocus()
    return marking


@pytest.mark.parametrize("at", [(5.0, 5.0), (35.4, 35.4)], ids=["inside", "on its line"])
def test_an_opening_is_chosen_and_deleted_by_key(opened, hand, at):
    hand.click(at)
    assert opened.desk.overlay.chosen_ring == 0
    assert opened.trace_page.delete.text().strip() == "Delete the opening"
    hand.key(Qt.Key.Key_Delete)
    assert opened.desk.tracing.openings == ()
    assert opened.desk.overlay.chosen_ring is None
    _undo(opened)
    assert len(opened.desk.tracing.openings) == 1


def test_an_opening_is_deleted_by_the_button(opened, hand):
    assert not opened.trace_page.delete.isEnabled()
    assert "Change" in opened.trace_page.delete.toolTip()
    hand.click((5.0, 5.0))
    _click(opened.trace_page.delete)
    assert opened.desk.tracing.openings == ()
    assert opened.desk.history.undo_text == "Delete an opening"


def test_an_opening_is_moved_whole(opened, hand):
    before = opened.desk.tracing
    hand.drag((5.0, 5.0), (65.0, -25.0))
    xs, ys = zip(*(n.at for n in opened.desk.tracing.openings[0]), strict=True)
    assert (min(xs) + max(xs)) / 2 == pytest.approx(60, abs=1.0)
    assert (min(ys) + max(ys)) / 2 == pytest.approx(-30, abs=1.0)
    assert opened.desk.history.undo_text == "Move an opening"
    _undo(opened)
    assert opened.desk.tracing == before


def test_a_drag_of_an_opening_that_is_dropped_leaves_no_trace(opened, hand):
    before = opened.desk.tracing
    hand.press((5.0, 5.0))
    hand.move((45.0, 5.0), is_down=True)
    hand.key(Qt.Key.Key_Escape)
    hand.release((45.0, 5.0))
    assert opened.desk.tracing is before


def test_a_click_beside_everything_chooses_nothing(opened, hand):
    hand.click((5.0, 5.0))
    hand.click((200.0, 100.0))
    assert not opened.desk.overlay.has_choice
    hand.key(Qt.Key.Key_Delete)
    assert len(opened.desk.tracing.openings) == 1


# Looking for the outline


def test_how_far_the_search_is_shows_and_it_can_be_stopped(traced_window, hand, qtbot):
    window, steps = traced_window, []
    window.desk.progressed.connect(steps.append)
    window.desk.progressed.connect(lambda _: _click(window.halt))
    with qtbot.waitSignal(
        window.desk.busy_changed, timeout=60_000, check_params_cb=lambda words: words == ""
    ):
        hand.drag((-430.0, 240.0), (430.0, -240.0))
        assert (window.busy.minimum(), window.busy.maximum()) == (0, 0)
        assert window.halt.isVisible()
    assert len(steps) == 1, "nothing is told after it was stopped"
    assert not window.desk.tracing.outline
    assert not window.halt.isVisible()


def test_the_bar_follows_what_is_told(traced_window):
    traced_window.desk.progressed.emit(Step("Following the edge…", 0.66))
    assert traced_window.busy.value() == 66
    assert traced_window.hint.text() == "Following the edge…"

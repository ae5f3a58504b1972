"""Zooming through much shows pictures, scaled; what is pointed at is right all along."""

import pytest
from PySide6.QtCore import QPoint, QPointF
from PySide6.QtWidgets import QApplication

from core.document.edits.panels import move_panel
from helpers.touchpad import pinch, swipe


@pytest.fixture
def slow(view, qapp):
    """A view that takes everything for slow, painted once."""
    view.sharp_within_ms = -1.0
    view.viewport().repaint()
    return view


def seen(view):
    return view.viewport().grab().toImage()


def test_a_zoom_through_much_shows_a_picture_until_it_rests(slow, hand, qtbot):
    before = seen(slow)
    hand.wheel((300, 150), 2)
    assert slow.is_zooming
    seen(slow)
    hand.wheel((300, 150), 2)
    blown_up = seen(slow)
    assert blown_up != before
    qtbot.waitUntil(lambda: not slow.is_zooming)
    QApplication.processEvents()
    rested = seen(slow)
    assert rested != blown_up
    slow.show_sharply()
    slow.viewport().update()
    assert seen(slow) == rested


def test_the_picture_lies_where_the_sharp_view_has_it(slow, hand):
    hand.wheel((300, 150), 1)
    seen(slow)  # the picture is taken here, at the present zoom
    hand.wheel((300, 150), 1)
    edge = slow.px_of((600, 250))
    shown = seen(slow)
    slow.show_sharply()
    sharp = seen(slow)
    for dx in (-9, 9):
        at = edge + QPoint(dx, 0)
        assert shown.pixelColor(at) == sharp.pixelColor(at)
    assert shown.pixelColor(edge - QPoint(9, 0)) != shown.pixelColor(edge + QPoint(9, 0))


def test_zooming_far_out_takes_a_new_picture_rather_than_leave_the_view_empty(slow, hand):
    slow.zoom_by(6)
    slow.show_sharply()
    seen(slow)
    for _ in range(12):
        slow.zoom_by(1 / 1.3)
        shown = seen(slow)
    assert slow.is_zooming
    slow.show_sharply()
    sharp = seen(slow)
    for at in ((30, 30), (570, 270), (850, 150)):
        px = slow.px_of(at)
        assert shown.pixelColor(px) == sharp.pixelColor(px)


def test_an_edit_while_zooming_shows_at_once(slow, session, hand):
    hand.wheel((300, 150), 1)
    seen(slow)
    session.do("Move it", move_panel(session.job, "p2", (800.0, 0.0)))
    assert not slow.is_zooming
    at = slow.px_of((780, 150))
    moved = seen(slow).pixelColor(at)
    assert moved.name() == slow.canvas_scene.theme.canvas
    session.undo()
    assert seen(slow).pixelColor(at) != moved


def test_a_click_while_zooming_hits_what_is_there_now(slow, session, hand):
    hand.wheel((750, 30), 3)
    assert slow.is_zooming
    hand.click((750, 150))
    assert session.selection.panel == "p2" or "p2" in session.selection.ids
    assert not slow.is_zooming


def test_a_view_that_paints_quickly_is_always_sharp(view, hand):
    view.sharp_within_ms = 1e9
    view.viewport().repaint()
    hand.wheel((300, 150), 2)
    assert not view.is_zooming


def test_panning_while_zooming_is_sharp(slow, hand):
    hand.wheel((300, 150), 1)
    assert slow.is_zooming
    slow.scroll_by(QPoint(20, 0))
    assert not slow.is_zooming


# With two fingers


def test_pinching_zooms_about_the_fingers(view):
    px = QPointF(400, 300)
    at, before = view.mm_of(px), view.transform().m11()
    for share in (0.1, 0.25, -0.05):
        pinch(view, px, share)
    assert view.transform().m11() == pytest.approx(before * 1.1 * 1.25 * 0.95)
    off = QPointF(*view.mm_of(px)) - QPointF(*at)
    assert abs(off.x()) * view.transform().m11() <= 1
    assert abs(off.y()) * view.transform().m11() <= 1


def test_other_gestures_of_a_touchpad_do_nothing(view):
    before = view.viewportTransform()
    pinch(view, QPointF(400, 300), 30.0, turns=True)
    assert view.viewportTransform() == before


def test_two_fingers_move_the_canvas_by_their_way(view):
    at = view.mm_of(QPointF(400, 300))
    swipe(view, QPointF(400, 300), QPoint(-35, 20))
    here = view.mm_of(QPointF(365, 320))
    assert here == pytest.approx(at)
    swipe(view, QPointF(400, 300), QPoint(), turned=QPoint(40, 0))
    assert view.mm_of(QPointF(405, 320)) == pytest.approx(at)


def test_two_fingers_zoom_with_ctrl(view):
    before = view.transform().m11()
    swipe(view, QPointF(400, 300), QPoint(0, 12), turned=QPoint(0, 120), ctrl=True)
    assert view.transform().m11() == pytest.approx(before * 1.2)

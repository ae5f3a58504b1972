"""The view of a part by mouse and keys."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.solid.view import SolidView, Trace
from core.shape.view_paint import Skin, Solid
from helpers.surfaces import cap

LEFT, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton
NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
ABOVE, UP = np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])
MIDDLE = QPoint(200, 150)


@pytest.fixture
def view(qtbot, qapp) -> SolidView:
    """A cap of 60 degrees seen from above, in a window of 400 by 300."""
    view = SolidView()
    qtbot.addWidget(view)
    view.resize(400, 300)
    view.show_solid(Solid(*cap(60.0)), Skin((200, 190, 180)), normal=ABOVE, up=UP)
    view.show()
    qtbot.waitExposed(view)
    return view


def drag(view, start, end, button=LEFT, keys=NONE):
    QTest.mousePress(view, button, keys, start)
    for share in (0.5, 1.0):
        QTest.mouseMove(view, start + (end - start) * share)
    QTest.mouseRelease(view, button, keys, end)


def seen(view, point=(0.0, 0.0, 300.0)):
    """Where the top of the cap is seen."""
    return view.camera.project(np.array([point]))[0][0]


def test_the_part_is_in_the_middle_and_a_fine_picture_follows(qtbot, view):
    assert seen(view) == pytest.approx([200, 150], abs=1)
    qtbot.waitUntil(lambda: view.is_fine)
    image = view.grab().toImage()
    assert image.pixelColor(MIDDLE) != image.pixelColor(2, 150)


def test_a_drag_turns_and_with_shift_or_the_right_button_moves(view):
    before = view.camera.turn.copy()
    drag(view, MIDDLE, MIDDLE + QPoint(40, 0))
    assert np.abs(view.camera.turn - before).max() > 0.1
    turned = view.camera.turn.copy()
    place = seen(view)
    drag(view, MIDDLE, MIDDLE + QPoint(20, 10), RIGHT)
    assert seen(view) == pytest.approx(place + np.array([20, 10]))
    drag(view, MIDDLE, MIDDLE + QPoint(-20, 0), LEFT, SHIFT)
    assert seen(view) == pytest.approx(place + np.array([0, 10]))
    assert (view.camera.turn == turned).all()


def test_the_wheel_zooms_about_the_pointer(view):
    at = QPointF(120, 90)
    before = view.camera.px_per_mm
    wheel = QWheelEvent(
        at, view.mapToGlobal(at), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton, NONE,
        Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(view, wheel)
    assert view.camera.px_per_mm > before


def test_keys_turn_move_zoom_and_show_all(view):
    start = view.camera
    QTest.keyClick(view, Qt.Key.Key_Left)
    assert np.abs(view.camera.turn - start.turn).max() > 0.05
    QTest.keyClick(view, Qt.Key.Key_Plus)
    QTest.keyClick(view, Qt.Key.Key_Right, SHIFT)
    assert view.camera.px_per_mm > start.px_per_mm
    QTest.keyClick(view, Qt.Key.Key_0)
    assert view.camera.px_per_mm == pytest.approx(start.px_per_mm)
    assert view.camera.turn == pytest.approx(start.turn)


def test_clicks_tell_the_triangle_and_a_drag_is_no_click(qtbot, view):
    with qtbot.waitSignal(view.clicked) as told:
        QTest.mouseClick(view, LEFT, NONE, MIDDLE)
    triangle, place = told.args
    assert place.toPoint() == MIDDLE
    corners, triangles = cap(60.0)
    assert np.abs(corners[triangles[triangle]].mean(axis=0)[:2]).max() < 30
    with qtbot.waitSignal(view.clicked) as told:
        QTest.mouseClick(view, LEFT, NONE, QPoint(4, 4))
    assert told.args[0] == -1
    with qtbot.assertNotEmitted(view.clicked):
        drag(view, MIDDLE, MIDDLE + QPoint(30, 30))


def test_a_lasso_is_handed_on_and_escape_drops_it(qtbot, view):
    view.takes_lasso = True
    with qtbot.waitSignal(view.lassoed) as told:
        drag(view, QPoint(50, 50), QPoint(300, 200))
    assert len(told.args[0]) == 3
    with qtbot.assertNotEmitted(view.lassoed):
        QTest.mousePress(view, LEFT, NONE, QPoint(50, 50))
        QTest.mouseMove(view, QPoint(90, 90))
        QTest.keyClick(view, Qt.Key.Key_Escape)
        QTest.mouseRelease(view, LEFT, NONE, QPoint(90, 120))


def test_pointing_tells_what_lies_there(qtbot, view):
    with qtbot.waitSignal(view.pointed) as told:
        QTest.mouseMove(view, MIDDLE)
    assert told.args[0] >= 0
    assert sum(told.args[1]) == pytest.approx(1.0, abs=1e-4)


def test_traces_are_drawn_and_fainter_where_the_part_hides_them(qtbot, view):
    qtbot.waitUntil(lambda: view.is_fine)
    line = np.array([[-100.0, 0, 320], [100.0, 0, 320]])
    before = view.grab().toImage().pixelColor(MIDDLE)
    view.set_traces([Trace(line, "#ff0000", 4.0, is_closed=False)])
    over = view.grab().toImage().pixelColor(MIDDLE)
    view.set_traces([Trace(line - [0, 0, 300], "#ff0000", 4.0, is_closed=False)])
    under = view.grab().toImage().pixelColor(MIDDLE)
    assert over.red() == 255
    assert over.green() == 0
    assert before.green() > under.green() > 60


def test_without_a_part_it_says_so(qtbot, view):
    view.words = "Nothing here"
    view.show_solid(None, Skin((0, 0, 0)), normal=ABOVE, up=UP)
    assert view.pick(QPointF(200, 150)) == (-1, None)
    view.grab()

from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.photo.window import PhotoWindow
from app.session import new_job
from core.read.photo import Picture
from core.read.photo_scale import Method
from helpers.synthetic_photo import FRAME, Shot, part_shot

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


@pytest.fixture(scope="session")
def shot() -> Shot:
    """A photo of 2 million pixels."""
    return part_shot(size_px=(1600, 1200), focal_px=1200.0, height_mm=1050.0)


@pytest.fixture(scope="session")
def picture(shot) -> Picture:
    return Picture("side.jpg", shot.pixels)


class PhotoHand:
    """Real mouse and key events on the photo, at places of the scene."""

    def __init__(self, window: PhotoWindow) -> None:
        self.view = window.view

    def px(self, at):
        px = self.view.viewportTransform().map(QPointF(*at))
        assert self.view.viewport().rect().contains(px.toPoint()), f"{at} is out of sight"
        return px

    def send(self, kind, at, button, held, keys=NONE):
        port, px = self.view.viewport(), self.px(at)
        event = QMouseEvent(kind, px, port.mapToGlobal(px), button, held, keys)
        QApplication.sendEvent(port, event)

    def move(self, at, *, is_down=False):
        held = LEFT if is_down else Qt.MouseButton.NoButton
        self.send(QEvent.Type.MouseMove, at, Qt.MouseButton.NoButton, held)

    def press(self, at):
        self.send(QEvent.Type.MouseButtonPress, at, LEFT, LEFT)

    def release(self, at):
        self.send(QEvent.Type.MouseButtonRelease, at, LEFT, Qt.MouseButton.NoButton)

    def click(self, at):
        self.move(at)
        self.press(at)
        self.release(at)

    def double_click(self, at):
        self.click(at)
        self.send(QEvent.Type.MouseButtonDblClick, at, LEFT, LEFT)
        self.release(at)

    def drag(self, start, end, *, steps=4):
        self.move(start)
        self.press(start)
        for i in range(1, steps + 1):
            at = tuple(a + (b - a) * i / steps for a, b in zip(start, end, strict=True))
            self.move(at, is_down=True)
        self.release(end)

    def key(self, key, keys=NONE):
        QTest.keyClick(self.view, key, keys)


@pytest.fixture
def window(qtbot, qapp, picture, monkeypatch) -> PhotoWindow:
    """The photo window, before anything was looked for."""
    monkeypatch.setattr("app.photo.window.QTimer.singleShot", lambda *_: None)
    window = PhotoWindow(picture, new_job())
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    window.view.setFocus()
    return window


@pytest.fixture
def hand(window) -> PhotoHand:
    return PhotoHand(window)


@pytest.fixture
def rest(qtbot, window):
    """Wait until nothing goes on in the background."""

    def wait():
        if window.desk.is_busy:
            with qtbot.waitSignal(
                window.desk.busy_changed, timeout=60_000, check_params_cb=lambda w: w == ""
            ):
                pass

    return wait


@pytest.fixture
def traced_window(window, shot, rest):
    """The window with the photo put to scale by exact corners, at its second stage."""
    corners = tuple(tuple(p) for p in shot.px_of(FRAME))
    window.desk.set_method(Method.RECTANGLE)
    window.desk.history.draft = replace(window.desk.draft, corners=corners)
    window.desk.scale_by_rectangle(920.0, 540.0)
    rest()
    window.go_on()
    return window

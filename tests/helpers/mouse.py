"""A hand on the mouse: real events through a canvas view, at places in millimetres."""

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.canvas.view import CanvasView

LEFT, MIDDLE = Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton
NONE = Qt.KeyboardModifier.NoModifier
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
Place = tuple[float, float]


class Hand:
    """Presses, moves and types as a person would; places are the canvas's, mm, y up."""

    def __init__(self, view: CanvasView) -> None:
        self.view = view
        self._held = Qt.MouseButton.NoButton

    def px(self, at: Place) -> QPoint:
        """Where a place is in the viewport; it must be in sight."""
        px = self.view.px_of(at)
        assert self.view.viewport().rect().contains(px), f"{at} is out of sight at {px}"
        return px

    def _send(self, kind: QEvent.Type, at: Place, button: Qt.MouseButton, keys: object) -> None:
        port = self.view.viewport()
        px = QPointF(self.px(at))
        event = QMouseEvent(kind, px, port.mapToGlobal(px), button, self._held, keys)
        QApplication.sendEvent(port, event)

    def move(self, at: Place, keys: Qt.KeyboardModifier = NONE) -> None:
        self._send(QEvent.Type.MouseMove, at, Qt.MouseButton.NoButton, keys)

    def press(
        self, at: Place, keys: Qt.KeyboardModifier = NONE, button: Qt.MouseButton = LEFT
    ) -> None:
        self._held = button
        self._send(QEvent.Type.MouseButtonPress, at, button, keys)

    def release(
        self, at: Place, keys: Qt.KeyboardModifier = NONE, button: Qt.MouseButton = LEFT
    ) -> None:
        self._held = Qt.MouseButton.NoButton
        self._send(QEvent.Type.MouseButtonRelease, at, button, keys)

    def click(self, at: Place, keys: Qt.KeyboardModifier = NONE) -> None:
        self.move(at, keys)
        self.press(at, keys)
        self.release(at, keys)

    def double_click(self, at: Place) -> None:
        """Press, release, then the second press as Qt tells it."""
        self.click(at)
        self._held = LEFT
        self._send(QEvent.Type.MouseButtonDblClick, at, LEFT, NONE)
        self.release(at)

    def drag(
        self,
        start: Place,
        end: Place,
        keys: Qt.KeyboardModifier = NONE,
        button: Qt.MouseButton = LEFT,
        steps: int = 5,
    ) -> None:
        self.drag_on(start, end, keys, button, steps)
        self.release(end, keys, button)

    def drag_on(
        self,
        start: Place,
        end: Place,
        keys: Qt.KeyboardModifier = NONE,
        button: Qt.MouseButton = LEFT,
        steps: int = 5,
    ) -> None:
        """Drag without letting go."""
        self.press(start, keys, button)
        for i in range(1, steps + 1):
            share = i / steps
            at = tuple(a + (b - a) * share for a, b in zip(start, end, strict=True))
            self.move((at[0], at[1]), keys)

    def wheel(self, at: Place, notches: int) -> None:
        port = self.view.viewport()
        px = QPointF(self.px(at))
        event = QWheelEvent(
            px,
            port.mapToGlobal(px),
            QPoint(),
            QPoint(0, 120 * notches),
            Qt.MouseButton.NoButton,
            NONE,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(port, event)

    def key(self, key: Qt.Key) -> None:
        QTest.keyClick(self._focused(), key)

    def type(self, text: str) -> None:
        for letter in text:
            QTest.keyClicks(self._focused(), letter)

    def _focused(self) -> object:
        shown = [f for f in self.view.entry.fields if f.hasFocus()]
        return shown[0] if shown and self.view.entry.isVisible() else self.view

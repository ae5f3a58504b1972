"""Two fingers on a touchpad: real events through a view's viewport."""

from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import (
    QInputDevice,
    QNativeGestureEvent,
    QPointingDevice,
    QPointingDeviceUniqueId,
    QWheelEvent,
)
from PySide6.QtWidgets import QApplication, QGraphicsView

PAD = QPointingDevice(
    "pad",
    1,
    QInputDevice.DeviceType.TouchPad,
    QPointingDevice.PointerType.Finger,
    QInputDevice.Capability.Position | QInputDevice.Capability.PixelScroll,
    5,
    0,
    "seat",
    QPointingDeviceUniqueId.fromNumericId(1),
)


def pinch(view: QGraphicsView, at: QPointF, value: float, *, turns: bool = False) -> None:
    """Open two fingers by a share of their distance, or turn them."""
    port = view.viewport()
    kind = Qt.NativeGestureType
    event = QNativeGestureEvent(
        kind.RotateNativeGesture if turns else kind.ZoomNativeGesture,
        PAD, 2, at, at, QPointF(port.mapToGlobal(at)), value, QPointF(), 1,
    )  # fmt: skip
    QApplication.sendEvent(port, event)


def swipe(
    view: QGraphicsView,
    at: QPointF,
    by: QPoint,
    *,
    turned: QPoint | None = None,
    ctrl: bool = False,
) -> None:
    """Move two fingers across the pad, told in pixels, or as a wheel's turns."""
    port = view.viewport()
    keys = Qt.KeyboardModifier
    event = QWheelEvent(
        at, QPointF(port.mapToGlobal(at)), by, turned or QPoint(), Qt.MouseButton.NoButton,
        keys.ControlModifier if ctrl else keys.NoModifier, Qt.ScrollPhase.ScrollUpdate, False,
        Qt.MouseEventSource.MouseEventSynthesizedBySystem, PAD,
    )  # fmt: skip
    QApplication.sendEvent(port, event)

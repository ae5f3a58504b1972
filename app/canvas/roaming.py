"""A view that can be moved and zoomed; y runs up in it, and what is pointed at stays put."""

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QInputDevice,
    QNativeGestureEvent,
    QPainter,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsScene, QGraphicsView, QWidget

from core.document.path import Point

ZOOM_STEP = 1.2
_LEAST_PX_MM = 0.02
"""Zoomed in as far as it goes: 50 pixels a millimetre."""
_MOST_PX_MM = 60.0
_ROOM_MM = 200_000.0
_FIT_MARGIN_PX = 48
_NOT_HELD: tuple[QPointF | None, Point] = None, (0.0, 0.0)


class RoamingView(QGraphicsView):
    """Zooms about the pointer and scrolls by whole pixels, so that painted ones are kept."""

    zoom_changed = Signal(float)
    """Screen pixels for a millimetre."""

    def __init__(self, scene: QGraphicsScene, parent: QWidget | None = None) -> None:
        super().__init__(scene, parent)
        self._held = _NOT_HELD
        self._set_up()

    def _set_up(self) -> None:
        self.setSceneRect(QRectF(-_ROOM_MM, -_ROOM_MM, 2 * _ROOM_MM, 2 * _ROOM_MM))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.AnchorViewCenter)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.MinimalViewportUpdate)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontSavePainterState)
        self.setRenderHint(QPainter.RenderHint.TextAntialiasing)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setMouseTracking(True)
        self.setTransform(QTransform.fromScale(1, -1))

    def px_of(self, at: Point) -> QPoint:
        """Return where a point of the canvas (mm, y up) is in the viewport."""
        return self.viewportTransform().map(QPointF(*at)).toPoint()

    def mm_of(self, px: QPointF) -> Point:
        """Return the point of the canvas (mm, y up) at a place in the viewport."""
        at = self.viewportTransform().inverted()[0].map(px)
        return at.x(), at.y()

    def zoom_by(self, factor: float) -> None:
        """Zoom about the middle of the view."""
        self._zoom_about(QPointF(self.viewport().rect().center()), factor)

    def show_rect(self, rect: QRectF) -> None:
        """Show a rectangle of the canvas with a margin around it."""
        room = (
            self.viewport()
            .rect()
            .adjusted(_FIT_MARGIN_PX, _FIT_MARGIN_PX, -_FIT_MARGIN_PX, -_FIT_MARGIN_PX)
        )
        scale = min(
            max(room.width(), 1) / max(rect.width(), 1),
            max(room.height(), 1) / max(rect.height(), 1),
        )
        self._set_scale(scale)
        self.look_at(rect.center(), QPointF(self.viewport().rect().center()))

    def _set_scale(self, scale: float) -> None:
        scale = min(max(scale, 1 / _MOST_PX_MM), 1 / _LEAST_PX_MM)
        self.setTransform(QTransform.fromScale(scale, -scale))
        self.zoom_changed.emit(scale)

    def _zoom_about(self, px: QPointF, factor: float) -> None:
        """Zoom so that what is under a pixel stays there.

        Scrolling goes by whole pixels; the place is kept over zooms at one pixel, so that the
        rounding does not add up.
        """
        known, at = self._held
        if known != px:
            at = self.mm_of(px)
        # Else each scroll bar moves pixels about that are painted anew anyway.
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._set_scale(self.transform().m11() * factor)
        self.look_at(QPointF(*at), px)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.MinimalViewportUpdate)
        self._held = QPointF(px), at

    def look_at(self, at: QPointF, px: QPointF) -> None:
        """Scroll so that a point of the canvas lies at a place in the viewport."""
        off = self.viewportTransform().map(at) - px
        self.scroll_by(off.toPoint())

    def scroll_by(self, by: QPoint) -> None:
        """Scroll by whole pixels."""
        across, down = self.horizontalScrollBar(), self.verticalScrollBar()
        self._held = _NOT_HELD
        across.setValue(across.value() + by.x())
        down.setValue(down.value() + by.y())

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom about the pointer with a wheel; pan with two fingers, zoom with Ctrl held."""
        is_pad = event.device().type() == QInputDevice.DeviceType.TouchPad
        is_zoom = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if is_pad and not is_zoom:
            moved = (
                event.pixelDelta() if not event.pixelDelta().isNull() else event.angleDelta()
            )
            self.scroll_by(-moved)
        else:
            notches = event.angleDelta().y() / 120
            self._zoom_about(event.position(), ZOOM_STEP**notches)
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:  # noqa: N802
        """Zoom by pinching."""
        if isinstance(event, QNativeGestureEvent):
            if event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
                self._zoom_about(event.position(), 1 + event.value())
            return True
        return super().viewportEvent(event)

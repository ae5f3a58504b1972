"""A view that can be moved and zoomed; y runs up in it, and what is pointed at stays put."""

import time

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QInputDevice,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsScene, QGraphicsView, QWidget

from app.canvas.glimpses import Glimpses
from core.document.path import Point

ZOOM_STEP = 1.2
_LEAST_PX_MM = 0.02
"""Zoomed in as far as it goes: 50 pixels a millimetre."""
_MOST_PX_MM = 60.0
_ROOM_MM = 200_000.0
_FIT_MARGIN_PX = 48
_REST_MS = 90
"""So long after the last zoom the view is painted sharply again."""
_NOT_HELD: tuple[QPointF | None, Point] = None, (0.0, 0.0)


class RoamingView(QGraphicsView):
    """Zooms about the pointer and scrolls by whole pixels, so that painted ones are kept.

    What takes longer to paint than ``sharp_within_ms`` is shown by its last pictures, scaled,
    while a zoom runs. Whoever changes the scene calls ``show_sharply``.
    """

    zoom_changed = Signal(float)
    """Screen pixels for a millimetre."""
    sharp_within_ms = 12.0

    def __init__(self, scene: QGraphicsScene, parent: QWidget | None = None) -> None:
        super().__init__(scene, parent)
        self._held = _NOT_HELD
        self._glimpses = Glimpses()
        self._paint_ms = 0.0
        self._is_zooming = self._is_picture_due = False
        self._rest = QTimer(self, singleShot=True, interval=_REST_MS)
        self._rest.timeout.connect(self._on_rest)
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
        if self._paint_ms > self.sharp_within_ms:
            self._is_zooming = True
            self._rest.start()
        # Else each scroll bar moves pixels about that are painted anew anyway.
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._set_scale(self.transform().m11() * factor)
        self._scroll(self._off(QPointF(*at), px))
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.MinimalViewportUpdate)
        self._held = QPointF(px), at

    def look_at(self, at: QPointF, px: QPointF) -> None:
        """Scroll so that a point of the canvas lies at a place in the viewport."""
        self.scroll_by(self._off(at, px))

    def _off(self, at: QPointF, px: QPointF) -> QPoint:
        return (self.viewportTransform().map(at) - px).toPoint()

    def scroll_by(self, by: QPoint) -> None:
        """Scroll by whole pixels."""
        if self._is_zooming:
            self.show_sharply()
        self._held = _NOT_HELD
        self._scroll(by)

    def _scroll(self, by: QPoint) -> None:
        across, down = self.horizontalScrollBar(), self.verticalScrollBar()
        across.setValue(across.value() + by.x())
        down.setValue(down.value() + by.y())

    # Painting

    @property
    def is_zooming(self) -> bool:
        """Whether pictures are shown, since a zoom is running through much."""
        return self._is_zooming

    def show_sharply(self) -> None:
        """Let go of all pictures, since the scene has changed or the zoom has ended."""
        self._glimpses.drop()
        self._rest.stop()
        if self._is_zooming:
            self._is_zooming = False
            self.viewport().update()

    def _on_rest(self) -> None:
        """Paint sharply, and keep that as the picture to begin the next zoom with."""
        self._glimpses.drop()
        self._is_zooming = False
        self._is_picture_due = True
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the scene, or while a zoom runs the pictures of it."""
        port, is_due = QRectF(self.viewport().rect()), self._is_picture_due
        self._is_picture_due = False
        if not self._is_zooming and not is_due:
            self._glimpses.drop()
            start = time.thread_time()
            super().paintEvent(event)
            if event.rect().contains(self.viewport().rect()):
                self._paint_ms = 1000 * (time.thread_time() - start)
            return
        to_px = self.viewportTransform()
        if is_due or not self._glimpses.can_show(to_px, port):
            start = time.thread_time()
            self._glimpses.take(self)
            self._paint_ms = 1000 * (time.thread_time() - start)
        painter = QPainter(self.viewport())
        self._glimpses.paint(painter, to_px, port, self.scene().backgroundBrush())
        painter.end()

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

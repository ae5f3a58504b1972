"""The view: where the canvas is looked at from, and the only place that turns y up into y down.

It moves and zooms, turns Qt's events into pointers for the tool in hand, and keeps the scene in
step with the session.
"""

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QInputDevice,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QResizeEvent,
    QShowEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsView, QWidget

from app.canvas import deeds
from app.canvas.gestures.base import Desk, Pointer, Tool
from app.canvas.gestures.clicks import FlipTool, PaintTool
from app.canvas.gestures.draw import DrawInlay, DrawSeam, DrawStripe, DrawTool
from app.canvas.gestures.select import SelectTool
from app.canvas.items.pins import PinItem
from app.canvas.menus import build_menu
from app.canvas.scene import CanvasScene
from app.canvas.typed import Reader, TypedEntry
from app.selection import Selection
from app.session import Session
from app.theme import Theme
from core.document.hit import parse_angle
from core.document.path import Point
from core.plan.lookup import find_place, to_panel
from core.units import parse_length

_LEAST_PX_MM = 0.02
"""Zoomed in as far as it goes: 50 pixels a millimetre."""
_MOST_PX_MM = 60.0
_ROOM_MM = 200_000.0
_STEP = 1.2
_FIT_MARGIN_PX = 48
_NOT_HELD: tuple[QPointF | None, Point] = None, (0.0, 0.0)


class CanvasView(QGraphicsView):
    """The canvas with its tools."""

    tool_changed = Signal(str)
    hint_changed = Signal(str)
    cursor_moved = Signal(float, float)
    """Millimetres in the frame of the panel under the pointer, else of the canvas."""
    zoom_changed = Signal(float)
    """Screen pixels for a millimetre."""

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self.canvas_scene = CanvasScene(theme)
        self.desk = Desk(session, self.canvas_scene)
        self.desk.say_hint = self._say_hint
        self._hint = ""
        self._select = SelectTool(self.desk)
        self._tools: dict[str, Tool] = {
            "select": self._select,
            "seam": DrawTool(self.desk, "seam", DrawSeam),
            "stripe": DrawTool(self.desk, "stripe", DrawStripe),
            "inlay": DrawTool(self.desk, "inlay", DrawInlay),
            "paint": PaintTool(self.desk),
            "flip": FlipTool(self.desk),
        }
        self._tool: Tool = self._select
        self._pan_from: QPoint | None = None
        self._is_space_down = False
        self._has_fitted = False
        self._held = _NOT_HELD
        self._last_px = QPointF()
        self.entry = TypedEntry(self.viewport())
        self.entry.taken.connect(self._on_typed)
        self.entry.refused.connect(session.message)
        self._set_up()
        session.plan_changed.connect(self._on_plan_changed)
        session.selection_changed.connect(self._on_selection_changed)
        session.hover_changed.connect(self._on_hover_changed)
        session.opened.connect(self._on_opened)
        self._on_plan_changed()

    def _set_up(self) -> None:
        self.setScene(self.canvas_scene)
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

    # What the window asks for

    @property
    def tool(self) -> str:
        """Name of the tool in hand."""
        return self._tool.name

    @property
    def hint(self) -> str:
        """What can be done next."""
        return self._hint

    def set_tool(self, name: str) -> None:
        """Take another tool: select, seam, stripe, inlay, paint or flip."""
        self._tool.cancel()
        self.entry.hide()
        self.canvas_scene.catch.clear()
        self._tool = self._tools[name]
        self.viewport().setCursor(self._tool.cursor)
        self.tool_changed.emit(name)
        self._say_hint(self._tool.hint)

    def set_film(self, film_id: str) -> None:
        """Set the film that stripes, inlays and paint take."""
        self.desk.film = film_id

    def set_theme(self, theme: Theme) -> None:
        """Draw everything in other colours."""
        self.canvas_scene.set_theme(theme)

    def delete_selection(self) -> None:
        """Delete what is selected."""
        deeds.delete_selected(self.desk)

    def zoom_to_fit(self) -> None:
        """Show all panels."""
        rect = self.canvas_scene.content_rect()
        if not rect.isEmpty():
            self._show_rect(rect)

    def zoom_by(self, factor: float) -> None:
        """Zoom about the middle of the view."""
        self._zoom_about(QPointF(self.viewport().rect().center()), factor)

    def show_place(self, where: str, x: float, y: float) -> None:
        """Bring a place of a panel, or of one of its copies, to the middle of the view."""
        place = find_place(self.session.plan, where, (x, y))
        if place is None:
            return
        self._look_at(QPointF(*place), QPointF(self.viewport().rect().center()))

    def px_of(self, at: Point) -> QPoint:
        """Return where a point of the canvas (mm, y up) is in the viewport."""
        return self.viewportTransform().map(QPointF(*at)).toPoint()

    def mm_of(self, px: QPointF) -> Point:
        """Return the point of the canvas (mm, y up) at a place in the viewport."""
        at = self.viewportTransform().inverted()[0].map(px)
        return at.x(), at.y()

    # The session

    def _on_plan_changed(self) -> None:
        self.canvas_scene.show_plan(self.session.plan)
        self._tool.follow_job()

    def _on_selection_changed(self) -> None:
        self.canvas_scene.show_selection(self.session.selection)

    def _on_hover_changed(self) -> None:
        self.canvas_scene.show_hover(self.session.hovered)

    def _on_opened(self) -> None:
        self._tool.cancel()
        self.canvas_scene.show_selection(self.session.selection)
        self.zoom_to_fit()

    def _say_hint(self, hint: str) -> None:
        if hint != self._hint:
            self._hint = hint
            self.hint_changed.emit(hint)

    # Moving and zooming

    def _show_rect(self, rect: QRectF) -> None:
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
        self._look_at(rect.center(), QPointF(self.viewport().rect().center()))

    def _set_scale(self, scale: float) -> None:
        scale = min(max(scale, 1 / _MOST_PX_MM), 1 / _LEAST_PX_MM)
        self.setTransform(QTransform.fromScale(scale, -scale))
        self.desk.px_mm = 1 / scale
        self.canvas_scene.set_scale(1 / scale)
        self.zoom_changed.emit(scale)

    def _zoom_about(self, px: QPointF, factor: float) -> None:
        """Zoom so that what is under a pixel stays there.

        Scrolling goes by whole pixels; the place is kept over zooms at one pixel, so that the
        rounding does not add up.
        """
        known, at = self._held
        if known != px:
            at = self.mm_of(px)
        self._set_scale(self.transform().m11() * factor)
        self._look_at(QPointF(*at), px)
        self._held = QPointF(px), at

    def _look_at(self, at: QPointF, px: QPointF) -> None:
        """Scroll so that a point of the canvas lies at a place in the viewport."""
        off = self.viewportTransform().map(at) - px
        self._scroll(off.toPoint())

    def _scroll(self, by: QPoint) -> None:
        across, down = self.horizontalScrollBar(), self.verticalScrollBar()
        self._held = _NOT_HELD
        across.setValue(across.value() + by.x())
        down.setValue(down.value() + by.y())

    # Events

    def _pointer(self, px: QPointF, modifiers: Qt.KeyboardModifier) -> Pointer:
        self._last_px = px
        return Pointer(
            at=self.mm_of(px),
            px=px,
            is_free=bool(modifiers & Qt.KeyboardModifier.AltModifier),
            is_shifted=bool(modifiers & Qt.KeyboardModifier.ShiftModifier),
        )

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pan, or hand the press to the tool."""
        self.setFocus()
        is_left = event.button() == Qt.MouseButton.LeftButton
        if event.button() == Qt.MouseButton.MiddleButton or (is_left and self._is_space_down):
            self._pan_from = event.position().toPoint()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif is_left and not self._press_pin(event.position()):
            self._tool.press(self._pointer(event.position(), event.modifiers()))

    def _press_pin(self, px: QPointF) -> bool:
        """Select the lines of a finding whose pin is clicked on, and say it."""
        if self._tool.is_busy or self._tool is not self._select:
            return False
        pins = [item for item in self.items(px.toPoint()) if isinstance(item, PinItem)]
        if not pins:
            return False
        finding = pins[0].finding
        if finding.lines:
            self.session.select(Selection("line", tuple(finding.lines)))
        self.session.message(finding.text)
        return True

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pan, or hand the move to the tool."""
        if self._pan_from is not None:
            here = event.position().toPoint()
            self._scroll(self._pan_from - here)
            self._pan_from = here
            return
        pointer = self._pointer(event.position(), event.modifiers())
        is_down = bool(event.buttons() & Qt.MouseButton.LeftButton)
        self._tool.move(pointer, is_down=is_down)
        panel = self.desk.panel_under(pointer)
        self.cursor_moved.emit(*(to_panel(panel, pointer.at) if panel else pointer.at))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """End panning, or hand the release to the tool."""
        if self._pan_from is not None:
            self._pan_from = None
            self._show_cursor()
        elif event.button() == Qt.MouseButton.LeftButton:
            self._tool.release(self._pointer(event.position(), event.modifiers()))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Hand the double click to the tool."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._tool.double_click(self._pointer(event.position(), event.modifiers()))

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Point at nothing any more."""
        if not self._tool.is_busy:
            self.session.hover(None)
            self.canvas_scene.catch.clear()
        super().leaveEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Forget a held space bar, whose release goes elsewhere."""
        self._is_space_down = False
        self._show_cursor()
        super().focusOutEvent(event)

    def _show_cursor(self) -> None:
        held = Qt.CursorShape.OpenHandCursor
        self.viewport().setCursor(held if self._is_space_down else self._tool.cursor)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom about the pointer with a wheel; pan with two fingers, zoom with Ctrl held."""
        is_pad = event.device().type() == QInputDevice.DeviceType.TouchPad
        is_zoom = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if is_pad and not is_zoom:
            moved = (
                event.pixelDelta() if not event.pixelDelta().isNull() else event.angleDelta()
            )
            self._scroll(-moved)
        else:
            notches = event.angleDelta().y() / 120
            self._zoom_about(event.position(), _STEP**notches)
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:  # noqa: N802
        """Zoom by pinching."""
        if isinstance(event, QNativeGestureEvent):
            if event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
                self._zoom_about(event.position(), 1 + event.value())
            return True
        return super().viewportEvent(event)

    def event(self, event: QEvent) -> bool:
        """Keep the keys of a gesture from the window's shortcuts, and Tab from moving focus."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            is_plain = event.modifiers() in (
                Qt.KeyboardModifier.NoModifier,
                Qt.KeyboardModifier.KeypadModifier,
            )
            if self._tool.is_busy and is_plain:
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Sizes, the tool's keys, then the view's own."""
        key = Qt.Key(event.key())
        if self._opens_entry(event.text()) or self._tool.key(key):
            return
        match key:
            case Qt.Key.Key_Space if not event.isAutoRepeat():
                self._is_space_down = True
                self._show_cursor()
            case Qt.Key.Key_F | Qt.Key.Key_Home:
                self.zoom_to_fit()
            case Qt.Key.Key_Plus | Qt.Key.Key_Equal:
                self.zoom_by(_STEP)
            case Qt.Key.Key_Minus:
                self.zoom_by(1 / _STEP)
            case Qt.Key.Key_Escape:
                self.set_tool("select")
            case _:
                event.ignore()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Let go of the canvas when space is let go."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._is_space_down = False
            self._show_cursor()
        super().keyReleaseEvent(event)

    def _opens_entry(self, text: str) -> bool:
        names = self._tool.asks()
        if not names or not text or text not in "0123456789.,":
            return False
        units = self.session.job.units

        def length(given: str) -> float:
            return parse_length(given, units)

        readers: list[Reader] = [length, parse_angle if "angle" in names else length]
        self.entry.open(self._last_px.toPoint(), names, readers, text)
        return True

    def _on_typed(self, sizes: list[float | None]) -> None:
        self._tool.typed(sizes)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Drop a gesture, or open the menu of what is under the pointer."""
        if self._tool.is_busy:
            self._tool.cancel()
            return
        pointer = self._pointer(QPointF(event.pos()), event.modifiers())
        menu = build_menu(self, self.desk, self._select, pointer)
        if menu is not None:
            menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
            menu.popup(event.globalPos())

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Show all panels the first time."""
        super().showEvent(event)
        self._fit_once()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Show all panels once there is room."""
        super().resizeEvent(event)
        self._fit_once()

    def _fit_once(self) -> None:
        has_content = not self.canvas_scene.content_rect().isEmpty()
        if not self._has_fitted and self.isVisible() and has_content:
            self._has_fitted = True
            self.zoom_to_fit()

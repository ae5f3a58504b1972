"""The photo in its window: moved and zoomed like the canvas, with the tool in hand."""

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QResizeEvent,
    QTransform,
)
from PySide6.QtWidgets import QGraphicsScene, QWidget

from app.canvas.roaming import ZOOM_STEP, RoamingView
from app.photo.desk import PhotoDesk
from app.photo.hand import Hand, Touch
from app.photo.hands import hands_of
from app.photo.magnifier import Magnifier
from app.photo.overlay import OverlayItem
from app.photo.pyramid import PyramidItem
from app.theme import Theme


class PhotoView(RoamingView):
    """Shows the photo as taken, in pixels with y negative, or the flat one in millimetres."""

    hint_changed = Signal(str)

    def __init__(self, desk: PhotoDesk, theme: Theme, parent: QWidget | None = None) -> None:
        scene = QGraphicsScene()
        scene.setItemIndexMethod(QGraphicsScene.ItemIndexMethod.NoIndex)
        scene.setBackgroundBrush(QColor(theme.canvas))
        super().__init__(scene, parent)
        self._scene = scene  # a view does not keep its scene
        self.desk = desk
        self.picture = PyramidItem()
        self.overlay = OverlayItem(theme)
        scene.addItem(self.picture)
        scene.addItem(self.overlay)
        self.magnifier = Magnifier(self.viewport(), theme)
        self._hands = hands_of(desk)
        self._hand: Hand = self._hands[""]
        self._pan_from: QPoint | None = None
        self._is_space_down = False
        self._has_room = False
        desk.changed.connect(self._on_changed)
        desk.overlay_changed.connect(self._on_overlay_changed)
        desk.tool_changed.connect(self._on_tool_changed)
        self._on_changed()

    @property
    def hand(self) -> Hand:
        """The tool in hand."""
        return self._hand

    def zoom_to_fit(self) -> None:
        """Show the whole photo, or what is well seen of it."""
        self.show_rect(self.picture.sceneBoundingRect())

    def _on_changed(self) -> None:
        desk = self.desk
        flat = desk.draft.flat
        if desk.is_tracing and flat is not None:
            levels, s = desk.flat_levels, flat.mm_px
            to_scene = QTransform(s, 0, 0, -s, flat.left_mm, flat.top_mm)
        else:
            levels, to_scene = desk.levels, QTransform.fromScale(1, -1)
        if self.picture.levels is not levels:
            self.show_sharply()
            self.picture.show_picture(levels, to_scene)
            self.magnifier.hide()
            self.zoom_to_fit()

    def _on_overlay_changed(self) -> None:
        self.show_sharply()
        self.overlay.show_overlay(self.desk.overlay)

    def _on_tool_changed(self, tool: str) -> None:
        self._hand.cancel()
        self._hand = self._hands[tool]
        self.magnifier.hide()
        self._show_cursor()
        self.hint_changed.emit(self._hand.hint)

    def _touch(self, event: QMouseEvent) -> Touch:
        at = self.mm_of(event.position())
        is_free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        return Touch(at, 1 / self.transform().m11(), is_free)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pan, or hand the press to the tool."""
        self.setFocus()
        is_left = event.button() == Qt.MouseButton.LeftButton
        if event.button() == Qt.MouseButton.MiddleButton or (is_left and self._is_space_down):
            self._pan_from = event.position().toPoint()
            self.magnifier.hide()
            self._show_cursor()
        elif is_left and not self.desk.is_busy:
            self._hand.press(self._touch(event))
            self._magnify(event, is_down=True)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pan, or hand the move to the tool."""
        if self._pan_from is not None:
            here = event.position().toPoint()
            self.scroll_by(self._pan_from - here)
            self._pan_from = here
            return
        is_down = bool(event.buttons() & Qt.MouseButton.LeftButton)
        self._hand.move(self._touch(event), is_down=is_down)
        self._magnify(event, is_down=is_down)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """End panning, or hand the release to the tool."""
        if self._pan_from is not None:
            self._pan_from = None
            self._show_cursor()
        elif event.button() == Qt.MouseButton.LeftButton and not self.desk.is_busy:
            self._hand.release(self._touch(event))
            if not self._hand.is_busy:
                self.magnifier.hide()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Hand the double click to the tool."""
        if event.button() == Qt.MouseButton.LeftButton and not self.desk.is_busy:
            self._hand.double_click(self._touch(event))

    def _magnify(self, event: QMouseEvent, *, is_down: bool) -> None:
        """Show the pixels under what is dragged or placed."""
        wants = self._hand.magnifies and (is_down or self._hand.is_busy)
        if not wants or not self.picture.levels:
            self.magnifier.hide()
            return
        look = self.desk.overlay
        at = self.mm_of(event.position())
        if look.corners and self._hand.is_busy and look.active is not None:
            at = look.corners[look.active]
        elif look.caught is not None:
            at = look.caught
        px = self.picture.mapFromScene(QPointF(*at))
        self.magnifier.show_at(self.picture.levels[0], px, event.position().toPoint())

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Drop what is being drawn."""
        self._hand.cancel()
        self.magnifier.hide()
        event.accept()

    def event(self, event: QEvent) -> bool:
        """Keep the tool's keys from the window's buttons and shortcuts."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            plain = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier
            if event.modifiers() in plain:
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """The tool's keys, then the view's own."""
        key = Qt.Key(event.key())
        is_fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if not self.desk.is_busy and self._hand.key(key, is_fine=is_fine):
            return
        match key:
            case Qt.Key.Key_Escape if self._hand.is_busy:
                self._hand.cancel()
                self.magnifier.hide()
            case Qt.Key.Key_Escape if self.desk.is_busy:
                self.desk.stop()
            case Qt.Key.Key_Space if not event.isAutoRepeat():
                self._is_space_down = True
                self._show_cursor()
            case Qt.Key.Key_F | Qt.Key.Key_Home:
                self.zoom_to_fit()
            case Qt.Key.Key_Plus | Qt.Key.Key_Equal:
                self.zoom_by(ZOOM_STEP)
            case Qt.Key.Key_Minus:
                self.zoom_by(1 / ZOOM_STEP)
            case Qt.Key.Key_Return | Qt.Key.Key_Enter:
                pass  # it closes rings, and shall not press the window's button
            case _:
                event.ignore()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Let go of the photo when Space is let go."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._is_space_down = False
            self._show_cursor()
        super().keyReleaseEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Forget a held Space."""
        self._is_space_down = False
        self._show_cursor()
        super().focusOutEvent(event)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Put the magnifier away."""
        self.magnifier.hide()
        super().leaveEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Show the whole photo once there is room."""
        super().resizeEvent(event)
        if not self._has_room and self.isVisible():
            self._has_room = True
            self.zoom_to_fit()

    def _show_cursor(self) -> None:
        shape = self._hand.cursor
        if self._pan_from is not None:
            shape = Qt.CursorShape.ClosedHandCursor
        elif self._is_space_down:
            shape = Qt.CursorShape.OpenHandCursor
        self.viewport().setCursor(shape)

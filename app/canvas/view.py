"""The canvas: turns Qt's events into pointers for the tool in hand, and follows the session."""

from collections.abc import Callable, Sequence
from typing import Literal

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QContextMenuEvent,
    QCursor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import QWidget

from app.canvas import copying, deeds
from app.canvas.gestures.base import Desk, Pointer, Tool
from app.canvas.gestures.clicks import FlipTool, PaintTool
from app.canvas.gestures.drafting import MoveGuide
from app.canvas.gestures.draw import DrawInlay, DrawRelief, DrawSeam, DrawTool, ReliefTool
from app.canvas.gestures.draw_stripe import DrawStripe
from app.canvas.gestures.measure import MeasureTool
from app.canvas.gestures.place import MarkTool, OpeningTool
from app.canvas.gestures.select import SelectTool
from app.canvas.hidden_chip import HiddenChip
from app.canvas.items.labels import NameItem
from app.canvas.items.pins import PinItem
from app.canvas.menus import add_actions, build_menu
from app.canvas.roaming import ZOOM_STEP
from app.canvas.ruled import RuledView
from app.canvas.scene import CanvasScene
from app.canvas.typed import Reader, TypedEntry
from app.selection import Selection
from app.session import Session
from app.theme import Theme
from core.document.hit import parse_angle
from core.document.path import Point
from core.ids import PanelId
from core.plan.lookup import find_place, to_panel
from core.units import parse_length


class CanvasView(RuledView):
    """The canvas with its tools."""

    tool_changed = Signal(str)
    hint_changed = Signal(str)
    choices_changed = Signal()
    """Another shape of openings, or another kind or radius of marks, was chosen."""
    cursor_moved = Signal(float, float)
    """Millimetres in the frame of the panel under the pointer, else of the canvas."""

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        self.canvas_scene = CanvasScene(theme)
        super().__init__(self.canvas_scene, parent)
        self.session = session
        self.canvas_scene.grounds.source = session.photo_data
        self.desk = Desk(session, self.canvas_scene)
        self.desk.say_hint = self._say_hint
        self.desk.chosen = self._on_chosen
        self.more_actions: Callable[[Selection], Sequence[QAction | None]] = lambda _: ()
        self._hint = ""
        self._select = SelectTool(self.desk)
        self._tools: dict[str, Tool] = {
            "select": self._select,
            "seam": DrawTool(self.desk, "seam", DrawSeam),
            "stripe": DrawTool(self.desk, "stripe", DrawStripe),
            "inlay": DrawTool(self.desk, "inlay", DrawInlay),
            "relief": ReliefTool(self.desk, "relief", DrawRelief, "relief cut"),
            "opening": OpeningTool(self.desk),
            "mark": MarkTool(self.desk),
            "paint": PaintTool(self.desk),
            "flip": FlipTool(self.desk),
            "measure": MeasureTool(self.desk),
        }
        self._tool: Tool = self._select
        self._pan_from: QPoint | None = None
        self._is_space_down = False
        self._has_fitted = False
        self._last_px = QPointF()
        self.entry = TypedEntry(self.viewport())
        self.entry.taken.connect(self._on_typed)
        self.entry.refused.connect(session.message)
        self.entry.changed.connect(self._on_typing)
        self._is_step = False
        self.hidden = HiddenChip(self.viewport(), lambda: copying.show_hidden(self.desk))
        self.add_rulers(theme)
        self.guide_pulled.connect(self._on_guide_pulled)
        self.guide_moved.connect(lambda e: self._tool.move(self._ruled(e), is_down=True))
        self.guide_released.connect(lambda e: self._tool.release(self._ruled(e)))
        self.zoom_changed.connect(self._on_zoom_changed)
        session.plan_changed.connect(self._on_plan_changed)
        session.selection_changed.connect(self._on_selection_changed)
        session.hover_changed.connect(self._on_hover_changed)
        session.opened.connect(self._on_opened)
        self._on_plan_changed()
        self._say_hint(self._tool.hint)

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
        """Take another tool, by its name in the strip of tools."""
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
        self.show_sharply()
        self.canvas_scene.set_theme(theme)
        self.dress_rulers(theme)

    def set_grid(self, *, shown: bool) -> None:
        """Show a grid that is caught, or none; the job's settings have its spacing."""
        self.show_sharply()
        self.desk.has_grid = shown
        self.canvas_scene.set_grid(self.desk.grid_mm)

    @property
    def pointed_at(self) -> Point | None:
        """Where the pointer is on the canvas; None when it is not over it."""
        px = QPointF(self.viewport().mapFromGlobal(QCursor.pos()))
        return self.mm_of(px) if self.viewport().rect().contains(px.toPoint()) else None

    def delete_selection(self) -> None:
        """Delete what is selected."""
        deeds.delete_selected(self.desk)

    def zoom_to_fit(self) -> None:
        """Show all panels."""
        rect = self.canvas_scene.content_rect()
        if not rect.isEmpty():
            self._has_fitted = self._has_fitted or self.isVisible()
            self.show_rect(rect)

    def show_place(self, where: str, x: float, y: float) -> None:
        """Bring a place of a panel, or of one of its copies, to the middle of the view."""
        place = find_place(self.session.plan, where, (x, y))
        if place is None:
            return
        self.look_at(QPointF(*place), QPointF(self.viewport().rect().center()))

    # The session

    def _on_plan_changed(self) -> None:
        self.show_sharply()
        job = self.session.job
        self.canvas_scene.show_plan(self.session.plan)
        self.canvas_scene.set_grid(self.desk.grid_mm)
        self.set_ruler_units(job.units)
        self.hidden.show_count(sum(panel.is_hidden for panel in job.panels))
        self._tool.follow_job()

    def _on_selection_changed(self) -> None:
        self.show_sharply()
        self.canvas_scene.show_selection(self.session.selection)

    def _on_hover_changed(self) -> None:
        self.canvas_scene.show_hover(self.session.hovered)

    def _on_opened(self) -> None:
        self._tool.cancel()
        self.canvas_scene.show_selection(self.session.selection)
        self.zoom_to_fit()

    def _on_zoom_changed(self, scale: float) -> None:
        self.desk.px_mm = 1 / scale
        self.canvas_scene.set_scale(1 / scale)

    def _on_chosen(self) -> None:
        self._tool.cancel()
        for tool in self._tools.values():
            tool.follow_choices()
        self._say_hint(self._tool.hint)
        self.choices_changed.emit()

    def _say_hint(self, hint: str) -> None:
        if hint != self._hint:
            self._hint = hint
            self.hint_changed.emit(hint)

    # Events

    def _pointer(self, px: QPointF, modifiers: Qt.KeyboardModifier) -> Pointer:
        self._last_px = px
        return Pointer(
            at=self.mm_of(px),
            px=px,
            is_free=bool(modifiers & Qt.KeyboardModifier.AltModifier),
            is_shifted=bool(modifiers & Qt.KeyboardModifier.ShiftModifier),
            is_band=bool(modifiers & Qt.KeyboardModifier.ControlModifier),
            is_outside=not self.viewport().rect().contains(px.toPoint()),
        )

    def _ruled(self, event: QMouseEvent) -> Pointer:
        """Return the pointer of an event on a ruler."""
        px = QPointF(self.viewport().mapFromGlobal(event.globalPosition()))
        return self._pointer(px, event.modifiers())

    def _on_guide_pulled(self, way: Literal["upright", "level"], event: QMouseEvent) -> None:
        self.setFocus()
        self._tool.start(MoveGuide(self.desk, None, way))
        self._tool.press(self._ruled(event))

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pan, or hand the press to the tool."""
        self.show_sharply()
        self.setFocus()
        is_left = event.button() == Qt.MouseButton.LeftButton
        if event.button() == Qt.MouseButton.MiddleButton or (is_left and self._is_space_down):
            self._pan_from = event.position().toPoint()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif is_left and not self._press_label(event.position()):
            self._tool.press(self._pointer(event.position(), event.modifiers()))

    def _press_label(self, px: QPointF) -> bool:
        """Select what a pin or a name that is clicked on stands for."""
        if self._tool.is_busy or self._tool is not self._select:
            return False
        for item in self.items(px.toPoint()):
            if isinstance(item, PinItem):
                if item.finding.lines:
                    self.session.select(Selection("line", tuple(item.finding.lines)))
                self.session.message(item.finding.text)
                return True
            if isinstance(item, NameItem) and item.named is not None:
                panel = PanelId(item.named.id)
                self.session.select(Selection("panel", (panel,), panel))
                return True
        return False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pan, or hand the move to the tool."""
        if self._pan_from is not None:
            here = event.position().toPoint()
            self.scroll_by(self._pan_from - here)
            self._pan_from = here
            return
        pointer = self._pointer(event.position(), event.modifiers())
        is_down = bool(event.buttons() & Qt.MouseButton.LeftButton)
        self._tool.move(pointer, is_down=is_down)
        self.mark_rulers(event.position())
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
        self.mark_rulers(None)
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
        if self._opens_entry(event.text()) or self._tool.key(key) or self._edits(key):
            return
        match key:
            case Qt.Key.Key_Space if not event.isAutoRepeat():
                self._is_space_down = True
                self._show_cursor()
            case Qt.Key.Key_F | Qt.Key.Key_Home:
                self.zoom_to_fit()
            case Qt.Key.Key_Plus | Qt.Key.Key_Equal:
                self.zoom_by(ZOOM_STEP)
            case Qt.Key.Key_Minus:
                self.zoom_by(1 / ZOOM_STEP)
            case Qt.Key.Key_Escape:
                self.set_tool("select")
            case _:
                event.ignore()

    def _edits(self, key: Qt.Key) -> bool:
        """Let the keys that edit what is selected work with every tool in hand."""
        return not self._tool.is_busy and key != Qt.Key.Key_Escape and self._select.key(key)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Let go of the canvas when space is let go."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._is_space_down = False
            self._show_cursor()
        super().keyReleaseEvent(event)

    def _opens_entry(self, text: str) -> bool:
        names = self._tool.asks()
        self._is_step = text in ("x", "X") and "angle" in names
        if self._is_step:
            names, text = ("across", "up"), ""
        elif not names or not text or text not in "0123456789.,":
            return False
        units = self.session.job.units

        def length(given: str) -> float:
            return parse_length(given, units)

        readers: list[Reader] = [length, parse_angle if "angle" in names else length]
        self.entry.open(self._last_px.toPoint(), names, readers, text)
        return True

    def _on_typed(self, sizes: list[float | None]) -> None:
        self._tool.typed(sizes, is_step=self._is_step)

    def _on_typing(self, sizes: list[float | None]) -> None:
        if any(size is not None for size in sizes):
            self._tool.show_typed(sizes, is_step=self._is_step)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Drop a gesture, or open the menu of what is under the pointer."""
        if self._tool.is_busy:
            self._tool.cancel()
            return
        pointer = self._pointer(QPointF(event.pos()), event.modifiers())
        menu = build_menu(self, self.desk, self._select, pointer)
        add_actions(menu, self.more_actions(self.desk.session.selection))
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        if not menu.isEmpty():
            menu.popup(event.globalPos())

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Show all panels the first time."""
        super().showEvent(event)
        self._fit_once()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Show all panels once there is room."""
        super().resizeEvent(event)
        self.place_rulers()
        self.hidden.place()
        self._fit_once()

    def _fit_once(self) -> None:
        has_content = not self.canvas_scene.content_rect().isEmpty()
        if not self._has_fitted and self.isVisible() and has_content:
            self._has_fitted = True
            self.zoom_to_fit()

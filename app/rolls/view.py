"""The view of the sheets: looked at, pointed at, zoomed; pieces are taken in hand here."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QMenu, QToolTip

from app.rolls.hand import RollHand
from app.rolls.menu import fill_menu
from app.rolls.paint import Shown, paint_film_head, paint_held, paint_sheet
from app.rolls.strips import RULER_PX, Strip, Strips, lay_strips
from app.selection import Selection
from app.session import Session
from app.theme import current_theme
from core.ids import PanelId
from core.roll.hand import with_unused
from core.roll.model import Placement
from core.units import format_length

NUDGE_MM, NUDGE_FAR_MM = 1.0, 10.0
TURN_DEG, TURN_FINE_DEG, TURN_WHEEL_DEG = 90.0, 1.0, 5.0
CATCH_PX = 8.0
HINT = "Drag a piece to pin it · clicked: arrows move, R turns, K pins · Ctrl+wheel zooms"


class RollView(QAbstractScrollArea):
    """All films' sheets; the wheel scrolls, with Ctrl it zooms; a dragged piece is pinned."""

    hint_changed = Signal(str)
    """What can be done with a piece, while the view has the keyboard; else ""."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self.strips = Strips()
        self.hand = RollHand(session, self)
        self._zoom = 1.0
        self._pressed: tuple[QPointF, Strip, Placement] | None = None
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setAccessibleName("Sheets of film with their pieces")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setMouseTracking(True)
        self.viewport().setBackgroundRole(QPalette.ColorRole.Window)
        for signal in (
            session.selection_changed,
            session.hover_changed,
            session.job_changed,
            self.hand.changed,
        ):
            signal.connect(self.viewport().update)

    def refresh(self) -> None:
        """Lay the strips out anew."""
        job, report = self._session.job, self._session.rolls
        films = {f.id: f for f in job.films}
        rolls = tuple(
            with_unused(r, films[r.film], job.settings)
            for r in (report.rolls.films if report else ())
            if r.film in films and (r.sheets or r.missing)
        )
        self.strips = lay_strips(
            films,
            rolls,
            QSizeF(self.viewport().size()),
            self._zoom,
            self.strips,
        )
        self.hand.settle()
        self._set_bars()
        self.viewport().update()

    def piece_at(self, at: QPoint) -> tuple[str, str] | None:
        """Return piece id and panel copy under a point of the viewport."""
        found = self._found_at(QPointF(at))
        if found is None:
            return None
        item = found[1].item
        return str(item.piece), str(item.panel)

    def place_of(self, piece: str) -> QPoint | None:
        """Return a point of the viewport inside a piece, or None where it is not laid."""
        at = self.strips.place_of(piece)
        return None if at is None else (at - self._offset()).toPoint()

    def _found_at(self, at: QPointF) -> tuple[Strip, Placement] | None:
        content = at + self._offset()
        strip = self.strips.under(content)
        placement = strip.placement_at(content) if strip else None
        return (strip, placement) if strip and placement else None

    def _offset(self) -> QPointF:
        return QPointF(self.horizontalScrollBar().value(), self.verticalScrollBar().value())

    def _set_bars(self) -> None:
        view = self.viewport().size()
        for bar, whole, page in (
            (self.horizontalScrollBar(), self.strips.size.x(), view.width()),
            (self.verticalScrollBar(), self.strips.size.y(), view.height()),
        ):
            bar.setRange(0, max(0, int(whole - page)))
            bar.setPageStep(page)
            bar.setSingleStep(24)

    # Painting

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint what is in view."""
        theme = current_theme()
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.font())
        if not self.strips.heads:
            self._paint_empty(painter)
            return
        painter.translate(-self._offset())
        view = QRectF(self.viewport().rect()).translated(self._offset())
        shown = self._shown()
        for strip in self.strips.strips:
            if strip.rect.adjusted(0, -RULER_PX, 0, 0).intersects(view):
                paint_sheet(painter, strip, theme, shown)
        for head in self.strips.heads:
            paint_film_head(painter, head.rect, (head.film, head.rolls), theme, shown.units)
        held = self.hand.held
        over = self._strip_of(held.sheet) if held else None
        if held is not None and over is not None:
            paint_held(painter, over, held, theme)

    def _shown(self) -> Shown:
        session, held = self._session, self.hand.held
        return Shown(
            selected=frozenset(session.selection.ids),
            hovered=session.hovered,
            units=session.job.units,
            pinned=self.hand.pinned,
            tied=self.hand.tied,
            chosen=self.hand.chosen,
            away=held.placement.item.key if held else None,
            making_room=frozenset(held.touch.loose) if held else frozenset(),
        )

    def _strip_of(self, sheet: str) -> Strip | None:
        film = self.hand.film
        strips = (s for s in self.strips.strips if s.film.id == film)
        return next((s for s in strips if s.sheet.sheet.id == sheet), None)

    def _paint_empty(self, painter: QPainter) -> None:
        theme = current_theme()
        painter.setPen(QColor(theme.ink_soft))
        has_panels = bool(self._session.plan.panels)
        text = (
            "Laying out the rolls…"
            if has_panels and self._session.rolls is None
            else "The pieces lie here on their rolls as soon as there is a panel to cover."
        )
        box = QRectF(self.viewport().rect()).adjusted(16, 4, -16, -8)
        painter.drawText(box, int(Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap), text)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Fit the strips to the pane's height."""
        super().resizeEvent(event)
        self.refresh()

    # Mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Select the piece that was clicked, and be ready to drag it."""
        found = self._found_at(event.position())
        if found is None:
            self.hand.choose(None)
            return
        strip, placement = found
        self._select(placement)
        self.hand.choose(placement.item.key)
        if event.button() is Qt.MouseButton.LeftButton:
            self._pressed = (event.position(), strip, placement)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Drag the piece that was pressed, else point at what is under the pointer."""
        if self._pressed is None:
            found = self.piece_at(event.position().toPoint())
            self._session.hover(found[0] if found else None)
            return
        start, strip, placement = self._pressed
        way = event.position() - start
        if not self.hand.is_dragging:
            if way.manhattanLength() < QApplication.startDragDistance():
                return
            self.hand.begin(strip.film.id, strip.sheet, placement)
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        self._drag(event.position(), way, strip, placement)

    def _drag(self, at: QPointF, way: QPointF, strip: Strip, placement: Placement) -> None:
        """Hold the piece where the pointer is, on whichever sheet of its film that is."""
        under = self.strips.under(at + self._offset())
        over = under if under and under.film.id == strip.film.id else strip
        shift = QPointF(way.x(), -way.y()) / strip.scale
        if over is not strip:
            # The pointer's place counts, not the way between the sheets.
            start = strip.to_sheet(at - way + self._offset())
            now = over.to_sheet(at + self._offset())
            shift = now - start
        self.hand.hold(over.sheet, placement, (shift.x(), shift.y()), CATCH_PX / over.scale)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Lay the piece down: it is pinned there; another film's roll does not take it."""
        self._pressed = None
        self.viewport().unsetCursor()
        if not self.hand.is_dragging:
            return
        under = self.strips.under(event.position() + self._offset())
        if under is None or under.film.id == self.hand.film:
            self.hand.lay_down()
            return
        own = self._session.job.film(self.hand.film).name
        self.hand.cancel()
        self._session.message(
            f"A piece of {own} cannot be cut from {under.film.name}: "
            "give its region that film first"
        )

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Point at nothing."""
        self._session.hover(None)
        super().leaveEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Turn what is in hand; zoom with Ctrl, else scroll."""
        if self.hand.is_dragging:
            self._turn_by_wheel(event)
            return
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().wheelEvent(event)
            return
        self._zoom = min(6.0, max(0.5, self._zoom * 1.0015 ** event.angleDelta().y()))
        self.refresh()

    def _turn_by_wheel(self, event: QWheelEvent) -> None:
        """Turn what is in hand by a notch, with Shift by one degree."""
        is_fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        # With Shift some systems tell of a wheel as if it rolled sideways.
        delta = event.angleDelta().y() or event.angleDelta().x()
        if delta:
            step = TURN_FINE_DEG if is_fine else TURN_WHEEL_DEG
            self.hand.turn_held(step if delta > 0 else -step)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Offer what can be done with the piece under the pointer."""
        found = self._found_at(QPointF(event.pos()))
        if found is None:
            return
        menu = QMenu(self)
        fill_menu(menu, self._session, self.hand, found[0], found[1])
        menu.exec(event.globalPos())
        menu.deleteLater()

    def _select(self, placement: Placement) -> None:
        item = placement.item
        panel = next((p for p in self._session.plan.panels if p.id == item.panel), None)
        if panel is not None:
            chosen = Selection("piece", (str(item.piece),), PanelId(panel.of))
            self._session.select(chosen)

    # Keys

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Tell what keys and mouse do here."""
        super().focusInEvent(event)
        self.hint_changed.emit(HINT)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Leave the word to others."""
        super().focusOutEvent(event)
        self.hint_changed.emit("")

    def event(self, event: QEvent) -> bool:
        """Take the keys of the hand before the window's own do."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and self._deed(event) is not None
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Move, turn or let go of the piece that was clicked."""
        deed = self._deed(event)
        if deed is None:
            super().keyPressEvent(event)
        else:
            deed()

    def _deed(self, event: QKeyEvent) -> Callable[[], object] | None:
        """Return what a key does now, or None where it does nothing here."""
        hand = self.hand
        plain = event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier
        if hand.chosen is None or plain & ~Qt.KeyboardModifier.KeypadModifier:
            return None
        is_far = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        step = NUDGE_FAR_MM if is_far else NUDGE_MM
        way = -1 if is_far else 1
        turn = hand.turn_held if hand.is_dragging else hand.turn
        deeds: dict[Qt.Key, Callable[[], object]] = {
            Qt.Key.Key_R: lambda: turn(way * TURN_DEG),
            # Plain keys on every keyboard, where brackets need AltGr on some.
            Qt.Key.Key_Comma: lambda: turn(TURN_FINE_DEG),
            Qt.Key.Key_Period: lambda: turn(-TURN_FINE_DEG),
        }
        if hand.is_dragging:
            deeds[Qt.Key.Key_Escape] = self._drop
        else:
            deeds |= {
                Qt.Key.Key_Left: lambda: hand.nudge(-step, 0),
                Qt.Key.Key_Right: lambda: hand.nudge(step, 0),
                Qt.Key.Key_Up: lambda: hand.nudge(0, step),
                Qt.Key.Key_Down: lambda: hand.nudge(0, -step),
                Qt.Key.Key_K: hand.pin_or_let_go,
            }
        return deeds.get(Qt.Key(event.key()))

    def _drop(self) -> None:
        self._pressed = None
        self.viewport().unsetCursor()
        self.hand.cancel()

    # Tool tips

    def viewportEvent(self, event: QEvent) -> bool:  # noqa: N802
        """Name the piece under the pointer in a tool tip."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self._tip(event.pos()), self.viewport())
            return True
        return super().viewportEvent(event)

    def _tip(self, at: QPoint) -> str:
        found = self._found_at(QPointF(at))
        if found is None:
            return ""
        item = found[1].item
        x0, y0, x1, y1 = item.polygon.bounds
        units = self._session.job.units
        size = f"{format_length(x1 - x0, units)} × {format_length(y1 - y0, units)}"
        retake = f", retake {item.attempt - 1}" if item.attempt > 1 else ""
        state = ", pinned here" if item.key in self.hand.pinned else ""
        return f"{item.label}{retake}, {size}{state}"

"""Paints the sheets of film as long strips, film after film, wrapped like words."""

from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import (
    QColor,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPalette,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip

from app.panes.roll_paint import SheetLook, paint_film_head, paint_sheet
from app.panes.shapes import painter_path
from app.session import Selection, Session
from app.theme import current_theme
from core.document.film import Film
from core.ids import PanelId
from core.roll.model import FilmRolls, SheetPlan
from core.units import format_length

HEAD_PX = 192
RULER_PX = 20
GAP_PX = 16
MIN_STRIP_PX, MAX_STRIP_PX = 84.0, 240.0
LEAST_BLOCK_PX = 112.0
SPARE_MM = 150.0
"""How much unused film is shown past the last piece."""


@dataclass(frozen=True)
class _Strip:
    """One sheet's place in the view, in content pixels; paths are in the sheet's mm."""

    film: Film
    sheet: SheetPlan
    rect: QRectF
    scale: float
    paths: tuple[QPainterPath, ...]

    def to_sheet(self, at: QPointF) -> QPointF:
        """Return a point of the content in mm on the sheet."""
        return QPointF((at.x() - self.rect.left()) / self.scale,
                       (self.rect.bottom() - at.y()) / self.scale)  # fmt: skip


class RollView(QAbstractScrollArea):
    """All films' sheets; click selects a piece, the wheel scrolls, with Ctrl it zooms."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._strips: list[_Strip] = []
        self._rows: list[tuple[Film, FilmRolls, QRectF]] = []
        self._paths: dict[int, tuple[SheetPlan, tuple[QPainterPath, ...]]] = {}
        self._zoom = 1.0
        self._content = QPointF(0, 0)
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setAccessibleName("Sheets of film with their pieces")
        self.viewport().setMouseTracking(True)
        self.viewport().setBackgroundRole(QPalette.ColorRole.Window)
        session.selection_changed.connect(self.viewport().update)
        session.hover_changed.connect(self.viewport().update)

    def refresh(self) -> None:
        """Lay the strips out anew."""
        report = self._session.rolls
        self._strips, self._rows = [], []
        films = {f.id: f for f in self._session.job.films}
        corner, row_height, widest = QPointF(0, 4), 0.0, 0.0
        for rolls in report.rolls.films if report else ():
            film = films.get(str(rolls.film))
            if film is None or not (rolls.sheets or rolls.missing):
                continue
            size = self._block_size(film, rolls)
            if corner.x() > 0 and corner.x() + size.width() > self.viewport().width():
                corner = QPointF(0, corner.y() + row_height + GAP_PX)
                row_height = 0.0
            self._place_block(film, rolls, corner)
            self._rows.append((film, rolls, QRectF(corner, QSizeF(HEAD_PX, size.height()))))
            corner += QPointF(size.width() + GAP_PX, 0)
            row_height = max(row_height, size.height())
            widest = max(widest, corner.x())
        self._content = QPointF(widest, corner.y() + row_height + GAP_PX)
        self._paths = {id(s.sheet): (s.sheet, s.paths) for s in self._strips}
        self._set_bars()
        self.viewport().update()

    def piece_at(self, at: QPoint) -> tuple[str, str] | None:
        """Return piece id and panel copy under a point of the viewport."""
        where = QPointF(at) + self._offset()
        for strip in self._strips:
            if not strip.rect.contains(where):
                continue
            on_sheet = strip.to_sheet(where)
            for placement, path in zip(strip.sheet.placements, strip.paths, strict=True):
                if path.contains(on_sheet):
                    return str(placement.item.piece), str(placement.item.panel)
        return None

    def place_of(self, piece: str) -> QPoint | None:
        """Return a point of the viewport inside a piece, or None where it is not laid."""
        for strip in self._strips:
            for placement, path in zip(strip.sheet.placements, strip.paths, strict=True):
                if placement.item.piece == piece:
                    c = path.boundingRect().center()
                    x = strip.rect.left() + c.x() * strip.scale
                    y = strip.rect.bottom() - c.y() * strip.scale
                    return (QPointF(x, y) - self._offset()).toPoint()
        return None

    def _scale(self, film: Film) -> float:
        """Return pixels a millimetre: a film's full width fits the pane's height."""
        room = self.viewport().height() - RULER_PX - 28.0
        return min(MAX_STRIP_PX, max(MIN_STRIP_PX, room)) * self._zoom / film.roll_width_mm

    def _block_size(self, film: Film, rolls: FilmRolls) -> QSizeF:
        scale = self._scale(film)
        sheets = _worth_showing(rolls)
        width = sum(_shown_length_mm(s) * scale + GAP_PX for s in sheets)
        height = max((s.sheet.width_mm * scale for s in sheets), default=0.0)
        return QSizeF(HEAD_PX + width, max(height + RULER_PX, LEAST_BLOCK_PX))

    def _place_block(self, film: Film, rolls: FilmRolls, corner: QPointF) -> None:
        scale = self._scale(film)
        x = corner.x() + HEAD_PX
        for sheet in _worth_showing(rolls):
            size = QSizeF(_shown_length_mm(sheet) * scale, sheet.sheet.width_mm * scale)
            rect = QRectF(QPointF(x, corner.y() + RULER_PX), size)
            self._strips.append(_Strip(film, sheet, rect, scale, self._paths_of(sheet)))
            x += rect.width() + GAP_PX

    def _paths_of(self, sheet: SheetPlan) -> tuple[QPainterPath, ...]:
        known = self._paths.get(id(sheet))
        if known is not None and known[0] is sheet:
            return known[1]
        return tuple(painter_path(p.polygon) for p in sheet.placements)

    def _offset(self) -> QPointF:
        return QPointF(self.horizontalScrollBar().value(), self.verticalScrollBar().value())

    def _set_bars(self) -> None:
        view = self.viewport().size()
        for bar, whole, page in (
            (self.horizontalScrollBar(), self._content.x(), view.width()),
            (self.verticalScrollBar(), self._content.y(), view.height()),
        ):
            bar.setRange(0, max(0, int(whole - page)))
            bar.setPageStep(page)
            bar.setSingleStep(24)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint what is in view."""
        theme = current_theme()
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.font())
        if not self._rows:
            self._paint_empty(painter)
            return
        shift = -self._offset()
        chosen, hovered = self._session.selection.ids, self._session.hovered
        view = QRectF(self.viewport().rect())
        for strip in self._strips:
            rect = strip.rect.translated(shift)
            if rect.adjusted(0, -RULER_PX, 0, 0).intersects(view):
                look = SheetLook(strip.film, strip.sheet, strip.paths, rect, strip.scale)
                paint_sheet(
                    painter, look, theme, (set(chosen), hovered, self._session.job.units)
                )
        for film, rolls, rect in self._rows:
            paint_film_head(painter, rect.translated(shift), film, rolls, theme)

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

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Select the piece that was clicked."""
        found = self.piece_at(event.position().toPoint())
        if found is None:
            return
        panel = next(p for p in self._session.plan.panels if p.id == found[1])
        self._session.select(Selection("piece", (found[0],), PanelId(panel.of)))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Point at the piece under the pointer."""
        found = self.piece_at(event.position().toPoint())
        self._session.hover(found[0] if found else None)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Point at nothing."""
        self._session.hover(None)
        super().leaveEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom with Ctrl, else scroll."""
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().wheelEvent(event)
            return
        self._zoom = min(6.0, max(0.5, self._zoom * 1.0015 ** event.angleDelta().y()))
        self.refresh()

    def viewportEvent(self, event: QEvent) -> bool:  # noqa: N802
        """Name the piece under the pointer in a tool tip."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self._tip(event.pos()), self.viewport())
            return True
        return super().viewportEvent(event)

    def _tip(self, at: QPoint) -> str:
        found = self.piece_at(at)
        if found is None:
            return ""
        piece = next((p for p in self._session.plan.pieces if p.id == found[0]), None)
        if piece is None:
            return ""
        x0, y0, x1, y1 = piece.cut.bounds
        units = self._session.job.units
        size = f"{format_length(x1 - x0, units)} × {format_length(y1 - y0, units)}"
        return f"{piece.label}, {size}"


def _worth_showing(rolls: FilmRolls) -> list[SheetPlan]:
    used = [s for s in rolls.sheets if s.placements]
    return used or list(rolls.sheets[:1])


def _shown_length_mm(sheet: SheetPlan) -> float:
    whole = sheet.sheet.length_mm
    if whole is not None and sheet.sheet.kind == "offcut":
        return whole
    used = sheet.used_length_mm + SPARE_MM
    return used if whole is None else min(whole, used)

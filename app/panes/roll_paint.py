"""How a sheet of film looks: ruler, margins, grain, pieces with their labels."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QTransform

from app.film_use import metres
from app.panes.rows import ink_on, paint_swatch, paint_text, sized
from app.theme import Theme
from core.document.film import Film, Grain
from core.document.job import Units
from core.roll.model import FilmRolls, Placement, SheetPlan

PAD = 16
GRAIN_WORDS = {
    Grain.TWO_WAY: "Grain along, either way",
    Grain.ONE_WAY: "Grain along, one way",
    Grain.QUARTER_TURN: "Weave, along or across",
}
Shown = tuple[set[str], str | None, Units]
"""Ids of the selected, id of what is pointed at, and the units of the ruler."""


@dataclass(frozen=True)
class SheetLook:
    """A sheet with its place in the viewport; ``paths`` are its pieces in the sheet's mm."""

    film: Film
    sheet: SheetPlan
    paths: tuple[QPainterPath, ...]
    rect: QRectF
    scale: float

    def transform(self) -> QTransform:
        """Return the way from the sheet's mm, y up, to the viewport."""
        return QTransform(self.scale, 0, 0, -self.scale, self.rect.left(), self.rect.bottom())


def paint_sheet(painter: QPainter, look: SheetLook, theme: Theme, shown: Shown) -> None:
    """Paint one sheet with everything on it."""
    selected, hovered, units = shown
    painter.setPen(QPen(QColor(theme.line), 1))
    painter.setBrush(QColor(theme.surface_raised))
    painter.drawRect(look.rect)
    _paint_ruler(painter, look, theme, units)
    _paint_margin(painter, look, theme)
    painter.save()
    painter.setClipRect(look.rect.adjusted(-1, -1, 1, 1))
    _paint_end(painter, look, theme)
    way = look.transform()
    for placement, path in zip(look.sheet.placements, look.paths, strict=True):
        piece = placement.item.piece
        is_marked = piece in selected or piece == hovered
        _paint_piece(painter, way.map(path), look, placement, (is_marked, theme))
    painter.restore()


def _paint_piece(
    painter: QPainter,
    path: QPainterPath,
    look: SheetLook,
    placement: Placement,
    how: tuple[bool, Theme],
) -> None:
    is_marked, theme = how
    ink = ink_on(look.film.colour)
    painter.setBrush(QColor(look.film.colour))
    edge = QColor(theme.accent) if is_marked else QColor(theme.panel_edge)
    painter.setPen(QPen(edge, 3 if is_marked else 1))
    painter.drawPath(path)
    item = placement.item
    label = item.label if item.attempt == 1 else f"{item.label} ({item.attempt})"
    _paint_label(painter, path, label, ink)


def _paint_label(painter: QPainter, path: QPainterPath, label: str, ink: QColor) -> None:
    """Write a piece's label along its longer side, where it fits whole."""
    box = path.boundingRect()
    font = painter.font()
    painter.setFont(sized(font, 11, is_bold=True))
    metrics = painter.fontMetrics()
    need = metrics.horizontalAdvance(label) + 8
    is_upright = need > box.width() and box.height() > box.width()
    along, across = (box.height(), box.width()) if is_upright else (box.width(), box.height())
    if need <= along and across >= metrics.height() and path.contains(box.center()):
        painter.save()
        painter.setPen(ink)
        painter.translate(box.center())
        painter.rotate(-90 if is_upright else 0)
        space = QRectF(-along / 2, -across / 2, along, across)
        painter.drawText(space, int(Qt.AlignmentFlag.AlignCenter), label)
        painter.restore()
    painter.setFont(font)


def _paint_margin(painter: QPainter, look: SheetLook, theme: Theme) -> None:
    margin = look.sheet.sheet.margin_mm * look.scale
    if margin < 1.5:
        return
    pen = QPen(QColor(theme.line), 1, Qt.PenStyle.DashLine)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(look.rect.adjusted(margin, margin, -margin, -margin))


def _paint_end(painter: QPainter, look: SheetLook, theme: Theme) -> None:
    """Mark where the used length ends."""
    if not look.sheet.placements:
        return
    x = look.rect.left() + look.sheet.used_length_mm * look.scale
    painter.setPen(QPen(QColor(theme.accent), 1.5, Qt.PenStyle.DashLine))
    painter.drawLine(QPointF(x, look.rect.top()), QPointF(x, look.rect.bottom()))


def _paint_ruler(painter: QPainter, look: SheetLook, theme: Theme, units: Units) -> None:
    unit_mm, steps, name = (304.8, (1, 2, 5, 10), "ft") if units is Units.IN else (
        1000.0, (0.1, 0.2, 0.5, 1, 2, 5), "m")  # fmt: skip
    step = next((s for s in steps if s * unit_mm * look.scale >= 56), steps[-1])
    font = painter.font()
    painter.setFont(sized(font, 11))
    count = int(look.rect.width() / (step * unit_mm * look.scale)) + 1
    for i in range(count):
        x = look.rect.left() + i * step * unit_mm * look.scale
        painter.setPen(QPen(QColor(theme.ink_soft), 1))
        painter.drawLine(QPointF(x, look.rect.top() - 5), QPointF(x, look.rect.top()))
        text = f"{i * step:g} {name}"
        box = QRectF(x + 3, look.rect.top() - 18, 60, 16)
        if box.left() + painter.fontMetrics().horizontalAdvance(text) < look.rect.right() + 24:
            paint_text(painter, box, text, theme.ink_soft)
    painter.setFont(font)


def _paint_grain(painter: QPainter, box: QRectF, grain: Grain, theme: Theme) -> None:
    """Paint in which direction the film lies on the strips beside."""
    if grain is Grain.NONE:
        return
    start, end = QPointF(box.left(), box.center().y()), QPointF(box.right(), box.center().y())
    painter.setPen(QPen(QColor(theme.ink), 1.6))
    painter.setBrush(QColor(theme.ink))
    _arrow(painter, start, end)
    if grain in (Grain.TWO_WAY, Grain.QUARTER_TURN):
        _arrow(painter, end, start)
    if grain is Grain.QUARTER_TURN:
        middle = QPointF(0, box.width() / 2)
        _arrow(painter, box.center() - middle, box.center() + middle)
        _arrow(painter, box.center() + middle, box.center() - middle)


def _arrow(painter: QPainter, start: QPointF, end: QPointF) -> None:
    painter.drawLine(start, end)
    dx, dy = end.x() - start.x(), end.y() - start.y()
    size = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / size * 7, dy / size * 7
    head = QPainterPath(end)
    head.lineTo(end.x() - ux - uy * 0.6, end.y() - uy + ux * 0.6)
    head.lineTo(end.x() - ux + uy * 0.6, end.y() - uy - ux * 0.6)
    head.closeSubpath()
    painter.fillPath(head, painter.brush())


def paint_film_head(
    painter: QPainter, rect: QRectF, film: Film, rolls: FilmRolls, theme: Theme
) -> None:
    """Paint the film's name and numbers at the left of its strips."""
    font = painter.font()
    box = rect.adjusted(PAD, 18, -PAD, 0)
    paint_swatch(painter, QRectF(box.left(), box.top(), 20, 20), film.colour, theme)
    painter.setFont(sized(font, 13, is_bold=True))
    name = QRectF(box.left() + 28, box.top(), box.width() - 28, 20)
    arrow = QRectF(box.right() - 32, box.top() + 26, 32, 18)
    _paint_grain(painter, arrow, film.grain, theme)
    paint_text(painter, name, film.name, theme.ink)
    painter.setFont(sized(font, 12))
    line = QRectF(box.left(), box.top() + 26, box.width(), 18)
    for text, colour in _numbers(film, rolls, theme):
        paint_text(painter, line, text, colour)
        line = line.translated(0, 18)
    painter.setFont(font)


def _numbers(film: Film, rolls: FilmRolls, theme: Theme) -> list[tuple[str, str]]:
    laid = [s for s in rolls.sheets if s.placements]
    whole = sum(s.used_length_mm * s.sheet.width_mm for s in laid)
    covered = sum(p.item.polygon.area for s in laid for p in s.placements)
    used = metres(rolls.used_length_mm) if rolls.used_length_mm else "From offcuts alone"
    lines = [(used, theme.ink)]
    if whole:
        lines.append((f"{100 * covered / whole:.0f} % of it is pieces", theme.ink_soft))
    if film.grain is not Grain.NONE:
        lines.append((GRAIN_WORDS[film.grain], theme.ink_soft))
    short = sum(m.length_mm or 0.0 for m in rolls.missing)
    stuck = sum(len(m.items) for m in rolls.missing if m.length_mm is None)
    if short:
        lines.append((f"{metres(short)} to buy", theme.warn))
    if stuck:
        lines.append((f"{stuck} too large for this roll", theme.stop))
    if laid and all(s.engine == "kept" for s in laid):
        lines.append(("Kept layout", theme.accent))
    return lines

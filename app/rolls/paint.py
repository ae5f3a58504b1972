"""How a sheet of film looks: ruler, margins, grain, pieces with their labels."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QTransform

from app.panes.rows import ink_on, paint_swatch, paint_text, sized
from app.panes.shapes import painter_path
from app.rolls.hand import Held
from app.rolls.strips import GAP_PX, Strip
from app.theme import Theme
from core.document.film import Film, Grain
from core.document.job import Units
from core.roll.model import FilmRolls, ItemKey, Placement
from core.roll.wording import length_to_buy, told_mm

PAD = 16
GRAIN_WORDS = {
    Grain.TWO_WAY: "Grain along, either way",
    Grain.ONE_WAY: "Grain along, one way",
    Grain.QUARTER_TURN: "Weave, along or across",
}
RETAKE_HATCH_PX = 7.0
TEXTURE_PX = 9.0


@dataclass(frozen=True)
class Shown:
    """What of the sheets is marked.

    Attributes:
        selected, hovered: ids of pieces.
        units: of the ruler.
        pinned, tied: tries that stay in their place, or on their sheet.
        chosen: the try that keys act on.
        away: the try in hand, painted where it is held.
        making_room: those that it would push away.
    """

    selected: frozenset[str]
    hovered: str | None
    units: Units
    pinned: frozenset[ItemKey] = frozenset()
    tied: frozenset[ItemKey] = frozenset()
    chosen: ItemKey | None = None
    away: ItemKey | None = None
    making_room: frozenset[ItemKey] = frozenset()


def way_of(strip: Strip) -> QTransform:
    """Return the way from the sheet's mm, y up, to the content."""
    return QTransform(strip.scale, 0, 0, -strip.scale, strip.rect.left(), strip.rect.bottom())


def paint_sheet(painter: QPainter, strip: Strip, theme: Theme, shown: Shown) -> None:
    """Paint one sheet with everything on it."""
    painter.setPen(QPen(QColor(theme.line), 1))
    painter.setBrush(QColor(theme.surface_raised))
    painter.drawRect(strip.rect)
    _paint_ruler(painter, strip, theme, shown.units)
    painter.save()
    painter.setClipRect(strip.rect.adjusted(-1, -1, 1, 1))
    _paint_film(painter, strip, theme)
    _paint_margin(painter, strip, theme)
    _paint_end(painter, strip, theme)
    way = way_of(strip)
    for placement, path in zip(strip.sheet.placements, strip.paths, strict=True):
        if placement.item.key != shown.away:
            _paint_piece(painter, way.map(path), strip, placement, (shown, theme))
    painter.restore()
    _paint_name(painter, strip, theme)


def _paint_film(painter: QPainter, strip: Strip, theme: Theme) -> None:
    """Paint waste in the film's own colour, faintly, and what of the sheet is not film."""
    rect = strip.rect
    sheet = strip.sheet.sheet
    colour = QColor(strip.film.colour)
    if strip.sheet.placements:
        used = QRectF(rect)
        used.setWidth(min(strip.sheet.used_length_mm * strip.scale, rect.width()))
        colour.setAlphaF(0.22)
        painter.fillRect(used, colour)
        _paint_texture(painter, used, strip.film.grain, theme)
    way = way_of(strip)
    soft = QColor(theme.ink_soft)
    if sheet.outline is not None:
        missing = QPainterPath()
        missing.addRect(rect)
        gone = missing.subtracted(way.map(painter_path(sheet.outline)))
        painter.fillPath(gone, QColor(theme.canvas))
        painter.setPen(QPen(soft, 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(way.map(painter_path(sheet.outline)))
    for area in sheet.blocked:
        path = way.map(painter_path(area))
        painter.fillPath(path, QColor(theme.canvas))
        painter.setPen(QPen(QColor(theme.stop), 1))
        painter.setBrush(QBrush(QColor(theme.stop), Qt.BrushStyle.BDiagPattern))
        painter.drawPath(path)
    if sheet.section_mm:
        painter.setPen(QPen(soft, 1, Qt.PenStyle.DotLine))
        x = rect.left() + sheet.section_mm * strip.scale
        while x < rect.right():
            painter.drawLine(QPointF(x, rect.top()), QPointF(x, rect.bottom()))
            x += sheet.section_mm * strip.scale


def _paint_texture(painter: QPainter, rect: QRectF, grain: Grain, theme: Theme) -> None:
    """Paint faint lines along a film's grain, and across it where it is woven."""
    if grain is Grain.NONE:
        return
    colour = QColor(theme.ink)
    colour.setAlphaF(0.16)
    painter.setPen(QPen(colour, 1))
    y = rect.top() + TEXTURE_PX
    while y < rect.bottom():
        painter.drawLine(QPointF(rect.left(), y), QPointF(rect.right(), y))
        y += TEXTURE_PX
    x = rect.left() + TEXTURE_PX
    while grain is Grain.QUARTER_TURN and x < rect.right():
        painter.drawLine(QPointF(x, rect.top()), QPointF(x, rect.bottom()))
        x += TEXTURE_PX


def _paint_piece(
    painter: QPainter,
    path: QPainterPath,
    strip: Strip,
    placement: Placement,
    how: tuple[Shown, Theme],
) -> None:
    shown, theme = how
    item = placement.item
    is_marked = item.piece in shown.selected or item.piece == shown.hovered
    ink = ink_on(strip.film.colour)
    painter.setBrush(QColor(strip.film.colour))
    edge, width = ink, 1.0  # neighbours of one film are told apart by it
    if item.key in shown.making_room:
        edge, width = QColor(theme.warn), 2.5
    elif is_marked:
        edge, width = QColor(theme.accent), 3.0
    pen = QPen(edge, width)
    if item.attempt > 1:
        pen.setStyle(Qt.PenStyle.DashLine)
    painter.setPen(pen)
    painter.drawPath(path)
    if item.attempt > 1:
        _hatch(painter, path, ink)
    label = item.label if item.attempt == 1 else f"{item.label}: retake {item.attempt - 1}"
    _paint_label(painter, path, label, ink)
    if item.key in shown.pinned or item.key in shown.tied:
        _paint_pin(painter, path, ink, is_whole=item.key in shown.pinned)
    if item.key == shown.chosen and is_marked:
        painter.setPen(QPen(ink, 1, Qt.PenStyle.DotLine))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(path.boundingRect().adjusted(3, 3, -3, -3))


def _hatch(painter: QPainter, path: QPainterPath, ink: QColor) -> None:
    """Hatch a retake, so that it is told from what the job itself takes."""
    painter.save()
    painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
    colour = QColor(ink)
    colour.setAlphaF(0.35)
    painter.setPen(QPen(colour, 1))
    box = path.boundingRect()
    x = box.left() - box.height()
    while x < box.right():
        painter.drawLine(QPointF(x, box.bottom()), QPointF(x + box.height(), box.top()))
        x += RETAKE_HATCH_PX
    painter.restore()


def _paint_pin(painter: QPainter, path: QPainterPath, ink: QColor, *, is_whole: bool) -> None:
    """Paint a pin's head and needle in the piece's upper left part."""
    box = path.boundingRect()
    at = QPointF(box.center().x(), box.top() + min(16.0, box.height() / 3))
    if not path.contains(at):
        at = box.center() - QPointF(0, 16)
    painter.setPen(QPen(ink, 1.6))
    painter.setBrush(ink if is_whole else Qt.BrushStyle.NoBrush)
    painter.drawLine(at, at + QPointF(0, 9))
    painter.drawEllipse(at - QPointF(0, 3), 3.5, 3.5)


def paint_held(painter: QPainter, strip: Strip, held: Held, theme: Theme) -> None:
    """Paint a piece where it is held: free, pushing others away, or where it may not lie."""
    path = way_of(strip).map(painter_path(held.placement.polygon))
    colour = QColor(strip.film.colour)
    colour.setAlphaF(0.8)
    if not held.touch.is_lawful:
        edge = QColor(theme.stop)
    elif held.touch.loose:
        edge = QColor(theme.warn)
    else:
        edge = QColor(theme.accent)
    painter.setBrush(colour)
    painter.setPen(QPen(edge, 3))
    painter.drawPath(path)
    _paint_label(painter, path, held.placement.item.label, ink_on(strip.film.colour))


def _paint_name(painter: QPainter, strip: Strip, theme: Theme) -> None:
    """Write below a sheet which one it is."""
    sheet = strip.sheet.sheet
    name = "to buy" if sheet.length_mm is None else sheet.id
    font = painter.font()
    painter.setFont(sized(font, 11))
    box = QRectF(strip.rect.left(), strip.rect.bottom() + 1, max(strip.rect.width(), 60), 14)
    paint_text(painter, box, name, theme.ink_soft)
    painter.setFont(font)


def _paint_label(painter: QPainter, path: QPainterPath, label: str, ink: QColor) -> None:
    """Write a piece's label along its longer side, where it fits whole."""
    box = path.boundingRect()
    font = painter.font()
    painter.setFont(sized(font, 11, is_bold=True))
    metrics = painter.fontMetrics()
    length, height = metrics.horizontalAdvance(label) + 8.0, float(metrics.height())
    is_upright = length > box.width() and box.height() > box.width()
    wide, tall = (height, length) if is_upright else (length, height)
    space = QRectF(0.0, 0.0, wide, tall)
    space.moveCenter(box.center())
    # Within the piece, not only its box: the text would run over those beside it.
    if path.contains(space):
        painter.save()
        painter.setPen(ink)
        painter.translate(box.center())
        painter.rotate(-90 if is_upright else 0)
        line = QRectF(-length / 2, -height / 2, length, height)
        painter.drawText(line, int(Qt.AlignmentFlag.AlignCenter), label)
        painter.restore()
    painter.setFont(font)


def _paint_margin(painter: QPainter, look: Strip, theme: Theme) -> None:
    margin = look.sheet.sheet.margin_mm * look.scale
    if margin < 1.5 or look.sheet.sheet.outline is not None:
        return
    pen = QPen(QColor(theme.line), 1, Qt.PenStyle.DashLine)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(look.rect.adjusted(margin, margin, -margin, -margin))


def _paint_end(painter: QPainter, look: Strip, theme: Theme) -> None:
    """Mark where the used length ends."""
    if not look.sheet.placements:
        return
    x = look.rect.left() + look.sheet.used_length_mm * look.scale
    painter.setPen(QPen(QColor(theme.accent), 1.5, Qt.PenStyle.DashLine))
    painter.drawLine(QPointF(x, look.rect.top()), QPointF(x, look.rect.bottom()))


def _paint_ruler(painter: QPainter, look: Strip, theme: Theme, units: Units) -> None:
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
        room = look.rect.right() + (24 if i == 0 else GAP_PX - 4)  # the next sheet begins there
        if box.left() + painter.fontMetrics().horizontalAdvance(text) < room:
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
    painter: QPainter,
    rect: QRectF,
    of: tuple[Film, FilmRolls],
    theme: Theme,
    units: Units,
) -> None:
    """Paint the film's name and numbers at the left of its strips."""
    film, rolls = of
    font = painter.font()
    box = rect.adjusted(PAD, 18, -PAD, 0)
    paint_swatch(painter, QRectF(box.left(), box.top(), 20, 20), film.colour, theme)
    painter.setFont(sized(font, 13, is_bold=True))
    has_grain = film.grain is not Grain.NONE
    name = QRectF(box.left() + 28, box.top(), box.width() - (56 if has_grain else 28), 20)
    arrow = QRectF(box.right() - 24, box.top() + 1, 24, 18)
    _paint_grain(painter, arrow, film.grain, theme)
    paint_text(painter, name, film.name, theme.ink)
    painter.setFont(sized(font, 12))
    line = QRectF(box.left(), box.top() + 26, box.width(), 18)
    for text, colour in _numbers(film, rolls, theme, units):
        paint_text(painter, line, text, colour)
        line = line.translated(0, 18)
    painter.setFont(font)


def _numbers(film: Film, rolls: FilmRolls, theme: Theme, units: Units) -> list[tuple[str, str]]:
    if rolls.has_failed:
        return [("Could not be laid out", theme.stop), ("See Review", theme.ink_soft)]
    laid = [s for s in rolls.sheets if s.placements]
    whole = sum(s.used_length_mm * s.sheet.width_mm for s in laid)
    covered = sum(p.item.polygon.area for s in laid for p in s.placements)
    used = _told(rolls.used_lengths_mm, units) or "From offcuts alone"
    if rolls.used_length_mm > rolls.job_length_mm + 1:
        bare = _told(rolls.job_lengths_mm, units) or "From offcuts"
        used = f"{bare}; with retakes {used}"
    lines = [(used, theme.ink)]
    if whole:
        lines.append((f"{100 * covered / whole:.0f} % of it is pieces", theme.ink_soft))
    if film.grain is not Grain.NONE:
        lines.append((GRAIN_WORDS[film.grain], theme.ink_soft))
    short = sum(m.length_mm or 0.0 for m in rolls.missing)
    stuck = sum(len(m.items) for m in rolls.missing if m.length_mm is None)
    if short:
        lines.append((f"{length_to_buy(short, units)} to buy", theme.warn))
    if stuck:
        lines.append((f"{stuck} too large for this roll", theme.stop))
    if laid and all(s.engine == "kept" for s in laid):
        lines.append(("Kept layout", theme.accent))
    return lines


def _told(lengths_mm: Sequence[float], units: Units) -> str:
    """Return a total as it is told; nothing where nothing is used."""
    whole_mm = told_mm(lengths_mm, units)
    return length_to_buy(whole_mm, units) if whole_mm else ""

"""The lines on a panel: rim, openings, seams with the side on top, lay-order numbers."""

from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.canvas.items.marks import draw_mark
from app.canvas.items.paths import line_path, node_path, polygon_path
from app.canvas.style import font, hair, ink_over, mixed, stroke
from app.theme import Theme
from core.document.film import Film
from core.document.hit import is_closed
from core.document.panel import Mark, Panel
from core.document.variant import Scheme
from core.ids import RegionId
from core.plan.lookup import label_places, tick_marks
from core.plan.model import PanelPlan, Stretch

SCALE_PX = 4.5
TICK_EVERY_PX = 48.0
NUMBER_ROOM_PX = 11.0


@dataclass(slots=True)
class _Border:
    """A stretch ready to draw; ticks are made for one zoom and kept."""

    stretch: Stretch
    path: QPainterPath
    pen: QPen
    tick_ink: QColor
    spacing_mm: float = 0.0
    ticks: list[tuple[QPointF, QPointF]] | None = None


@dataclass(frozen=True, slots=True)
class _Number:
    text: str
    at: QPointF
    room_mm: float
    ink: QColor


class InkItem(QGraphicsItem):
    """All lines, symbols and numbers of one panel, above its film."""

    def __init__(self, parent: QGraphicsItem) -> None:
        super().__init__(parent)
        self._borders: list[_Border] = []
        self._loose: list[tuple[QPainterPath, QPen]] = []
        self._rim = QPainterPath()
        self._extended = QPainterPath()
        self._marks: tuple[Mark, ...] = ()
        self._numbers: list[_Number] = []
        self._rim_pen = self._edge_pen = QPen()
        self._theme: Theme | None = None
        self._bounds = QRectF()
        self._known: dict[str, _Border] = {}

    def show_plan(
        self,
        plan: PanelPlan,
        panel: Panel,
        scheme: Scheme,
        films: Mapping[str, Film],
        theme: Theme,
    ) -> None:
        """Take over a panel's plan and what is drawn on it."""
        self._theme = theme
        self._rim = polygon_path(plan.outline)
        self._extended = polygon_path(plan.extended)
        self._rim_pen = stroke(theme.panel_edge, 1.4)
        self._edge_pen = hair(mixed(theme.ink_soft, theme.canvas, 0.35))
        self._marks = panel.marks
        colours = {region.id: films[region.film].colour for region in plan.regions}
        self._borders = [self._border(s, colours) for s in plan.stretches]
        self._known = {b.stretch.id: b for b in self._borders}
        drawn = {s.line for s in plan.stretches}
        self._loose = [
            (node_path(line.nodes, closed=is_closed(line)), _loose_pen(theme))
            for line in scheme.lines
            if line.id not in drawn
        ]
        self._numbers = _numbers(plan, colours)
        self._set_bounds(plan)
        self.update()

    def _border(self, stretch: Stretch, colours: Mapping[RegionId, str]) -> _Border:
        top, under = colours.get(stretch.top, "#888888"), colours.get(stretch.under, "#888888")
        pen, tick_ink = hair(ink_over(top, under)), ink_over(top)
        known = self._known.get(stretch.id)
        if known is not None and known.stretch is stretch:
            known.pen, known.tick_ink = pen, tick_ink
            return known
        return _Border(stretch, line_path(stretch.path), pen, tick_ink)

    def _set_bounds(self, plan: PanelPlan) -> None:
        x0, y0, x1, y1 = plan.extended.bounds
        bounds = QRectF(x0, y0, x1 - x0, y1 - y0)
        for path, _ in self._loose:
            bounds = bounds.united(path.controlPointRect())
        bounds.adjust(-4, -4, 4, 4)
        if bounds != self._bounds:
            self.prepareGeometryChange()
            self._bounds = bounds

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return the bounds of the panel and of lines that leave it."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,  # noqa: ARG002 - Qt's signature
    ) -> None:
        """Draw lines in millimetres with cosmetic pens, symbols and numbers in pixels."""
        if self._theme is None:
            return
        world = painter.worldTransform()
        scale = option.levelOfDetailFromTransform(world)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._edge_pen)
        painter.drawPath(self._extended)
        for border in self._borders:
            painter.setPen(border.pen)
            painter.drawPath(border.path)
        for path, pen in self._loose:
            painter.setPen(pen)
            painter.drawPath(path)
        painter.setPen(self._rim_pen)
        painter.drawPath(self._rim)
        painter.save()
        painter.setWorldTransform(QTransform())
        self._paint_ticks(painter, world, scale)
        for mark in self._marks:
            draw_mark(painter, mark, world, scale, self._theme)
        self._paint_numbers(painter, world, scale)
        painter.restore()

    def _paint_ticks(self, painter: QPainter, world: QTransform, scale: float) -> None:
        """Draw small scales on the side that lies on top."""
        painter.setPen(Qt.PenStyle.NoPen)
        spacing = TICK_EVERY_PX / scale
        for border in self._borders:
            if border.stretch.length_mm * scale < TICK_EVERY_PX / 2:
                continue
            if border.ticks is None or not 0.7 < spacing / border.spacing_mm < 1.5:
                points, steps = tick_marks(border.stretch, spacing)
                border.spacing_mm = spacing
                border.ticks = [
                    (QPointF(x, y), QPointF(dx, dy))
                    for (x, y), (dx, dy) in zip(points.tolist(), steps.tolist(), strict=True)
                ]
            painter.setBrush(border.tick_ink)
            size = SCALE_PX / scale
            for at, step in border.ticks:
                side = QPointF(step.y(), -step.x()) * size
                corners = [at + side, at + step * size * 1.3, at - side]
                painter.drawPolygon(world.map(QPolygonF(corners)))

    def _paint_numbers(self, painter: QPainter, world: QTransform, scale: float) -> None:
        painter.setFont(font(11, bold=True))
        for number in self._numbers:
            if number.room_mm * scale < NUMBER_ROOM_PX:
                continue
            at = world.map(number.at)
            box = QRectF(at.x() - 20, at.y() - 9, 40, 18)
            painter.setPen(number.ink)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, number.text)
            below = at.y() + 8
            painter.drawLine(QLineF(at.x() - 7, below, at.x() + 7, below))


def _loose_pen(theme: Theme) -> QPen:
    pen = stroke(theme.warn, 1.4)
    pen.setStyle(Qt.PenStyle.DashLine)
    return pen


def _numbers(plan: PanelPlan, colours: Mapping[RegionId, str]) -> list[_Number]:
    """Return the lay-order number of each piece, in the roomiest of its regions."""
    places = label_places(plan)
    numbers = []
    for piece in plan.pieces:
        regions = [r for r in piece.regions if r in places]
        if not regions:
            continue
        roomiest = max(regions, key=lambda r: places[r][1])
        (x, y), room = places[roomiest]
        ink = ink_over(colours[roomiest])
        numbers.append(_Number(str(piece.order), QPointF(x, y), room, ink))
    return numbers

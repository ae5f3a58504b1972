"""The lines on a panel: rim, openings, seams with the side on top, lay-order numbers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget
from shapely import Geometry

from app.canvas.items.marks import draw_mark, mark_bounds
from app.canvas.items.paths import SeenPath, joined_path, node_path
from app.canvas.style import font, hair, ink_over, mixed, stroke
from app.theme import Theme
from core.document.film import Film
from core.document.hit import is_closed
from core.document.kept_symmetry import axis_ends
from core.document.panel import Mark, Panel
from core.document.variant import Scheme
from core.ids import RegionId
from core.plan.cutting import ReliefCut
from core.plan.lookup import is_same_shape, label_places, scale_marks
from core.plan.model import PanelPlan, Stretch

SCALE_PX, LEAST_SCALE_PX, SCALE_MM = 4.5, 2.2, 8.0
"""Scales are this large, and smaller where the panel is seen from afar."""
SCALE_EVERY_PX = 48.0
NUMBER_ROOM_PX = 11.0
AXIS_ROOM_PX = 15.0
MARK_PX = 14.0
RELIEF_END_PX = 3.5
"""A relief cut's inner end is a ring of this radius at least."""
"""Symbols of marks may be larger than the marks by this."""


@dataclass(slots=True)
class _Border:
    """A stretch ready to draw; its scales are made for one zoom and kept."""

    stretch: Stretch
    path: SeenPath
    bounds: QRectF
    pen: QPen
    scale_ink: QColor
    spacing_mm: float = 0.0
    scales: QPainterPath | None = None

    def has_same(self, stretch: Stretch) -> bool:
        """Whether a stretch of another plan is drawn alike."""
        return stretch.top_side is self.stretch.top_side and is_same_shape(
            stretch.path, self.stretch.path
        )


@dataclass(frozen=True, slots=True)
class _ReliefInk:
    """A relief cut ready to draw: its line, and the hole at its inner end.

    Attributes:
        ground: the pen of a rim beneath, so that it stands out from colours of strain, too.
    """

    cut: ReliefCut
    path: QPainterPath
    pen: QPen
    ground: QPen

    @property
    def end(self) -> QPointF:
        """The inner end."""
        return QPointF(*self.cut.path.coords[-1])


@dataclass(frozen=True, slots=True)
class _Number:
    text: str
    at: tuple[float, float]
    room_mm: float
    ink: str


@dataclass(frozen=True, slots=True)
class Sight:
    """What a panel's lines are drawn from.

    Attributes:
        bounds: of the panel, mm.
        px_mm: how many millimetres a screen pixel shows.
    """

    plan: PanelPlan
    panel: Panel
    scheme: Scheme
    films: Mapping[str, Film]
    theme: Theme
    bounds: QRectF
    px_mm: float


class InkItem(QGraphicsItem):
    """All lines, symbols and numbers of one panel, above its film."""

    def __init__(self, parent: QGraphicsItem) -> None:
        super().__init__(parent)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._borders: dict[str, _Border] = {}
        self._loose: list[tuple[QPainterPath, QPen]] = []
        self._reliefs: list[_ReliefInk] = []
        self._rings: tuple[object, ...] = ()
        self._rim, self._extended = SeenPath(), SeenPath()
        self._axis = QPainterPath()
        self._marks: list[tuple[Mark, QRectF]] = []
        self._numbers: list[_Number] = []
        self._rim_pen = self._edge_pen = QPen()
        self._theme: Theme | None = None
        self._bounds = QRectF()
        self._margin_mm = 0.0
        self._has_numbers = True

    def set_numbers(self, *, shown: bool) -> None:
        """Show the lay-order numbers, or leave them out."""
        if shown != self._has_numbers:
            self._has_numbers = shown
            self.update()

    def show_plan(self, sight: Sight) -> None:
        """Take over a panel's plan and what is drawn on it."""
        plan, panel, theme = sight.plan, sight.panel, sight.theme
        colours = {r.id: sight.films[r.film].colour for r in plan.regions}
        ends = axis_ends(panel)
        rings = (plan.outline, plan.extended, panel.marks, ends, theme)
        is_whole = not _are_all(self._rings, rings) or bool(self._loose)
        if is_whole:
            self._rings, self._theme = rings, theme
            self._marks = [(mark, mark_bounds(mark)) for mark in panel.marks]
            self._take_rings(plan, panel, theme)
            self._axis = joined_path([np.array(ends)]) if ends else QPainterPath()
        dirty = self._take_borders(plan, colours)
        is_whole = self._take_reliefs(plan, colours) or is_whole
        drawn = {s.line for s in plan.stretches} | {r.cut.line for r in self._reliefs}
        self._loose = [
            (node_path(line.nodes, closed=is_closed(line)), _loose_pen(theme))
            for line in sight.scheme.lines
            if line.id not in drawn
        ]
        dirty |= self._take_numbers(_numbers(plan, panel.marks, colours), sight.px_mm)
        self._margin_mm = SCALE_PX * 2 * sight.px_mm
        is_whole = self._set_bounds(sight.bounds) or is_whole or bool(self._loose)
        if is_whole:
            self.update()
        elif not dirty.isEmpty():
            m = self._margin_mm
            self.update(dirty.adjusted(-m, -m, m, m))

    def _take_rings(self, plan: PanelPlan, panel: Panel, theme: Theme) -> None:
        self._extended = SeenPath(plan.extended)
        self._edge_pen = hair(mixed(theme.ink_soft, theme.canvas, 0.35))
        self._rim_pen = stroke(theme.panel_edge, 1.4)
        self._rim = SeenPath(plan.outline)
        if not plan.outline.is_empty:
            return
        # Rings that make no shape are shown as they were drawn, so that they can be mended.
        self._rim_pen = stroke(theme.stop, 1.4)
        self._rim = SeenPath()
        self._rim.full = node_path(panel.outline, closed=True)
        for opening in panel.openings:
            self._rim.full.addPath(node_path(opening.nodes, closed=True))

    def _take_borders(self, plan: PanelPlan, colours: Mapping[RegionId, str]) -> QRectF:
        """Take over the stretches; return where they differ from those before."""
        old, dirty = self._borders, QRectF()
        self._borders = {}
        for stretch in plan.stretches:
            top, under = (
                colours.get(stretch.top, "#888888"),
                colours.get(stretch.under, "#888888"),
            )
            pen, scale_ink = hair(ink_over(top, under)), ink_over(top)
            known = old.get(stretch.id)
            if known is not None and known.has_same(stretch):
                if (known.pen.color(), known.scale_ink) != (pen.color(), scale_ink):
                    dirty |= known.bounds
                known.stretch, known.pen, known.scale_ink = stretch, pen, scale_ink
                self._borders[stretch.id] = known
                continue
            path = SeenPath(stretch.path)
            border = _Border(stretch, path, path.full.controlPointRect(), pen, scale_ink)
            self._borders[stretch.id] = border
            dirty |= _grown(border.bounds)
        for name, border in old.items():
            if self._borders.get(name) is not border:
                dirty |= _grown(border.bounds)
        return dirty

    def _take_reliefs(self, plan: PanelPlan, colours: Mapping[RegionId, str]) -> bool:
        """Take over the relief cuts; whether they differ from those before."""
        inks = [
            (cut, ink_over(*(colours.get(r, "#888888") for r in piece.regions)))
            for piece in plan.pieces
            for cut in piece.relief_cuts
        ]
        if [(r.cut, r.pen.color()) for r in self._reliefs] == inks:
            return False
        self._reliefs = [
            _ReliefInk(cut, joined_path([np.array(cut.path.coords)]), *_relief_pens(ink))
            for cut, ink in inks
        ]
        return True

    def _take_numbers(self, numbers: list[_Number], px_mm: float) -> QRectF:
        """Take over the numbers; return where they differ from those before."""
        dirty = QRectF()
        for number in set(self._numbers) ^ set(numbers):
            x, y = number.at
            m = 20 * px_mm
            dirty |= QRectF(x - m, y - m, 2 * m, 2 * m)
        self._numbers = numbers
        return dirty

    def _set_bounds(self, bounds: QRectF) -> bool:
        """Set the item's bounds; whether they have changed."""
        bounds = bounds.united(self._rim.full.controlPointRect())
        bounds = bounds.united(_grown(self._axis.controlPointRect()))
        for path, _ in self._loose:
            bounds = bounds.united(path.controlPointRect())
        m = self._margin_mm
        bounds.adjust(-m, -m, m, m)
        if bounds == self._bounds:
            return False
        self.prepareGeometryChange()
        self._bounds = bounds
        return True

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
        m = SCALE_PX * 2 / scale
        exposed = option.exposedRect.adjusted(-m, -m, m, m)
        borders = [b for b in self._borders.values() if _grown(b.bounds).intersects(exposed)]
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._edge_pen)
        painter.drawPath(self._extended.at(1 / scale))
        for border in borders:
            painter.setPen(border.pen)
            painter.drawPath(border.path.at(1 / scale))
            self._paint_scales(painter, border, scale)
        for path, pen in self._loose:
            painter.setPen(pen)
            painter.drawPath(path)
        self._paint_reliefs(painter, scale)
        painter.setPen(self._rim_pen)
        painter.drawPath(self._rim.at(1 / scale))
        if not self._axis.isEmpty():
            for pen in _axis_pens(self._theme):
                painter.setPen(pen)
                painter.drawPath(self._axis)
        painter.save()
        painter.setWorldTransform(QTransform())
        near = exposed.adjusted(
            -MARK_PX / scale, -MARK_PX / scale, MARK_PX / scale, MARK_PX / scale
        )
        for mark, bounds in self._marks:
            if bounds.intersects(near):
                draw_mark(painter, mark, world, scale, self._theme)
        if self._has_numbers:
            self._paint_numbers(painter, world, scale, exposed)
        painter.restore()

    def _paint_reliefs(self, painter: QPainter, scale: float) -> None:
        """Draw relief cuts, each with a ring at its inner end."""
        for relief in self._reliefs:
            radius = max(RELIEF_END_PX / scale, relief.cut.hole_mm / 2)
            for pen in (relief.ground, relief.pen):
                painter.setPen(pen)
                painter.drawPath(relief.path)
                end = QPen(pen)
                end.setStyle(Qt.PenStyle.SolidLine)
                painter.setPen(end)
                painter.drawEllipse(relief.end, radius, radius)

    def _paint_scales(self, painter: QPainter, border: _Border, scale: float) -> None:
        """Draw small scales on the side that lies on top."""
        spacing = SCALE_EVERY_PX / scale
        if border.stretch.length_mm < spacing / 2:
            return
        if border.scales is None or not 0.7 < spacing / border.spacing_mm < 1.45:
            border.spacing_mm = spacing
            size_px = min(SCALE_PX, max(LEAST_SCALE_PX, SCALE_MM * scale))
            corners = scale_marks(border.stretch, spacing, size_px / scale)
            border.scales = joined_path(list(corners))
        painter.fillPath(border.scales, border.scale_ink)

    def _beside_axis(self, px: QPointF, world: QTransform) -> QPointF:
        """Move a number off the axis that it would be struck through by."""
        if self._axis.isEmpty():
            return px
        axis = QLineF(
            world.map(self._axis.pointAtPercent(0)), world.map(self._axis.currentPosition())
        )
        square = axis.normalVector().unitVector()
        step = square.p2() - square.p1()
        off = QPointF.dotProduct(px - axis.p1(), step)
        if abs(off) >= AXIS_ROOM_PX:
            return px
        return px + step * ((AXIS_ROOM_PX if off > -3 else -AXIS_ROOM_PX) - off)

    def _paint_numbers(
        self, painter: QPainter, world: QTransform, scale: float, exposed: QRectF
    ) -> None:
        painter.setFont(font(11, bold=True))
        for number in self._numbers:
            at = QPointF(*number.at)
            is_near = exposed.adjusted(-20 / scale, -20 / scale, 20 / scale, 20 / scale)
            if number.room_mm * scale < NUMBER_ROOM_PX or not is_near.contains(at):
                continue
            px = self._beside_axis(world.map(at), world)
            box = QRectF(px.x() - 20, px.y() - 9, 40, 18)
            painter.setPen(QColor(number.ink))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, number.text)
            below = px.y() + 8
            painter.drawLine(QLineF(px.x() - 7, below, px.x() + 7, below))


def _are_all(old: tuple[object, ...], new: tuple[object, ...]) -> bool:
    """Whether what rings are drawn from is the same as before."""
    return len(old) == len(new) and all(
        is_same_shape(a, b)
        if isinstance(a, Geometry) and isinstance(b, Geometry)
        else a is b or a == b
        for a, b in zip(old, new, strict=True)
    )


def _grown(bounds: QRectF) -> QRectF:
    """A straight upright or level line has bounds without area, which Qt takes for empty."""
    return bounds.adjusted(-0.5, -0.5, 0.5, 0.5)


def _loose_pen(theme: Theme) -> QPen:
    pen = stroke(theme.warn, 1.4)
    pen.setStyle(Qt.PenStyle.DashLine)
    return pen


def _relief_pens(ink: QColor) -> tuple[QPen, QPen]:
    """Return the pens of a relief cut, bold and dashed where a seam is a hair; and its rim."""
    pen = stroke(ink, 1.8)
    pen.setDashPattern([4, 2.2])
    other = QColor(ink_over(ink.name()))
    other.setAlpha(150)
    return pen, stroke(other, 3.6)


def _axis_pens(theme: Theme) -> tuple[QPen, QPen]:
    """Return the pens of an axis of symmetry, ground first: long and short dashes.

    Source: ISO 128-2, line type 04 (long-dashed dotted), for axes of symmetry; from memory.
    """
    pen = hair(theme.accent)
    pen.setDashPattern([14, 4, 2, 4])
    ground = QColor(theme.surface_raised)
    ground.setAlpha(140)
    halo = hair(ground)
    halo.setWidthF(3.0)
    return halo, pen


def _numbers(
    plan: PanelPlan, marks: Sequence[Mark], colours: Mapping[RegionId, str]
) -> list[_Number]:
    """Return the lay-order number of each region's piece."""
    places = label_places(plan, marks)
    numbers = []
    for piece in plan.pieces:
        for region in piece.regions:
            if region in places:
                at, room = places[region]
                ink = ink_over(colours[region]).name()
                numbers.append(_Number(str(piece.order), at, room, ink))
    return numbers

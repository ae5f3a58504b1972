"""What is drawn over the photo: corners and lengths, what was traced, what is being drawn."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.canvas.items.marks import draw_mark
from app.canvas.items.paths import node_path
from app.canvas.style import font, hair, stroke
from app.theme import Theme
from core.document.panel import Mark
from core.document.path import Node, Path
from core.read.photo_trace import EMPTY, Spot, TracedMark, Tracing, numbered_rings, ring_at

Place = tuple[float, float]
NODE_PX = 4.0
_LEAST_MARK_PX = 5.0
_ROOM = 400_000.0


@dataclass(frozen=True, slots=True)
class Overlay:
    """All that is to be drawn, in the scene's frame (y up).

    Attributes:
        corners: a rectangle's corners, or both ends of a length, or ().
        active: which of them the keys move.
        box: opposite corners of a rectangle that is being drawn.
        draft: nodes of a ring that is being drawn; ``dangling`` runs from the last to the
            pointer.
        circle: middle and radius of a round opening that is being drawn.
        sheets: marker sheets that were found.
        caught: the place of an edge that was caught.
        chosen: the node that is chosen; else ``chosen_mark`` and ``chosen_ring`` say which
            mark, or which opening (-1: the outline).
    """

    corners: tuple[Place, ...] = ()
    active: int | None = None
    box: tuple[Place, Place] | None = None
    tracing: Tracing = EMPTY
    chosen: Spot | None = None
    chosen_mark: int | None = None
    chosen_ring: int | None = None
    has_nodes: bool = True
    draft: tuple[Node, ...] = ()
    dangling: Path = ()
    circle: tuple[Place, float] | None = None
    sheets: tuple[tuple[Place, ...], ...] = ()
    caught: Place | None = None

    @property
    def has_choice(self) -> bool:
        """Whether something is chosen."""
        return not (
            self.chosen is None and self.chosen_mark is None and self.chosen_ring is None
        )


class OverlayItem(QGraphicsItem):
    """Draws an overlay in screen pixels."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.setZValue(10)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._theme = theme
        self._overlay = Overlay()

    @property
    def overlay(self) -> Overlay:
        """What is drawn."""
        return self._overlay

    def show_overlay(self, overlay: Overlay) -> None:
        """Draw something else."""
        if overlay != self._overlay:
            self._overlay = overlay
            self.update()

    def set_theme(self, theme: Theme) -> None:
        """Draw in other colours."""
        self._theme = theme
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return everything: what is drawn has sizes in screen pixels."""
        return QRectF(-_ROOM, -_ROOM, 2 * _ROOM, 2 * _ROOM)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,  # noqa: ARG002 - Qt's signature
        widget: QWidget | None = None,  # noqa: ARG002
    ) -> None:
        """Draw it all."""
        world = painter.worldTransform()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setWorldTransform(QTransform())
        self._draw_sheets(painter, world)
        self._draw_tracing(painter, world)
        self._draw_draft(painter, world)
        self._draw_corners(painter, world)
        painter.restore()

    def _draw_sheets(self, painter: QPainter, world: QTransform) -> None:
        for sheet in self._overlay.sheets:
            path = _closed([world.map(QPointF(*p)) for p in sheet])
            tint = QColor(self._theme.accent)
            tint.setAlpha(60)
            painter.fillPath(path, tint)
            self._twice(painter, path, 1.4)

    def _draw_tracing(self, painter: QPainter, world: QTransform) -> None:
        look = self._overlay
        for number, ring in numbered_rings(look.tracing):
            width = 3.0 if number == look.chosen_ring else 1.8
            self._twice(painter, world.map(node_path(ring, closed=True)), width)
        for i, mark in enumerate(look.tracing.marks):
            self._draw_mark(painter, world, mark, is_chosen=i == look.chosen_mark)
        if look.has_nodes:
            for number, path in numbered_rings(look.tracing):
                self._draw_nodes(painter, world, path, number)

    def _draw_nodes(self, painter: QPainter, world: QTransform, path: Path, ring: int) -> None:
        chosen = self._overlay.chosen
        painter.setPen(hair(self._theme.accent))
        for node in path:
            is_chosen = chosen is not None and (chosen.ring, chosen.node) == (ring, node.id)
            if is_chosen:
                self._draw_handles(painter, world, node)
            painter.setBrush(
                QColor(self._theme.accent if is_chosen else self._theme.surface_raised)
            )
            _draw_node(painter, world.map(QPointF(*node.at)), is_smooth=node.smooth)

    def _draw_handles(self, painter: QPainter, world: QTransform, node: Node) -> None:
        at = world.map(QPointF(*node.at))
        painter.setBrush(QColor(self._theme.surface_raised))
        for handle in (node.before, node.after):
            if handle is not None:
                tip = world.map(QPointF(node.at[0] + handle[0], node.at[1] + handle[1]))
                painter.drawLine(QLineF(at, tip))
                painter.drawEllipse(tip, 3.5, 3.5)

    def _draw_mark(
        self, painter: QPainter, world: QTransform, mark: TracedMark, *, is_chosen: bool
    ) -> None:
        """Draw a mark as on the canvas; one that is chosen in the accent, with its points."""
        shown = Mark(id="m1", kind=mark.kind, path=mark.path, radius_mm=mark.radius_mm)
        scale = abs(world.m11())
        draw_mark(painter, shown, world, scale, self._theme)
        places = [world.map(QPointF(*p)) for p in mark.path]
        if is_chosen and len(places) == 1:
            path = QPainterPath()
            r = max(mark.radius_mm * scale, _LEAST_MARK_PX) + 4
            path.addEllipse(places[0], r, r)
            self._twice(painter, path, 1.6)
        elif is_chosen:
            self._twice(painter, _open(places), 2.4)
        if len(places) > 1 and self._overlay.has_nodes:
            painter.setPen(hair(self._theme.accent))
            painter.setBrush(QColor(self._theme.surface_raised))
            for place in places:
                _draw_node(painter, place, is_smooth=False)

    def _draw_draft(self, painter: QPainter, world: QTransform) -> None:
        look = self._overlay
        if look.box is not None:
            a, b = (world.map(QPointF(*p)) for p in look.box)
            path = QPainterPath()
            path.addRect(QRectF(a, b).normalized())
            tint = QColor(self._theme.accent)
            tint.setAlpha(34)
            painter.fillPath(path, tint)
            self._twice(painter, path, 1.4)
        if look.circle is not None:
            middle, radius = look.circle
            path = QPainterPath()
            path.addEllipse(QPointF(*middle), radius, radius)
            self._twice(painter, world.map(path), 1.8)
        if look.draft:
            self._twice(painter, world.map(node_path(look.draft, closed=False)), 1.8)
            self._twice(painter, world.map(node_path(look.dangling, closed=False)), 1.0)
            painter.setPen(hair(self._theme.accent))
            for node in look.draft:
                self._draw_handles(painter, world, node)
                painter.setBrush(QColor(self._theme.surface_raised))
                _draw_node(painter, world.map(QPointF(*node.at)), is_smooth=node.smooth)
        if look.caught is not None:
            at = world.map(QPointF(*look.caught))
            path = QPainterPath()
            path.addEllipse(at, 7, 7)
            self._twice(painter, path, 1.6)

    def _draw_corners(self, painter: QPainter, world: QTransform) -> None:
        look = self._overlay
        if not look.corners:
            return
        places = [world.map(QPointF(*p)) for p in look.corners]
        is_closed = len(places) > 2
        self._twice(painter, _closed(places) if is_closed else _open(places), 1.4)
        names = ("lower left", "lower right", "upper right", "upper left")
        for i, at in enumerate(places):
            is_active = i == look.active
            path = QPainterPath()
            path.addEllipse(at, 9, 9)
            self._twice(painter, path, 2.6 if is_active else 1.6)
            painter.setPen(hair(self._theme.accent))
            painter.drawPoint(at)
            words = names[i] if is_closed else ("from", "to")[i]
            _draw_tag(painter, at + QPointF(14, 22), words, self._theme)

    def _twice(self, painter: QPainter, path: QPainterPath, width: float) -> None:
        """Stroke on a pale ground, so that it stands off any photo."""
        painter.setBrush(QBrush(Qt.BrushStyle.NoBrush))
        painter.setPen(stroke(self._theme.surface_raised, width + 2.4))
        painter.drawPath(path)
        painter.setPen(stroke(self._theme.accent, width))
        painter.drawPath(path)


def chosen_node(overlay: Overlay) -> Node | None:
    """Return the node that is chosen."""
    spot = overlay.chosen
    if spot is None:
        return None
    return next((n for n in ring_at(overlay.tracing, spot.ring) if n.id == spot.node), None)


def _draw_node(painter: QPainter, at: QPointF, *, is_smooth: bool) -> None:
    if is_smooth:
        painter.drawEllipse(at, NODE_PX, NODE_PX)
    else:
        painter.drawRect(QRectF(at.x() - NODE_PX, at.y() - NODE_PX, 2 * NODE_PX, 2 * NODE_PX))


def _draw_tag(painter: QPainter, at: QPointF, words: str, theme: Theme) -> None:
    painter.setFont(font(11))
    width = painter.fontMetrics().horizontalAdvance(words) + 12
    plate = QRectF(at.x(), at.y() - 9, width, 18)
    painter.setPen(hair(theme.line))
    painter.setBrush(QColor(theme.surface_raised))
    painter.drawRoundedRect(plate, 3, 3)
    painter.setPen(QColor(theme.ink))
    painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, words)


def _closed(places: Sequence[QPointF]) -> QPainterPath:
    path = _open(places)
    path.closeSubpath()
    return path


def _open(places: Sequence[QPointF]) -> QPainterPath:
    path = QPainterPath(places[0])
    for place in places[1:]:
        path.lineTo(place)
    return path

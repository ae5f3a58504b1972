"""What lies over the panels while one works: highlights, grips, drafts of lines, catches."""

from collections.abc import Callable

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPen, QTransform
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsPathItem,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.canvas.items.paths import node_path
from app.canvas.owners import Grip
from app.canvas.style import font, hair, stroke
from app.theme import Theme
from core.document.path import Path, Point
from core.geometry.snapping import CatchKind

NODE_PX = 4.0
_MARGIN_PX = 90.0


class HighlightItem(QGraphicsPathItem):
    """A path in the accent colour, on a wider stroke that sets it off from any film."""

    def __init__(self, z: float) -> None:
        super().__init__()
        self.setZValue(z)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._halo = QPen()

    def show_path(self, path: QPainterPath, theme: Theme, width_px: float) -> None:
        """Show a path; an empty one shows nothing."""
        if path.isEmpty() and self.path().isEmpty():
            return
        self._halo = stroke(theme.surface_raised, width_px + 2)
        self.setPen(stroke(theme.accent, width_px))
        self.setPath(path)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,  # noqa: ARG002 - Qt's signature
        widget: QWidget | None = None,  # noqa: ARG002
    ) -> None:
        """Draw both strokes."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for pen in (self._halo, self.pen()):
            painter.setPen(pen)
            painter.drawPath(self.path())


class OverItem(QGraphicsItem):
    """An item drawn in screen pixels about places in millimetres."""

    def __init__(self, z: float) -> None:
        super().__init__()
        self.setZValue(z)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._points: list[Point] = []
        self._px_mm = 1.0
        self._theme: Theme | None = None
        self._margin_px = _MARGIN_PX

    def set_scale(self, px_mm: float) -> None:
        """Say how many millimetres a pixel shows, which sets the margin around the places."""
        self.prepareGeometryChange()
        self._px_mm = px_mm

    def _set_points(self, points: list[Point]) -> None:
        self.prepareGeometryChange()
        self._points = points
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return the places' bounds with room for what is drawn about them."""
        if not self._points:
            return QRectF()
        xs, ys = [p[0] for p in self._points], [p[1] for p in self._points]
        m = self._margin_px * self._px_mm
        left, low = min(xs), min(ys)
        return QRectF(left, low, max(xs) - left, max(ys) - low).adjusted(-m, -m, m, m)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,  # noqa: ARG002 - Qt's signature
        widget: QWidget | None = None,  # noqa: ARG002
    ) -> None:
        """Draw in screen pixels."""
        if self._theme is None or not self._points:
            return
        world = painter.worldTransform()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setWorldTransform(QTransform())
        self._draw(painter, world, self._theme)
        painter.restore()

    def _draw(self, painter: QPainter, world: QTransform, theme: Theme) -> None:
        raise NotImplementedError


class GripsItem(OverItem):
    """Nodes, handles and width grips of what is selected."""

    def __init__(self) -> None:
        super().__init__(z=60)
        self.grips: tuple[Grip, ...] = ()
        self._say: Callable[[float], str] = str

    def show_grips(
        self, grips: tuple[Grip, ...], theme: Theme, say_length: Callable[[float], str]
    ) -> None:
        """Take over the grips to show."""
        self.grips, self._theme, self._say = grips, theme, say_length
        has_tags = any(g.width_mm is not None for g in grips)
        self._margin_px = _MARGIN_PX if has_tags else 3 * NODE_PX
        self._set_points([p for g in grips for p in (g.at, g.anchor)])

    def _draw(self, painter: QPainter, world: QTransform, theme: Theme) -> None:
        pen, free = hair(theme.accent), QColor(theme.surface_raised)
        painter.setPen(pen)
        painter.setBrush(free)
        labelled = set()
        corners = []
        for grip in self.grips:
            if not grip.has_room(self._px_mm):
                continue
            at, anchor = world.map(QPointF(*grip.at)), world.map(QPointF(*grip.anchor))
            match grip.kind:
                case "node" if grip.is_selected:
                    painter.setBrush(pen.color())
                    _draw_node(painter, at, is_smooth=grip.is_smooth)
                    painter.setBrush(free)
                case "node" if grip.is_smooth:
                    _draw_node(painter, at, is_smooth=True)
                case "node":
                    corners.append(_square(at))
                case "before" | "after":
                    painter.drawLine(QLineF(anchor, at))
                    painter.drawEllipse(at, 3, 3)
                case "start" | "end":
                    painter.drawLine(QLineF(anchor, at))
                    _draw_width_grip(painter, at, anchor)
                    if grip.kind not in labelled and grip.width_mm is not None:
                        labelled.add(grip.kind)
                        words = self._say(grip.width_mm)
                        draw_tag(painter, at + QPointF(8, -8), words, theme)
                        painter.setPen(pen)
                        painter.setBrush(free)
        painter.drawRects(corners)


def _draw_node(painter: QPainter, at: QPointF, *, is_smooth: bool) -> None:
    if is_smooth:
        painter.drawEllipse(at, NODE_PX, NODE_PX)
    else:
        painter.drawRect(_square(at))


def _square(at: QPointF) -> QRectF:
    return QRectF(at.x() - NODE_PX, at.y() - NODE_PX, 2 * NODE_PX, 2 * NODE_PX)


def _draw_width_grip(painter: QPainter, at: QPointF, anchor: QPointF) -> None:
    """A wedge pointing away from the centre line."""
    painter.save()
    painter.translate(at)
    painter.rotate(-QLineF(anchor, at).angle())
    wedge = QPainterPath(QPointF(6, 0))
    wedge.lineTo(-2, 5)
    wedge.lineTo(-2, -5)
    wedge.closeSubpath()
    painter.drawPath(wedge)
    painter.restore()


def draw_tag(painter: QPainter, at: QPointF, text: str, theme: Theme) -> QRectF:
    """Draw small text on a plate; return the plate."""
    face = font(11)
    metrics = QFontMetricsF(face)
    plate = QRectF(at.x(), at.y() - 16, metrics.horizontalAdvance(text) + 12, 18)
    painter.setPen(hair(theme.line))
    painter.setBrush(QColor(theme.surface_raised))
    painter.drawRoundedRect(plate, 3, 3)
    painter.setPen(QColor(theme.ink))
    painter.setFont(face)
    painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, text)
    return plate


class DraftItem(OverItem):
    """A line while it is being drawn: what is placed, and the dangling rest."""

    def __init__(self) -> None:
        super().__init__(z=70)
        self._nodes: Path = ()
        self._dangling: Path = ()
        self._is_closed = False

    def show_draft(
        self, nodes: Path, dangling: Path, theme: Theme, offset: Point, *, closed: bool = False
    ) -> None:
        """Show nodes that are placed, and the path from the last to the pointer.

        Args:
            nodes: placed nodes in their panel's frame.
            dangling: two nodes, or none.
            theme: colours.
            offset: where the panel stands.
            closed: whether the placed path closes.
        """
        self._nodes, self._dangling, self._theme = nodes, dangling, theme
        self._is_closed = closed
        self.setPos(*offset)
        self._set_points([n.at for n in (*nodes, *dangling)])

    def clear(self) -> None:
        """Show nothing."""
        self._nodes = self._dangling = ()
        self._set_points([])

    def _draw(self, painter: QPainter, world: QTransform, theme: Theme) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        halo = stroke(theme.surface_raised, 4)
        for pen in (halo, stroke(theme.accent, 1.6)):
            painter.setPen(pen)
            painter.drawPath(world.map(node_path(self._nodes, closed=self._is_closed)))
        rest = stroke(theme.accent, 1.6)
        rest.setStyle(Qt.PenStyle.DashLine)
        for pen in (halo, rest):
            painter.setPen(pen)
            painter.drawPath(world.map(node_path(self._dangling, closed=False)))
        painter.setPen(hair(theme.accent))
        painter.setBrush(QColor(theme.surface_raised))
        for node in self._nodes:
            at = world.map(QPointF(*node.at))
            if node.after is not None:
                tip = world.map(QPointF(node.at[0] + node.after[0], node.at[1] + node.after[1]))
                root = world.map(
                    QPointF(node.at[0] - node.after[0], node.at[1] - node.after[1])
                )
                painter.drawLine(QLineF(root, tip))
                painter.drawEllipse(tip, 3, 3)
                painter.drawEllipse(root, 3, 3)
            _draw_node(painter, at, is_smooth=node.smooth)


class CatchItem(OverItem):
    """What was caught: a symbol on the place, its name and live sizes beside the pointer."""

    def __init__(self) -> None:
        super().__init__(z=80)
        self.words = ""
        self._kind: CatchKind | None = None

    def show_catch(self, at: Point, kind: CatchKind | None, words: str, theme: Theme) -> None:
        """Show a catch at a place of the canvas; words may have more than one line."""
        self._kind, self.words, self._theme = kind, words, theme
        self._set_points([at] if kind or words else [])

    def clear(self) -> None:
        """Show nothing."""
        self.words, self._kind = "", None
        if self._points:
            self._set_points([])

    def _draw(self, painter: QPainter, world: QTransform, theme: Theme) -> None:
        at = world.map(QPointF(*self._points[0]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for pen in (stroke(theme.surface_raised, 4), stroke(theme.accent, 1.8)):
            painter.setPen(pen)
            if self._kind is not None:
                painter.drawPath(_symbol(self._kind).translated(at))
        for i, line in enumerate(self.words.splitlines()):
            draw_tag(painter, at + QPointF(14, -8 + 20 * i), line, theme)


def _symbol(kind: CatchKind) -> QPainterPath:
    """Return a catch's symbol about the origin, 6 px each way."""
    path = QPainterPath()
    r = 6.0
    match kind:
        case CatchKind.NODE:
            path.addRect(QRectF(-r, -r, 2 * r, 2 * r))
        case CatchKind.MIDDLE:
            path.addEllipse(QPointF(0, 0), r, r)
            path.moveTo(0, -r - 3)
            path.lineTo(0, r + 3)
        case CatchKind.CROSSING:
            _add_lines(path, (-r, -r, r, r), (-r, r, r, -r))
        case CatchKind.SQUARE:
            _add_lines(path, (-r, -r, -r, r), (-r, r, r, r), (-r, 1, -1, 1), (-1, 1, -1, r))
        case CatchKind.ALONG:
            _add_lines(path, (-r - 3, r + 3, r + 3, -r - 3))
        case CatchKind.TANGENT:
            path.addEllipse(QPointF(0, 1), r - 2, r - 2)
            _add_lines(path, (-r - 3, -r + 2, r + 3, -r + 2))
        case CatchKind.RULE:
            _add_lines(path, (-r - 4, 0, r + 4, 0), (0, -r - 4, 0, r + 4))
        case CatchKind.GRID:
            _add_lines(path, (-r, -3, r, -3), (-r, 3, r, 3), (-3, -r, -3, r), (3, -r, 3, r))
        case CatchKind.ON:
            path.addEllipse(QPointF(0, 0), r - 2, r - 2)
            _add_lines(path, (-r - 4, 0, -r + 2, 0), (r - 2, 0, r + 4, 0))
    return path


def _add_lines(path: QPainterPath, *lines: tuple[float, float, float, float]) -> None:
    for x1, y1, x2, y2 in lines:
        path.moveTo(x1, y1)
        path.lineTo(x2, y2)

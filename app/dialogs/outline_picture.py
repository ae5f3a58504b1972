"""The live picture in the outline dialogs: before and after, with nodes to choose from."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
    QTransform,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas.items.paths import node_path
from app.theme import Theme, current_theme
from core.document.panel import Panel
from core.document.path import Path, Point

MARGIN_PX = 36
REACH_PX = 12.0
MANY_NODES = 60
"""With more nodes than this their numbers would cover the picture; a tool tip tells them."""


@dataclass(frozen=True, slots=True)
class Note:
    """A word beside the line between two points, such as a length."""

    text: str
    start: Point
    end: Point
    is_strong: bool = False


class OutlinePicture(QWidget):
    """Shows a panel as it is (dashed) and as it would be (filled), upright, y up."""

    clicked = Signal(str)
    """Id of a node."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._before = QPainterPath()
        self._after = QPainterPath()
        self._lines: tuple[QPainterPath, ...] = ()
        self._nodes: tuple[tuple[str, Point], ...] = ()
        self._chosen: tuple[str, ...] = ()
        self._notes: tuple[Note, ...] = ()
        self._empty = ""
        self.setMinimumSize(320, 280)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMouseTracking(True)
        self.setAccessibleName("Picture")

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return room to see something."""
        return QSize(420, 360)

    def show_before(self, panels: Sequence[Panel]) -> None:
        """Show how it is now, dashed."""
        self._before = _joined(_panel_path(p) for p in panels)
        self.update()

    def show_after(
        self, panels: Sequence[Panel], lines: Sequence[tuple[Path, bool, Point]] = ()
    ) -> None:
        """Show how it would be; lines are paths with whether they are closed and where."""
        self._after = _joined(_panel_path(p) for p in panels)
        self._lines = tuple(
            node_path(path, closed=closed).translated(*at) for path, closed, at in lines
        )
        self.update()

    def show_nodes(self, ring: Path, at: Point) -> None:
        """Show the nodes of a ring, to be clicked; an empty ring shows none."""
        self._nodes = tuple((n.id, (n.at[0] + at[0], n.at[1] + at[1])) for n in ring)
        self.update()

    def show_chosen(self, nodes: Sequence[str]) -> None:
        """Show which nodes are chosen."""
        self._chosen = tuple(nodes)
        self.update()

    def show_notes(self, notes: Sequence[Note]) -> None:
        """Show words beside lines."""
        self._notes = tuple(notes)
        self.update()

    def show_empty(self, text: str) -> None:
        """Say this where there is nothing to show."""
        self._empty = text
        self.update()

    def px_of(self, node: str) -> QPointF:
        """Return where a node is in the widget. KeyError when it is not shown."""
        return self._placed().map(QPointF(*dict(self._nodes)[node]))

    def _placed(self) -> QTransform:
        """Return the map from millimetres, y up, to the widget."""
        box = self._before.boundingRect().united(self._after.boundingRect())
        for note in self._notes:
            for x, y in (note.start, note.end):
                box = box.united(QRectF(x, y, 1e-6, 1e-6))
        room = QRectF(self.rect()).adjusted(MARGIN_PX, MARGIN_PX, -MARGIN_PX, -MARGIN_PX)
        scale = min(
            room.width() / max(box.width(), 1e-6), room.height() / max(box.height(), 1e-6)
        )
        move = QTransform.fromTranslate(room.center().x(), room.center().y())
        move.scale(scale, -scale)
        move.translate(-box.center().x(), -box.center().y())
        return move

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the panels, then what is said about them."""
        del event
        theme, painter = current_theme(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(theme.line), 1))
        painter.setBrush(QColor(theme.canvas))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 8, 8)
        if self._before.isEmpty() and self._after.isEmpty() and not self._notes:
            painter.setPen(QColor(theme.ink_soft))
            painter.drawText(self.rect(), int(Qt.AlignmentFlag.AlignCenter), self._empty)
        else:
            self._paint_shapes(painter, theme)
            self._paint_notes(painter, theme)
            self._paint_nodes(painter, theme)
        painter.end()

    def _paint_shapes(self, painter: QPainter, theme: Theme) -> None:
        place = self._placed()
        fill = QColor(theme.accent)
        fill.setAlphaF(0.22)
        painter.setPen(QPen(QColor(theme.accent), 1.8))
        painter.setBrush(fill)
        painter.drawPath(place.map(self._after))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(theme.ink), 1))
        for line in self._lines:
            painter.drawPath(place.map(line))
        painter.setPen(QPen(QColor(theme.ink_soft), 1, Qt.PenStyle.DashLine))
        painter.drawPath(place.map(self._before))

    def _paint_notes(self, painter: QPainter, theme: Theme) -> None:
        place = self._placed()
        for note in self._notes:
            a, b = place.map(QPointF(*note.start)), place.map(QPointF(*note.end))
            colour = QColor(theme.accent if note.is_strong else theme.ink_soft)
            painter.setPen(QPen(colour, 2.0 if note.is_strong else 1.0))
            painter.drawLine(a, b)
            if note.text:
                # Off the middle, where diagonals cross.
                _paint_word(painter, a + (b - a) * 0.42, note.text, theme)

    def _paint_nodes(self, painter: QPainter, theme: Theme) -> None:
        place = self._placed()
        painter.setFont(_small(painter.font()))
        middle = QPolygonF([place.map(QPointF(*at)) for _, at in self._nodes])
        centre = middle.boundingRect().center()
        for node, at in self._nodes:
            spot = place.map(QPointF(*at))
            is_chosen = node in self._chosen
            painter.setPen(QPen(QColor(theme.accent if is_chosen else theme.ink), 1.4))
            painter.setBrush(QColor(theme.accent if is_chosen else theme.surface_raised))
            size = 5.5 if is_chosen else 3.5
            painter.drawEllipse(spot, size, size)
            if len(self._nodes) <= MANY_NODES or is_chosen:
                _paint_number(painter, spot, centre, node[1:])

    def _node_near(self, px: QPointF) -> str | None:
        place, best, best_px = self._placed(), None, REACH_PX
        for node, at in self._nodes:
            gap = place.map(QPointF(*at)) - px
            away = (gap.x() ** 2 + gap.y() ** 2) ** 0.5
            if away < best_px:
                best, best_px = node, away
        return best

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Point at a node."""
        node = self._node_near(event.position())
        self.setToolTip(f"Node {node[1:]}" if node else "")
        shape = Qt.CursorShape.PointingHandCursor if node else Qt.CursorShape.ArrowCursor
        self.setCursor(shape)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Choose a node."""
        node = self._node_near(event.position())
        if node is not None:
            self.clicked.emit(node)


def _panel_path(panel: Panel) -> QPainterPath:
    path = node_path(panel.outline, closed=True)
    for opening in panel.openings:
        path.addPath(node_path(opening.nodes, closed=True))
    return path.translated(*panel.at)


def _joined(paths: Iterable[QPainterPath]) -> QPainterPath:
    whole = QPainterPath()
    for path in paths:
        whole.addPath(path)
    return whole


def _small(font: QFont) -> QFont:
    font.setPixelSize(11)
    return font


def _paint_number(painter: QPainter, spot: QPointF, middle: QPointF, text: str) -> None:
    """Write a node's number on the side of it that is away from the middle."""
    gap = spot - middle
    size = max((gap.x() ** 2 + gap.y() ** 2) ** 0.5, 1.0)
    at = spot + gap * (15 / size)
    box = QRectF(at.x() - 16, at.y() - 8, 32, 16)
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)


def _paint_word(painter: QPainter, at: QPointF, text: str, theme: Theme) -> None:
    wide = painter.fontMetrics().horizontalAdvance(text)
    box = QRectF(at.x() - wide / 2 - 4, at.y() - 9, wide + 8, 18)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(theme.canvas))
    painter.drawRoundedRect(box, 4, 4)
    painter.setPen(QColor(theme.ink))
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)

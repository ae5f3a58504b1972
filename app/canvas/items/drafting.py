"""What one draws by: guides, dimensions, gaps to neighbours, the band, the grid."""

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QTransform
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsRectItem,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.canvas.items.overlay import OverItem, draw_tag
from app.canvas.style import font, hair, mixed, stroke
from app.theme import Theme
from core.document.drafting import GuideLine
from core.document.path import Point
from core.plan.neighbours import Gap

FAR_MM = 190_000.0
LEAST_GRID_PX = 7.0
"""A finer grid is shown in tens."""
SayLength = Callable[[float], str]


def guide_pen(theme: Theme, *, is_selected: bool) -> QPen:
    """Return the pen of guides: the accent, half way into the ground until selected."""
    if is_selected:
        return stroke(theme.accent, 1.6)
    return hair(mixed(theme.accent, theme.canvas, 0.3))


class GuidesItem(OverItem):
    """Straight lines right across the canvas."""

    def __init__(self) -> None:
        super().__init__(z=20)
        self._guides: tuple[GuideLine, ...] = ()
        self._selected: frozenset[str] = frozenset()

    def show_guides(
        self, guides: tuple[GuideLine, ...], selected: Collection[str], theme: Theme
    ) -> None:
        """Take over the guides to show."""
        chosen = frozenset(selected) & {g.id for g in guides}
        if (guides, chosen, theme) == (self._guides, self._selected, self._theme):
            return
        self._guides, self._selected, self._theme = guides, chosen, theme
        self._set_points([(-FAR_MM, -FAR_MM), (FAR_MM, FAR_MM)] if guides else [])

    def _draw(self, painter: QPainter, world: QTransform, theme: Theme) -> None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        seen = painter.viewport()
        for guide in self._guides:
            painter.setPen(guide_pen(theme, is_selected=guide.id in self._selected))
            at = world.map(QPointF(guide.at_mm, guide.at_mm))
            if guide.way == "upright":
                painter.drawLine(QLineF(at.x(), seen.top(), at.x(), seen.bottom()))
            else:
                painter.drawLine(QLineF(seen.left(), at.y(), seen.right(), at.y()))


@dataclass(frozen=True, slots=True)
class ShownDimension:
    """A dimension ready to draw: what it measures, where its line runs, what it says."""

    id: str
    start: Point
    end: Point
    line: tuple[Point, Point]
    words: str


class DimensionsItem(OverItem):
    """Dimension lines with their sizes."""

    def __init__(self, z: float = 55) -> None:
        super().__init__(z=z)
        self.shown: tuple[ShownDimension, ...] = ()
        self._selected: frozenset[str] = frozenset()

    def show_dimensions(
        self, shown: tuple[ShownDimension, ...], selected: Collection[str], theme: Theme
    ) -> None:
        """Take over the dimensions to show."""
        chosen = frozenset(selected) & {d.id for d in shown}
        if (shown, chosen, theme) == (self.shown, self._selected, self._theme):
            return
        self.shown, self._selected, self._theme = shown, chosen, theme
        self._set_points([p for d in shown for p in (d.start, d.end, *d.line)])

    def clear(self) -> None:
        """Show nothing."""
        if self.shown:
            self.shown = ()
            self._set_points([])

    def _draw(self, painter: QPainter, world: QTransform, theme: Theme) -> None:
        for one in self.shown:
            is_chosen = one.id in self._selected
            colour = theme.accent if is_chosen else theme.ink
            a, b = (world.map(QPointF(*p)) for p in one.line)
            painter.setPen(stroke(theme.surface_raised, 3.5))
            painter.drawLine(a, b)
            painter.setPen(hair(theme.ink_soft))
            for foot, tip in ((one.start, a), (one.end, b)):
                painter.drawLine(world.map(QPointF(*foot)), tip)
            painter.setPen(stroke(colour, 1.6 if is_chosen else 1.2))
            painter.drawLine(a, b)
            for tip in (a, b):
                painter.drawLine(tip + QPointF(-4, 4), tip + QPointF(4, -4))
            _draw_label(painter, (a + b) / 2, one.words, theme)


class _GapItem(OverItem):
    """One gap; an item of its own, so that little is painted anew when it changes."""

    def __init__(self) -> None:
        super().__init__(z=75)
        self._margin_px = 34.0
        self._words = ""

    def show_gap(self, gap: Gap | None, theme: Theme, words: str) -> None:
        """Show a gap with its size, or nothing."""
        if gap is None and not self._points:
            return
        self._theme, self._words = theme, words
        self._set_points([gap.start, gap.end] if gap else [])

    def _draw(self, painter: QPainter, world: QTransform, theme: Theme) -> None:
        a, b = (world.map(QPointF(*p)) for p in self._points)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        for pen in (stroke(theme.surface_raised, 3), hair(theme.accent)):
            painter.setPen(pen)
            painter.drawLine(a.toPoint(), b.toPoint())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _draw_label(painter, (a + b) / 2, self._words, theme)


class Gaps:
    """Clear distances to neighbours, shown while something is moved; four at most."""

    def __init__(self) -> None:
        self.items = [_GapItem() for _ in range(4)]
        self.gaps: tuple[Gap, ...] = ()
        self._theme: Theme | None = None

    def show_gaps(self, gaps: tuple[Gap, ...], theme: Theme, say: SayLength) -> None:
        """Take over the gaps to show."""
        self.gaps, self._theme = gaps, theme
        for i, item in enumerate(self.items):
            gap = gaps[i] if i < len(gaps) else None
            item.show_gap(gap, theme, say(gap.length_mm) if gap else "")

    def clear(self) -> None:
        """Show nothing."""
        if self.gaps and self._theme is not None:
            self.show_gaps((), self._theme, str)


def _draw_label(painter: QPainter, middle: QPointF, words: str, theme: Theme) -> None:
    wide = QFontMetricsF(font(11)).horizontalAdvance(words) + 12
    draw_tag(painter, middle + QPointF(-wide / 2, 7), words, theme)


class BandItem(QGraphicsRectItem):
    """The rectangle that is drawn to select what lies in it."""

    def __init__(self) -> None:
        super().__init__()
        self.setZValue(90)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self.hide()

    def show_band(self, a: Point, b: Point, theme: Theme) -> None:
        """Show the rectangle between two corners."""
        self.setPen(stroke(theme.accent, 1.2))
        fill = QColor(theme.accent)
        fill.setAlpha(28)
        self.setBrush(fill)
        self.setRect(QRectF(QPointF(*a), QPointF(*b)).normalized())
        self.show()


class GridItem(QGraphicsItem):
    """The grid beneath everything: fine lines where there is room, tens stronger."""

    def __init__(self) -> None:
        super().__init__()
        self.setZValue(-1000)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self.setVisible(False)
        self._spacing_mm = 0.0
        self._px_mm = 1.0
        self._theme: Theme | None = None

    def show_grid(self, spacing_mm: float | None, px_mm: float, theme: Theme) -> None:
        """Show a grid of that spacing; None shows none."""
        shown = (spacing_mm or 0.0, px_mm, theme)
        self.setVisible(spacing_mm is not None)
        if shown != (self._spacing_mm, self._px_mm, self._theme):
            self._spacing_mm, self._px_mm, self._theme = shown
            self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return all that can be seen."""
        return QRectF(-FAR_MM, -FAR_MM, 2 * FAR_MM, 2 * FAR_MM)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,  # noqa: ARG002 - Qt's signature
    ) -> None:
        """Draw the lines that cross what has to be painted."""
        theme = self._theme
        if theme is None or not self._spacing_mm:
            return
        rect = option.exposedRect
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        for step, share in ((self._spacing_mm, 0.45), (10 * self._spacing_mm, 0.9)):
            if step / self._px_mm >= LEAST_GRID_PX:
                painter.setPen(hair(mixed(theme.canvas, theme.line, share)))
                painter.drawLines(_grid_lines(rect, step))


def _grid_lines(rect: QRectF, step: float) -> list[QLineF]:
    lines = []
    for low, high, is_upright in (
        (rect.left(), rect.right(), True),
        (rect.top(), rect.bottom(), False),
    ):
        for i in range(math.ceil(low / step), math.floor(high / step) + 1):
            at = i * step
            if is_upright:
                lines.append(QLineF(at, rect.top(), at, rect.bottom()))
            else:
                lines.append(QLineF(rect.left(), at, rect.right(), at))
    return lines

"""A small picture of a panel's map: the panel, lines on it, pieces by how they lay."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QTransform
from PySide6.QtWidgets import QWidget
from shapely import LineString, MultiLineString, Polygon

from app.canvas.items.paths import line_path, polygon_path
from app.measured.verdict_card import tone_colour
from app.theme import Theme, current_theme

PAD_PX = 14


@dataclass(frozen=True, eq=False)
class MapPiece:
    """One piece in the picture: its shape, its verdict's tone, a few words."""

    shape: Polygon
    tone: str
    words: str = ""


class MapPictureWidget(QWidget):
    """Shows one panel."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(180, 140)
        self._panel = Polygon()
        self._pieces: tuple[MapPiece, ...] = ()
        self._lines: tuple[LineString | MultiLineString, ...] = ()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for room to tell the lines apart."""
        return QSize(280, 220)

    def show_map(
        self,
        panel: Polygon,
        pieces: Sequence[MapPiece],
        lines: Sequence[LineString | MultiLineString],
    ) -> None:
        """Show a panel with its pieces, and lines drawn boldly over them."""
        self._panel, self._pieces, self._lines = panel, tuple(pieces), tuple(lines)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802, ARG002
        """Paint the pieces, the rim and the lines."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.canvas))
        painter.drawRoundedRect(QRectF(self.rect()), 8, 8)
        if not self._panel.is_empty:
            self._paint(painter, theme, self._to_px())
        painter.end()

    def _paint(self, painter: QPainter, theme: Theme, to_px: QTransform) -> None:
        for piece in self._pieces:
            fill = QColor(tone_colour(piece.tone, theme))
            fill.setAlphaF(0.30)
            painter.setBrush(fill)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawPath(to_px.map(polygon_path(piece.shape)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(theme.panel_edge), 1.4))
        painter.drawPath(to_px.map(polygon_path(self._panel)))
        path = QPainterPath()
        for line in self._lines:
            path.addPath(line_path(line))
        for colour, width in ((theme.canvas, 5.0), (theme.ink, 2.2)):
            pen = QPen(QColor(colour), width)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            painter.drawPath(to_px.map(path))
        painter.setPen(QColor(theme.ink))
        for piece in self._pieces:
            if piece.words:
                at = piece.shape.representative_point()
                place = to_px.map(QPointF(at.x, at.y))
                box = QRectF(place.x() - 50, place.y() - 10, 100, 20)
                painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), piece.words)

    def _to_px(self) -> QTransform:
        left, low, right, top = self._panel.bounds
        wide, tall = max(right - left, 1e-6), max(top - low, 1e-6)
        room_x, room_y = self.width() - 2 * PAD_PX, self.height() - 2 * PAD_PX
        scale = max(0.001, min(room_x / wide, room_y / tall))
        x0 = self.width() / 2 - scale * (left + right) / 2
        y0 = self.height() / 2 + scale * (low + top) / 2
        return QTransform(scale, 0, 0, -scale, x0, y0)

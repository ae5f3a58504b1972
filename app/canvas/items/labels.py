"""A panel's name under it, with how many there are and its flow arrow."""

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.canvas.style import font, name_plate, stroke
from app.theme import Theme
from core.document.panel import Panel

_HIGH_PX = 22.0
_NARROWEST_PX = 150.0
_WIDEST_PX = 360.0
_ARROW_PX = 22.0


def count_words(panel: Panel) -> str:
    """Return how many of a panel there are, and whether it is locked; "" for a single one.

    A pair says so, since its other half is not drawn.
    """
    words = f"×{panel.count}" if panel.count > 1 else ""
    if panel.is_pair:
        words = f"×{2 * panel.count} mirrored"
    return f"{words} locked".strip() if panel.is_locked else words


class NameItem(QGraphicsItem):
    """Upright text in screen pixels, hung from the panel's lower left corner."""

    def __init__(self) -> None:
        super().__init__()
        self.setZValue(30)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
        self._panel: Panel | None = None
        self._theme: Theme | None = None
        self._is_selected = False
        self._shown: tuple[object, ...] = ()
        self._words = ("", "", 0.0)
        self._plate = QRectF()
        self._width_px = _WIDEST_PX

    def show_panel(self, panel: Panel, theme: Theme, *, is_selected: bool) -> None:
        """Take over a panel's name."""
        shown = (panel.name, count_words(panel), panel.flow_deg, theme, is_selected)
        self._panel, self._theme, self._is_selected = panel, theme, is_selected
        if shown != self._shown:
            self._shown = shown
            self._fit_words()
            self.update()

    def set_room(self, width_px: float) -> None:
        """Say how wide the panel is on the screen; the name is cut off to it."""
        room = min(max(width_px, _NARROWEST_PX), _WIDEST_PX)
        if abs(room - self._width_px) > 0.5:
            self.prepareGeometryChange()
            self._width_px = room
            self._fit_words()

    def _fit_words(self) -> None:
        """Cut the name and the count off to the room there is."""
        if self._panel is None:
            return
        left = _ARROW_PX + 4 if self._panel.flow_deg is not None else 0.0
        room = self._width_px - left - 4
        bold, small = QFontMetricsF(font(13, bold=True)), QFontMetricsF(font(11))
        elide = Qt.TextElideMode.ElideRight
        name = bold.elidedText(self._panel.name, elide, room)
        used = bold.horizontalAdvance(name) + 8
        words = small.elidedText(count_words(self._panel), elide, room - used)
        self._words = name, words, left + used
        self._plate = QRectF(left - 3, 5, used + small.horizontalAdvance(words), 17)

    @property
    def plate(self) -> QRectF:
        """The ground of the name, in pixels from the panel's lower left corner."""
        return self._plate

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return the text's box below its corner."""
        return QRectF(0, 4, self._width_px, _HIGH_PX)

    def shape(self) -> QPainterPath:
        """Return the name's plate, which is what can be clicked."""
        path = QPainterPath()
        path.addRect(self._plate)
        return path

    @property
    def named(self) -> Panel | None:
        """The panel that is named."""
        return self._panel

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,  # noqa: ARG002 - Qt's signature
        widget: QWidget | None = None,  # noqa: ARG002
    ) -> None:
        """Draw the arrow, the name and the count."""
        if self._panel is None or self._theme is None:
            return
        theme = self._theme
        if self._panel.flow_deg is not None:
            _draw_flow(painter, self._panel.flow_deg, theme)
        name, words, right = self._words
        painter.fillRect(self._plate, name_plate(theme))
        painter.setFont(font(13, bold=True))
        painter.setPen(QColor(theme.accent if self._is_selected else theme.ink))
        painter.drawText(QPointF(self._plate.left() + 3, 18), name)
        painter.setFont(font(11))
        painter.setPen(QColor(theme.ink_soft))
        painter.drawText(QPointF(right, 18), words)


def _draw_flow(painter: QPainter, flow_deg: float, theme: Theme) -> None:
    """Draw three strokes of wind running in the flow's direction."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(stroke(theme.ink_soft, 1.4))
    painter.translate(_ARROW_PX / 2, 3 + _ARROW_PX / 2)
    painter.rotate(-flow_deg)
    painter.drawLine(QLineF(-9, 0, 8, 0))
    painter.drawLine(QLineF(4, -4, 8, 0))
    painter.drawLine(QLineF(4, 4, 8, 0))
    painter.drawLine(QLineF(-7, -5, -1, -5))
    painter.drawLine(QLineF(-7, 5, -1, 5))
    painter.restore()

"""Findings as pins: shape and colour say how much each matters."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPolygonF
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.canvas.style import font, hair
from app.theme import Theme
from core.plan.model import Finding, Severity

_SIGNS = {Severity.STOP: "×", Severity.WARNING: "!", Severity.NOTE: "i"}


class PinItem(QGraphicsItem):
    """One finding, standing on its place on a short stem."""

    def __init__(self, finding: Finding, theme: Theme, parent: QGraphicsItem) -> None:
        super().__init__(parent)
        self.finding = finding
        self._colour = QColor(
            {
                Severity.STOP: theme.stop,
                Severity.WARNING: theme.warn,
                Severity.NOTE: theme.ink_soft,
            }[finding.severity]
        )
        self._ground = QColor(theme.surface_raised)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
        self.setToolTip(finding.text)
        self.setZValue(3)

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return the pin's box above its place."""
        return QRectF(-11, -27, 22, 29)

    def shape(self) -> QPainterPath:
        """Return the head, which is what can be clicked."""
        path = QPainterPath()
        path.addRect(QRectF(-10, -26, 20, 20))
        return path

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,  # noqa: ARG002 - Qt's signature
        widget: QWidget | None = None,  # noqa: ARG002
    ) -> None:
        """Draw the stem, the head and the sign."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(hair(self._ground))
        painter.setBrush(self._colour)
        painter.drawPolygon(QPolygonF([QPointF(-3, -9), QPointF(3, -9), QPointF(0, 1)]))
        painter.drawPath(_head(self.finding.severity))
        painter.setPen(self._ground)
        painter.setFont(font(12, bold=True))
        drop = 2 if self.finding.severity is Severity.WARNING else 0
        box = QRectF(-10, -26 + drop, 20, 20)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, _SIGNS[self.finding.severity])


def _head(severity: Severity) -> QPainterPath:
    """An eight-cornered plate stops, a triangle warns, a disc notes."""
    path = QPainterPath()
    match severity:
        case Severity.STOP:
            corner, flat = 9.0, 3.8
            around = [(flat, -corner), (corner, -flat), (corner, flat), (flat, corner)]
            ring = [*around, *[(-x, -y) for x, y in around]]
            path.addPolygon(QPolygonF([QPointF(x, y - 16) for x, y in ring]))
        case Severity.WARNING:
            ring = [(0.0, -26.0), (10.5, -7.0), (-10.5, -7.0)]
            path.addPolygon(QPolygonF([QPointF(x, y) for x, y in ring]))
        case Severity.NOTE:
            path.addEllipse(QPointF(0, -16), 8, 8)
    path.closeSubpath()
    return path

"""Symbols of what matters on a panel: bolts, recesses, damage, badges, ridges."""

import math

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPolygonF, QTransform

from app.canvas.style import hair, stroke
from app.theme import Theme
from core.document.panel import Mark, MarkKind

_LEAST_PX = 4.0


def draw_mark(
    painter: QPainter, mark: Mark, world: QTransform, scale: float, theme: Theme
) -> None:
    """Draw a mark in screen pixels; its ring has the mark's true radius where that shows."""
    points = [world.map(QPointF(*p)) for p in mark.path]
    radius = max(mark.radius_mm * scale, _LEAST_PX)
    painter.setBrush(theme.canvas)
    painter.setPen(hair(theme.panel_edge))
    if len(points) > 1:
        _draw_ridge(painter, points, theme)
        return
    match mark.kind:
        case MarkKind.BOLT:
            _draw_bolt(painter, points[0], radius)
        case MarkKind.RECESS:
            _draw_recess(painter, points[0], radius)
        case MarkKind.DAMAGE:
            _draw_damage(painter, points[0], radius, theme)
        case MarkKind.BADGE:
            _draw_badge(painter, points[0], radius)
        case MarkKind.RIDGE:
            _draw_ridge(painter, [points[0] - QPointF(9, 0), points[0] + QPointF(9, 0)], theme)


def _draw_bolt(painter: QPainter, at: QPointF, radius: float) -> None:
    """A ring with a slot."""
    painter.drawEllipse(at, radius, radius)
    slot = min(radius * 0.6, 6.0)
    painter.drawLine(QLineF(at.x() - slot, at.y() + slot / 2, at.x() + slot, at.y() - slot / 2))


def _draw_recess(painter: QPainter, at: QPointF, radius: float) -> None:
    """A ring with short strokes leading inward, as the ground falls."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(at, radius, radius)
    for i in range(8):
        c, s = math.cos(i * math.pi / 4), math.sin(i * math.pi / 4)
        inner = radius - min(radius * 0.45, 5.0)
        painter.drawLine(
            QLineF(
                at.x() + c * radius, at.y() + s * radius, at.x() + c * inner, at.y() + s * inner
            )
        )


def _draw_damage(painter: QPainter, at: QPointF, radius: float, theme: Theme) -> None:
    """A broken ring with a crack through it."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(hair(theme.stop, Qt.PenStyle.DashLine))
    painter.drawEllipse(at, radius, radius)
    painter.setPen(stroke(theme.stop, 1.5))
    size = min(radius * 0.7, 8.0)
    steps = ((-1, -0.9), (-0.2, -0.35), (-0.45, 0.1), (0.4, 0.3), (0.15, 0.95))
    crack = [QPointF(at.x() + x * size, at.y() + y * size) for x, y in steps]
    painter.drawPolyline(QPolygonF(crack))


def _draw_badge(painter: QPainter, at: QPointF, radius: float) -> None:
    """A plate with rounded ends and a bar in it."""
    wide, high = radius, radius * 0.6
    plate = QRectF(at.x() - wide, at.y() - high, 2 * wide, 2 * high)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(plate, high * 0.6, high * 0.6)
    painter.drawLine(QLineF(at.x() - wide * 0.5, at.y(), at.x() + wide * 0.5, at.y()))


def _draw_ridge(painter: QPainter, points: list[QPointF], theme: Theme) -> None:
    """A line with small roofs along it."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(hair(theme.panel_edge))
    line = QPainterPath(points[0])
    for point in points[1:]:
        line.lineTo(point)
    painter.drawPath(line)
    length = line.length()
    for i in range(max(1, int(length / 18))):
        share = line.percentAtLength((i + 0.5) * length / max(1, int(length / 18)))
        at = line.pointAtPercent(share)
        roof = [at + QPointF(-4, 0), at + QPointF(0, -5), at + QPointF(4, 0)]
        painter.drawPolyline(QPolygonF(roof))

"""Symbols of what matters on a panel: bolts, recesses, damage, badges, ridges."""

import math
from functools import lru_cache

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF, QTransform

from app.canvas.style import stroke
from app.theme import Theme
from core.document.panel import Mark, MarkKind

_LEAST_PX = 2.5
_CLEAR_PX = 4.5
"""Between a mark and the ring around it that says it is selected."""


def draw_mark(
    painter: QPainter, mark: Mark, world: QTransform, scale: float, theme: Theme
) -> None:
    """Draw a mark in screen pixels; its ring has the mark's true radius where that shows.

    A wide stroke in the colour of the ground lies beneath, so that it shows on any film.
    """
    points = [world.map(QPointF(*p)) for p in mark.path]
    radius = max(mark.radius_mm * scale, _LEAST_PX)
    ink = theme.stop if mark.kind is MarkKind.DAMAGE else theme.panel_edge
    for pen in _pens(theme.canvas, ink):
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if len(points) > 1:
            _draw_ridge(painter, points)
            continue
        match mark.kind:
            case MarkKind.BOLT:
                painter.setBrush(QColor(theme.canvas))
                _draw_bolt(painter, points[0], radius)
            case MarkKind.RECESS:
                _draw_recess(painter, points[0], radius)
            case MarkKind.DAMAGE:
                _draw_damage(painter, points[0], radius)
            case MarkKind.BADGE:
                _draw_badge(painter, points[0], radius)
            case MarkKind.RIDGE:
                _draw_ridge(painter, [points[0] - QPointF(9, 0), points[0] + QPointF(9, 0)])


@lru_cache(maxsize=16)
def _pens(ground: str, ink: str) -> tuple[QPen, QPen]:
    return stroke(ground, 3.5), stroke(ink, 1.2)


def mark_bounds(mark: Mark) -> QRectF:
    """Return what a mark takes up at its true size, mm."""
    bounds = QPolygonF([QPointF(*p) for p in mark.path]).boundingRect()
    r = max(mark.radius_mm, 0.5)
    return bounds.adjusted(-r, -r, r, r)


def mark_path(mark: Mark, px_mm: float) -> QPainterPath:
    """Return where a mark is, mm: a ring clear of a spot's symbol, the line of a ridge."""
    points = [QPointF(*p) for p in mark.path]
    path = QPainterPath()
    if len(points) > 1:
        path.addPolygon(QPolygonF(points))
    else:
        radius = max(mark.radius_mm, _LEAST_PX * px_mm) + _CLEAR_PX * px_mm
        path.addEllipse(points[0], radius, radius)
    return path


def _draw_bolt(painter: QPainter, at: QPointF, radius: float) -> None:
    """A ring with a slot."""
    painter.drawEllipse(at, radius, radius)
    if radius < 4:
        return
    slot = min(radius * 0.6, 6.0)
    painter.drawLine(QLineF(at.x() - slot, at.y() + slot / 2, at.x() + slot, at.y() - slot / 2))


def _draw_recess(painter: QPainter, at: QPointF, radius: float) -> None:
    """A ring with short strokes leading inward, as the ground falls."""
    painter.drawEllipse(at, radius, radius)
    for i in range(8):
        c, s = math.cos(i * math.pi / 4), math.sin(i * math.pi / 4)
        inner = radius - min(radius * 0.45, 5.0)
        painter.drawLine(
            QLineF(
                at.x() + c * radius, at.y() + s * radius, at.x() + c * inner, at.y() + s * inner
            )
        )


def _draw_damage(painter: QPainter, at: QPointF, radius: float) -> None:
    """A ring with a crack through it."""
    painter.drawEllipse(at, radius, radius)
    size = min(radius * 0.7, 8.0)
    steps = ((-1, -0.9), (-0.2, -0.35), (-0.45, 0.1), (0.4, 0.3), (0.15, 0.95))
    crack = [QPointF(at.x() + x * size, at.y() + y * size) for x, y in steps]
    painter.drawPolyline(QPolygonF(crack))


def _draw_badge(painter: QPainter, at: QPointF, radius: float) -> None:
    """A plate with rounded ends and a bar in it."""
    wide, high = radius, radius * 0.6
    plate = QRectF(at.x() - wide, at.y() - high, 2 * wide, 2 * high)
    painter.drawRoundedRect(plate, high * 0.6, high * 0.6)
    painter.drawLine(QLineF(at.x() - wide * 0.5, at.y(), at.x() + wide * 0.5, at.y()))


def _draw_ridge(painter: QPainter, points: list[QPointF]) -> None:
    """A line with small roofs along it."""
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

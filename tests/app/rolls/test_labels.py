"""Labels of pieces on the rolls: written where they fit, never over what lies beside."""

import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath, QPolygonF

from app.rolls.paint import _paint_label

WHITE, INK = QColor("white"), QColor("black")


def written(*corners):
    """Where a label was written on a piece of these corners, as a set of pixels."""
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))
    path.closeSubpath()
    image = QImage(300, 300, QImage.Format.Format_RGB32)
    image.fill(WHITE)
    painter = QPainter(image)
    _paint_label(painter, path, "Box side left 3", INK)
    painter.end()
    spots = ((x, y) for x in range(300) for y in range(300))
    return {spot for spot in spots if image.pixelColor(*spot) != WHITE}, path


@pytest.mark.parametrize("turned", [False, True])
def test_a_roomy_piece_gets_its_label_within_it(qtbot, turned):
    corners = [(20, 100), (280, 100), (280, 160), (20, 160)]
    spots, path = written(*[(y, x) if turned else (x, y) for x, y in corners])
    assert spots
    assert all(path.contains(QPointF(x + 0.5, y + 0.5)) for x, y in spots)


def test_a_slanted_band_whose_box_is_roomy_gets_none(qtbot):
    spots, _ = written((20, 20), (50, 10), (280, 270), (250, 280))
    assert not spots

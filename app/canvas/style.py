"""How the canvas looks: pens, film brushes, the hatch of hidden film.

All widths and textures are in screen pixels, whatever the zoom. Fills are opaque and lines one
pixel wide where they can be: that is what keeps panning quick.
"""

from functools import lru_cache

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QImage, QPainter, QPen, QPixmap

from app.theme import Theme
from core.document.film import Film, Finish

DARK_INK = "#14181a"
LIGHT_INK = "#f7f8f6"
HATCH_PX = 6
_TILE_PX = 32


def luminance(colour: QColor) -> float:
    """Return the relative luminance, 0 to 1.

    Source: W3C, Web Content Accessibility Guidelines 2.1, definition of relative luminance.
    """

    def linear(c: float) -> float:
        return c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(c) for c in (colour.redF(), colour.greenF(), colour.blueF()))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(a: QColor, b: QColor) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (same source)."""
    low, high = sorted((luminance(a), luminance(b)))
    return (high + 0.05) / (low + 0.05)


@lru_cache(maxsize=512)
def ink_over(*colours: str) -> QColor:
    """Return dark or light ink, whichever stands out better from all the colours."""
    grounds = [QColor(c) for c in colours]
    inks = [QColor(DARK_INK), QColor(LIGHT_INK)]
    return max(inks, key=lambda ink: min(contrast(ink, g) for g in grounds))


def mixed(a: str | QColor, b: str | QColor, share: float) -> QColor:
    """Return a colour between two; share 0 is the first, 1 the second."""
    one, two = QColor(a), QColor(b)
    return QColor.fromRgbF(
        one.redF() + (two.redF() - one.redF()) * share,
        one.greenF() + (two.greenF() - one.greenF()) * share,
        one.blueF() + (two.blueF() - one.blueF()) * share,
    )


def hair(colour: str | QColor, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """Return the quick pen: one screen pixel."""
    pen = QPen(QColor(colour), 1, style)
    pen.setCosmetic(True)
    return pen


def stroke(colour: str | QColor, width_px: float) -> QPen:
    """Return a pen of some screen pixels with round joins, for single lines that must show."""
    pen = QPen(QColor(colour), width_px)
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen


@lru_cache(maxsize=16)
def font(size_px: int, *, bold: bool = False) -> QFont:
    """Return the application's typeface at a size in pixels."""
    face = QFont()
    face.setPixelSize(size_px)
    face.setWeight(QFont.Weight.DemiBold if bold else QFont.Weight.Normal)
    return face


def film_brush(film: Film) -> QBrush:
    """Return a film's fill: its colour with a quiet hint of its finish."""
    return _film_brush(film.colour, film.finish)


@lru_cache(maxsize=128)
def _film_brush(colour: str, finish: Finish) -> QBrush:
    plain = QColor(colour)
    if finish in (Finish.GLOSS, Finish.SATIN):
        return QBrush(plain)
    tile = QPixmap(_TILE_PX, _TILE_PX)
    tile.fill(plain)
    painter = QPainter(tile)
    _draw_finish(painter, plain, finish)
    painter.end()
    return QBrush(tile)


def _shades(colour: QColor, step: float) -> tuple[QColor, QColor]:
    return mixed(colour, "#000000", step), mixed(colour, "#ffffff", step * 1.3)


def _draw_finish(painter: QPainter, colour: QColor, finish: Finish) -> None:
    size = _TILE_PX
    match finish:
        case Finish.MATT:
            _speckle(painter, _shades(colour, 0.035), 90)
        case Finish.METALLIC:
            _speckle(painter, _shades(colour, 0.13), 120)
        case Finish.BRUSHED:
            dark, light = _shades(colour, 0.07)
            for y in range(0, size, 2):
                painter.setPen(light if (y * 7) % 5 < 2 else dark)
                start = (y * 13) % size
                painter.drawLine(start, y, start + 21, y)
                painter.drawLine(start - size, y, start - size + 21, y)
        case Finish.WEAVE:
            dark, light = _shades(colour, 0.055)
            for row in range(0, size, 4):
                for column in range(0, size, 4):
                    near = (row // 4 + column // 4) % 4 < 2
                    painter.fillRect(column, row, 4, 4, light if near else dark)
        case Finish.PATTERN:
            dark, light = _shades(colour, 0.16)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(light if luminance(colour) < 0.4 else dark)
            for x, y in ((8, 8), (24, 24)):
                painter.drawEllipse(QPointF(x, y), 3.2, 3.2)
        case _:
            return


def _speckle(painter: QPainter, shades: tuple[QColor, QColor], count: int) -> None:
    """Scatter single pixels; the same ones every time."""
    seed = 7
    for i in range(count):
        seed = (seed * 1103515245 + 12345) % 2**31
        painter.setPen(shades[i % 2])
        painter.drawPoint((seed >> 8) % _TILE_PX, (seed >> 16) % _TILE_PX)


@lru_cache(maxsize=128)
def hatch_brush(colour: str) -> QBrush:
    """Return the hatch of film that runs on beneath another.

    Slanting lines in the film's own colour, each edged so that it shows on any film, even on
    one of the same colour.
    """
    size = HATCH_PX
    image = QImage(size, size, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    line = QColor(colour)
    edge = QColor(LIGHT_INK if luminance(line) < 0.18 else DARK_INK)
    edge.setAlpha(110)
    for y in range(size):
        for step, ink in ((0, line), (1, edge)):
            image.setPixelColor((size - 1 - y + step) % size, y, ink)
    return QBrush(QPixmap.fromImage(image))


def turn_veil(theme: Theme) -> QColor:
    """Return what is laid over film that is turned round an edge, so that it looks paler."""
    veil = QColor(theme.canvas)
    veil.setAlpha(165)
    return veil


def name_plate(theme: Theme) -> QColor:
    """Return the plate behind a panel's name, for where it lies on another panel."""
    plate = QColor(theme.canvas)
    plate.setAlpha(205)
    return plate

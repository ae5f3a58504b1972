"""The picture of where the tape goes: a domed part with spine, stations and lines.

It is a drawing to read by, of no part in particular: one looks along the spine from the first
station, so that left and right are those of whoever stands there.
"""

from collections.abc import Iterable
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from app.panes.rows import sized
from app.theme import Theme, current_theme
from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    line_names,
    missing_places,
    places,
)

ROOMY_PX = 400
"""From so wide on all names have room on one line."""
SHOULDER = 0.62
"""Where a shoulder lies between spine and rim, in the picture."""
STEPS = 14
_TILES = 18
Place2 = tuple[float, float]
_WAYS = {
    ReadingKind.FIRST_BESIDE: ((-1.0, 0.0), (1.0, 0.0)),
    ReadingKind.LAST_BESIDE: ((-1.0, 1.0), (1.0, 1.0)),
    ReadingKind.TO_LEFT: ((1.0, 0.0), (-1.0, 1.0)),
    ReadingKind.TO_RIGHT: ((-1.0, 0.0), (1.0, 1.0)),
    ReadingKind.WHOLE_LENGTH: ((0.0, 0.0), (0.0, 1.0)),
    ReadingKind.WHOLE_WIDTH: ((-1.0, 0.5), (1.0, 0.5)),
}
"""How the tape lies for a reading that is in no row: across and along, from and to."""


class TapePicture(QWidget):
    """Shows where each reading is taken, the current one above all."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(300, 280)
        self._surface = MeasuredSurface()
        self._place: ReadingPlace | None = None
        self._is_looked_at: ReadingPlace | None = None

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for room to see the lines apart."""
        return QSize(420, 400)

    def show_grid(self, surface: MeasuredSurface, place: ReadingPlace | None) -> None:
        """Show a grid with its readings, and one place as the current one."""
        self._surface, self._place = surface, place
        number = list(places(surface)).index(place) + 1 if place else 0
        self.setAccessibleName(f"Where the tape goes: reading {number}")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802, ARG002
        """Paint the part, the grid, what is read and what comes now."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_body(painter, theme)
        if self._surface.stations:
            self._paint_grid(painter, theme)
        self._paint_names(painter, theme)
        if self._place is not None:
            self._paint_current(painter, theme, self._place)
        painter.end()

    # Where things are in the picture

    def _at(self, across: float, along: float) -> QPointF:
        """Return where a place of the part is in the picture.

        Args:
            across: from -1 at the left rim to 1 at the right one.
            along: from 0 at the first station to 1 at the last.
        """
        box = QRectF(self.rect()).adjusted(56, 30, -56, -44)
        away = 2 * along - 1
        height = (1 - abs(across) ** 2.6) * (1 - 0.55 * away**2)
        narrow = 1 - 0.30 * along
        x = box.center().x() + across * narrow * box.width() / 2
        flat = box.bottom() - along * box.height() * 0.72
        return QPointF(x, flat - height * box.height() * 0.32)

    def _across(self, line: int) -> float:
        if self._surface.lines == 5:
            return (-1.0, -SHOULDER, 0.0, SHOULDER, 1.0)[line]
        return (-1.0, 0.0, 1.0)[line]

    def _along(self, station: int) -> float:
        return station / max(1, self._surface.stations - 1)

    def _way(self, start: Place2, end: Place2) -> QPolygonF:
        """Return the way from one place of the part to another, over the surface."""
        shares = [i / STEPS for i in range(STEPS + 1)]
        return QPolygonF(
            [
                self._at(start[0] + (end[0] - start[0]) * k, start[1] + (end[1] - start[1]) * k)
                for k in shares
            ]
        )

    def _ends(self, place: ReadingPlace) -> tuple[Place2, Place2]:
        """Return the two ends of a reading."""
        match place.kind:
            case ReadingKind.OFFSET:
                along = self._along(place.row)
                return (0.0, along), (self._across(place.line), along)
            case ReadingKind.LENGTH:
                across = self._across(place.line)
                return (across, self._along(place.row)), (across, self._along(place.row + 1))
            case kind:
                return _WAYS[kind]

    # Painting

    def _paint_body(self, painter: QPainter, theme: Theme) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        low = QColor(theme.line).darker(100 if theme.is_dark else 106)
        high = QColor(theme.surface_raised) if not theme.is_dark else QColor("#56636a")
        for row in reversed(range(_TILES)):
            for column in range(_TILES):
                x0, x1 = (2 * (column + k) / _TILES - 1 for k in (0, 1))
                y0, y1 = ((row + k) / _TILES for k in (0, 1))
                corners = [self._at(*p) for p in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
                middle, away = (x0 + x1) / 2, y0 + y1 - 1
                light = max(0.0, 1 - 0.75 * (middle + 0.2) ** 2 - 0.45 * (away - 0.15) ** 2)
                colour = _between(low, high, light)
                painter.setBrush(colour)
                painter.setPen(QPen(colour, 0.6))
                painter.drawPolygon(QPolygonF(corners))
        rim = [(-1, 0), (1, 0), (1, 1), (-1, 1), (-1, 0)]
        painter.setPen(QPen(QColor(theme.panel_edge), 1.6))
        for start, end in pairwise(rim):
            painter.drawPolyline(self._way(start, end))

    def _paint_grid(self, painter: QPainter, theme: Theme) -> None:
        missing = set(missing_places(self._surface))
        todo, done = QPen(QColor(theme.ink_soft), 1.2), QPen(QColor(theme.accent), 2.0)
        todo.setDashPattern([2.5, 3.0])
        for place in _along_grid(self._surface):
            painter.setPen(todo if place in missing else done)
            painter.drawPolyline(self._way(*self._ends(place)))
        painter.setPen(QPen(QColor(theme.ink), 1.0))
        painter.setBrush(QColor(theme.surface_raised))
        for station in range(self._surface.stations):
            for line in range(self._surface.lines):
                spot = self._at(self._across(line), self._along(station))
                painter.drawEllipse(spot, 2.6, 2.6)

    def _paint_names(self, painter: QPainter, theme: Theme) -> None:
        painter.setFont(sized(painter.font(), 12))
        painter.setPen(QColor(theme.ink_soft))
        centre = Qt.AlignmentFlag.AlignCenter
        for station in range(self._surface.stations):
            spot = self._at(-1.0, self._along(station))
            box = QRectF(spot.x() - 34, spot.y() - 10, 24, 20)
            painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
                             str(station + 1))  # fmt: skip
        names = line_names(self._surface.lines) if self._surface.lines else ()
        y = self._at(-1.0, 0.0).y() + 8
        for line, name in enumerate(names):
            across = self._across(line)
            # Rims stand apart from their shoulders, so that all names have room on one line.
            x = self._at(across, 0.0).x() + 18 * (abs(across) == 1.0) * across
            down = 13 if line % 2 and self.width() < ROOMY_PX else 0
            painter.drawText(QRectF(x - 60, y + down, 120, 16), centre, name)
        if names:
            box = QRectF(8, 6, self.width() - 16, 18)
            painter.drawText(box, centre, "Stations are numbered from where you stand.")

    def _paint_current(self, painter: QPainter, theme: Theme, place: ReadingPlace) -> None:
        """Lay the tape: a wide light band with end marks, and its number."""
        start, end = self._ends(place)
        way = self._way(start, end)
        for colour, width in ((theme.canvas, 9.0), (theme.warn, 6.0)):
            pen = QPen(QColor(colour), width)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
            painter.setPen(pen)
            painter.drawPolyline(way)
        number = str(list(places(self._surface)).index(place) + 1)
        painter.setFont(sized(painter.font(), 13, is_bold=True))
        middle = way.at(STEPS // 2)
        wide = painter.fontMetrics().horizontalAdvance(number) + 14
        box = QRectF(middle.x() - wide / 2, middle.y() - 11, wide, 22)
        painter.setPen(QPen(QColor(theme.warn), 2))
        painter.setBrush(QColor(theme.surface_raised))
        painter.drawRoundedRect(box, 11, 11)
        painter.setPen(QColor(theme.ink))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), number)


def _along_grid(surface: MeasuredSurface) -> Iterable[ReadingPlace]:
    """Yield the readings that are drawn always: those of the grid without the diagonals.

    Offsets to the rim lie over those to the shoulder and are left to them where both are
    there.
    """
    for place in places(surface):
        if place.kind in (ReadingKind.OFFSET, ReadingKind.LENGTH):
            yield place


def _between(low: QColor, high: QColor, share: float) -> QColor:
    ends = ((low.red(), high.red()), (low.green(), high.green()), (low.blue(), high.blue()))
    return QColor(*(round(a + (b - a) * share) for a, b in ends))

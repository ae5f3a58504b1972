"""Beside the rolls: how the search for a shorter layout goes, and what is missing."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QLabel, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from app.panes.rows import paint_text, sized
from app.style import dress
from app.theme import current_theme
from core.roll.model import FilmRolls
from core.roll.wording import length_to_buy
from core.units import Units

SIDE_PX = 264
CURVE_PX = 92
Found = tuple[float, float]
"""Seconds since the search began, and the length found then, in mm."""


class LengthCurve(QWidget):
    """Best length over time, falling in steps."""

    def __init__(self) -> None:
        super().__init__()
        self._found: Sequence[Found] = ()
        self._until_s = 0.0
        self._units = Units.MM
        self.setFixedHeight(CURVE_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Best length over time")

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return a width that fits the pane."""
        return QSize(SIDE_PX - 32, CURVE_PX)

    def show_found(self, found: Sequence[Found], until_s: float, units: Units) -> None:
        """Show what was found, on an axis of so many seconds."""
        self._found, self._until_s, self._units = tuple(found), until_s, units
        self.setAccessibleDescription(
            f"From {self._told(found[0])} to {self._told(found[-1])}" if found else ""
        )
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint the steps, with the first and the best length."""
        if not self._found:
            return
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(sized(self.font(), 11))
        field = QRectF(self.rect()).adjusted(1, 6, -58, -18)
        painter.setPen(QPen(QColor(theme.line), 1))
        painter.drawLine(field.bottomLeft(), field.bottomRight())
        painter.drawLine(field.topLeft(), field.bottomLeft())
        points = self._points(field)
        painter.setPen(QPen(QColor(theme.accent), 2))
        painter.drawPolyline(QPolygonF(points))
        first, best = self._found[0][1], self._found[-1][1]
        beside = QRectF(field.right() + 6, 0, 56, 14)
        at = points[-1].y() - 7
        paint_text(painter, beside.translated(0, at), self._told(self._found[-1]), theme.ink)
        if best < first and at > field.top() + 14:
            above = beside.translated(0, field.top() - 7)
            paint_text(painter, above, self._told(self._found[0]), theme.ink_soft)
        foot = QRectF(field.left(), field.bottom() + 2, field.width(), 14)
        paint_text(painter, foot, "0 s", theme.ink_soft)
        paint_text(painter, foot, f"{self._until_s:.0f} s", theme.ink_soft,
                   Qt.AlignmentFlag.AlignRight)  # fmt: skip
        painter.end()

    def _told(self, found: Found) -> str:
        return length_to_buy(found[1], self._units)

    def _points(self, field: QRectF) -> list[QPointF]:
        lengths = [length for _, length in self._found]
        high, low = max(lengths), min(lengths)
        span, until = max(high - low, 1.0), max(self._until_s, self._found[-1][0], 1.0)
        points: list[QPointF] = []
        for seconds, length in (*self._found, (until, lengths[-1])):
            x = field.left() + field.width() * seconds / until
            y = field.top() + field.height() * (0.08 + 0.84 * (high - length) / span)
            if points:
                points.append(QPointF(x, points[-1].y()))
            points.append(QPointF(x, y))
        return points


class RollSide(QWidget):
    """The curve, and the list of what did not fit with the reasons; hidden without either."""

    def __init__(self) -> None:
        super().__init__()
        self.setFixedWidth(SIDE_PX)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 2, 16, 8)
        column.setSpacing(4)
        self._search_title, self.curve = _title("Best length over time"), LengthCurve()
        self._missing_title, self.missing = _title("What is missing"), QLabel()
        self.missing.setWordWrap(True)
        self.missing.setTextFormat(Qt.TextFormat.PlainText)
        self.missing.setAlignment(Qt.AlignmentFlag.AlignTop)
        dress(self.missing, "warn")
        self._list = QScrollArea()
        self._list.setWidgetResizable(True)
        self._list.setWidget(self.missing)
        for widget in (self._search_title, self.curve, self._missing_title, self._list):
            column.addWidget(widget)
        column.addStretch()

    def show_search(self, found: Sequence[Found], until_s: float, units: Units) -> None:
        """Show how the search goes; nothing found hides the curve."""
        self.curve.show_found(found, until_s, units)
        for widget in (self._search_title, self.curve):
            widget.setVisible(bool(found))
        self._settle()

    def show_missing(self, films: Sequence[FilmRolls]) -> None:
        """List what found no room, and why."""
        lines = [missing.text for film in films for missing in film.missing]
        self.missing.setText("\n".join(lines))
        for widget in (self._missing_title, self._list):
            widget.setVisible(bool(lines))
        self._settle()

    def _settle(self) -> None:
        self.setVisible(not (self.curve.isHidden() and self._list.isHidden()))


def _title(text: str) -> QLabel:
    label = QLabel(text)
    dress(label, "field")
    return label

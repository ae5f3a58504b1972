"""What the tool in hand makes: a film, a shape of openings, a kind and radius of marks.

One of them stands in the strip of tools, beside the tools themselves.
"""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QWidget

from app.canvas.gestures.base import OpeningShape
from app.panes.fields import ChoiceField, LengthField
from app.session import Session
from app.style import dress
from core.document.panel import MarkKind

SHAPES: tuple[tuple[str, OpeningShape], ...] = (
    ("Round", "round"),
    ("Rectangle", "rectangle"),
    ("Point by point", "points"),
)
_TIGHT_PX = 72
KINDS = tuple((kind.value.capitalize(), kind) for kind in MarkKind)


class OpeningChoice(QWidget):
    """How the next opening is drawn."""

    chosen = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.shape = ChoiceField()
        self.shape.setAccessibleName("Shape of the opening")
        self.shape.chosen.connect(self.chosen.emit)
        _row(self, self.shape)

        self.set_tight(is_tight=False)

    def set_tight(self, *, is_tight: bool) -> None:
        """Take as little room as can be, or what the words need."""
        self.shape.setFixedWidth(_TIGHT_PX if is_tight else 132)

    def show_shape(self, shape: OpeningShape) -> None:
        """Show a shape."""
        self.shape.show_choice(SHAPES, shape)
        self.shape.setToolTip("How openings are drawn")


class MarkChoice(QWidget):
    """What the next mark is, and how large."""

    chosen = Signal(object, float)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._kind, self._radius_mm = MarkKind.BOLT, 0.0
        self.kind = ChoiceField()
        self.kind.setAccessibleName("Kind of mark")
        self.kind.chosen.connect(lambda kind: self.chosen.emit(kind, self._radius_mm))
        self.words = QLabel()
        dress(self.words, "quiet")
        self.radius = LengthField()
        self.radius.setFixedWidth(74)
        self.radius.given.connect(lambda mm: self.chosen.emit(self._kind, mm))
        self.radius.refused.connect(session.message)
        _row(self, self.kind, self.words, self.radius)

        self.set_tight(is_tight=False)

    def set_tight(self, *, is_tight: bool) -> None:
        """Leave out the radius, which can be typed on the canvas, or show it."""
        self.kind.setFixedWidth(_TIGHT_PX if is_tight else 98)
        self.radius.setVisible(not is_tight)

    def show_mark(self, kind: MarkKind, radius_mm: float) -> None:
        """Show a kind and a radius."""
        self._kind, self._radius_mm = kind, radius_mm
        words = "half-width" if kind is MarkKind.RIDGE else "radius"
        self.kind.show_choice(KINDS, kind)
        self.words.setText(words)
        self.radius.setAccessibleName(f"{words.capitalize()} of the mark")
        self.radius.setToolTip(words.capitalize())
        self.radius.show_mm(radius_mm, self._session.job.units)

    def set_short(self, *, is_short: bool) -> None:
        """Leave out the word before the radius."""
        self.words.setVisible(not is_short)


def _row(holder: QWidget, *widgets: QWidget) -> None:
    holder.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
    row = QHBoxLayout(holder)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(6)
    for widget in widgets:
        row.addWidget(widget)

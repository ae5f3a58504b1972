"""One film in the buying window: what it takes, and a row for each width on offer."""

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.buying.words import (
    choice_text,
    comparison_text,
    film_text,
    width_text,
)
from app.money_text import money_text
from app.panes.rows import paint_swatch
from app.style import dress
from app.theme import current_theme
from core.document.film import Film
from core.roll.buying import FilmBuying, WidthChoice
from core.units import Units


class FilmCard(QFrame):
    """Shows one film; a click chooses it."""

    chosen = Signal(str)
    """Id of the film."""
    width_wanted = Signal(str, float)
    """Film and width that it is to be laid out on."""

    def __init__(self, film: Film, buying: FilmBuying, units: Units, currency: str) -> None:
        super().__init__()
        dress(self, "card")
        self._id = film.id
        self.setAccessibleName(film.name)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(6)
        column.addLayout(self._head(film, buying, currency))
        words = QLabel(film_text(buying, units))
        words.setWordWrap(True)
        dress(words, "quiet")
        column.addWidget(words)
        if buying.is_stuck and not buying.current.has_failed:
            stuck = QLabel("A piece fits on no roll: see Review")
            dress(stuck, "stop")
            column.addWidget(stuck)
        column.addLayout(self._widths(buying, units, currency))
        if buying.has_choice:
            how = QLabel(comparison_text(buying))
            how.setWordWrap(True)
            dress(how, "quiet")
            column.addWidget(how)

    def _head(self, film: Film, buying: FilmBuying, currency: str) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(10)
        row.addWidget(_Swatch(film.colour))
        name = QLabel(film.name)
        dress(name, "title")
        name.setWordWrap(True)
        row.addWidget(name, 1)
        price = QLabel(_price_text(buying.current, currency))
        dress(price, "title")
        row.addWidget(price)
        return row

    def _widths(self, buying: FilmBuying, units: Units, currency: str) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        cheapest = buying.cheapest if len(buying.widths) > 1 else None
        for i, choice in enumerate(buying.widths):
            is_best = cheapest is choice and _is_alone(choice, buying)
            words = choice_text(choice, units, is_mixed=buying.is_mixed)
            texts = (width_text(choice, units), words)
            for j, text in enumerate(texts):
                label = QLabel(text.replace(" m", "\u00a0m"))
                label.setWordWrap(j == 1)
                if not choice.is_possible:
                    dress(label, "quiet")
                grid.addWidget(label, i, j)
            price = QLabel(_price_text(choice, currency) if choice.is_possible else "")
            grid.addWidget(price, i, 2, Qt.AlignmentFlag.AlignRight)
            if is_best:
                chip = QLabel("cheapest")
                chip.setToolTip(comparison_text(buying))
                dress(chip, "chip")
                grid.addWidget(chip, i, 3)
            grid.addWidget(self._choose(choice, buying, units), i, 4)
        return grid

    def _choose(self, choice: WidthChoice, buying: FilmBuying, units: Units) -> QWidget:
        if choice.is_current:
            label = QLabel(
                "laid out" if len(buying.widths) > 1 and not choice.has_failed else ""
            )
            dress(label, "quiet")
            return label
        button = QPushButton("Lay out")
        button.setAccessibleName(f"Lay out on {width_text(choice, units)} film")
        button.setToolTip(
            f"Lay out what is bought of {buying.name} {width_text(choice, units)}"
        )
        button.setEnabled(choice.is_possible)
        button.setAutoDefault(False)
        width = choice.width_mm
        button.clicked.connect(lambda: self.width_wanted.emit(self._id, width))
        return button

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Choose the film."""
        self.chosen.emit(self._id)
        super().mousePressEvent(event)


class _Swatch(QWidget):
    """A film's colour."""

    def __init__(self, colour: str) -> None:
        super().__init__()
        self._colour = colour
        self.setFixedSize(QSize(24, 24))

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint it, framed."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_swatch(painter, QRectF(self.rect()), self._colour, current_theme())


def _is_alone(choice: WidthChoice, buying: FilmBuying) -> bool:
    """Whether every other width costs more."""
    own = buying.compared_price(choice)
    others = (w for w in buying.widths if w is not choice and w.is_possible)
    return all(buying.compared_price(w) > own + 0.005 for w in others)


def _price_text(choice: WidthChoice, currency: str) -> str:
    if not choice.bought_mm or not choice.is_possible:
        return ""
    return money_text(choice.price, currency) if choice.price_per_m else "no price"

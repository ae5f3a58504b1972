"""Where a seam must go: three proposals side by side, each a click away from being adopted."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)
from shapely import LineString, MultiLineString, Polygon

from app.measured.verdict_card import VerdictCard
from app.panes.pane import quiet_label
from app.solid.map_picture import MapPictureWidget, MapPiece
from app.style import dress


@dataclass(frozen=True, eq=False)
class Card:
    """What is shown of one proposal.

    Attributes:
        title: what it is, in a line.
        panel: the panel's map.
        pieces: how each piece lays.
        lines: what is to be drawn.
        rows: numbers with their names.
        note: what is to be said of it, in a sentence.
        button: what adopting it is called; "" where there is nothing to draw.
    """

    title: str
    panel: Polygon
    pieces: tuple[MapPiece, ...]
    lines: tuple[LineString | MultiLineString, ...]
    rows: tuple[tuple[str, str], ...]
    note: str = ""
    button: str = "Draw these seams"


class ProposalsWindow(QDialog):
    """Shows the search and what it found."""

    adopted = Signal(int)
    """The number of the proposal that was adopted."""

    def __init__(self, panel_name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"Where must a seam go on {panel_name}?")
        self.setMinimumSize(860, 620)
        self.resize(1080, 660)
        self.heading = QLabel(f"Where must a seam go on {panel_name}?")
        dress(self.heading, "job")
        self.state = VerdictCard()
        self.bar = QProgressBar()
        self.bar.setRange(0, 100)
        self.bar.setTextVisible(False)
        self.words = QLabel()
        dress(self.words, "quiet")
        self.buttons: list[QPushButton] = []
        self._cards = QHBoxLayout()
        self._cards.setSpacing(16)
        self.stop = QPushButton("Cancel")
        self.stop.setAutoDefault(False)
        self.stop.clicked.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(16)
        for widget in (self.heading, self.state, self.words, self.bar):
            column.addWidget(widget)
        column.addLayout(self._cards, 1)
        self.note = quiet_label("")
        foot = QHBoxLayout()
        foot.setSpacing(24)
        foot.addWidget(self.note, 1)
        foot.addWidget(self.stop)
        column.addLayout(foot)
        self.show_progress("Looking for seams…", None)

    def show_state(self, tone: str, head: str, text: str, more: str = "") -> None:
        """Say how the panel lays as it is drawn now."""
        self.state.show_verdict(tone, head, text, more)

    def show_progress(self, words: str, share: float | None) -> None:
        """Tell how far the search is; None where that cannot be told."""
        self.words.setText(words)
        self.words.show()
        self.bar.show()
        if share is None:
            self.bar.setRange(0, 0)
        else:
            self.bar.setRange(0, 100)
            self.bar.setValue(round(100 * share))

    def show_refusal(self, what: str) -> None:
        """Say why there is no proposal."""
        self.words.hide()
        self.bar.hide()
        self.stop.setText("Close")
        self.state.show_verdict("note", "No seams are proposed", what)
        self._take_little_room()

    def show_proposals(self, cards: Sequence[Card]) -> None:
        """Show what was found, the best first."""
        self.words.hide()
        self.bar.hide()
        self.stop.setText("Close")
        for number, card in enumerate(cards):
            self._cards.addWidget(self._card(number, card), 1)
        if not cards:
            self._take_little_room()

    def _take_little_room(self) -> None:
        """Be no higher than words alone need."""
        self.setMinimumHeight(0)
        self.resize(self.width(), self.sizeHint().height())

    def show_note(self, words: str) -> None:
        """Say something below the proposals."""
        self.note.setText(words)

    def _card(self, number: int, card: Card) -> QFrame:
        frame = QFrame()
        dress(frame, "card")
        column = QVBoxLayout(frame)
        column.setContentsMargins(16, 14, 16, 16)
        column.setSpacing(10)
        title = QLabel(card.title)
        title.setWordWrap(True)
        dress(title, "title")
        picture = MapPictureWidget()
        picture.show_map(card.panel, card.pieces, card.lines)
        spoken = ", ".join(f"{name} {value}" for name, value in card.rows)
        picture.setAccessibleName(f"{card.title}: {spoken}")
        rows = QFormLayout()
        rows.setHorizontalSpacing(12)
        rows.setVerticalSpacing(4)
        for name, value in card.rows:
            label = QLabel(name)
            dress(label, "quiet")
            number_label = QLabel(value)
            number_label.setAlignment(Qt.AlignmentFlag.AlignRight)
            number_label.setWordWrap(True)
            rows.addRow(label, number_label)
        note = QLabel(card.note)
        note.setWordWrap(True)
        dress(note, "quiet")
        column.addWidget(title)
        column.addWidget(picture, 1)
        column.addLayout(rows)
        if card.note:
            column.addWidget(note)
        if card.button:
            column.addWidget(self._adopting(number, card.button))
        return frame

    def _adopting(self, number: int, words: str) -> QPushButton:
        adopt = QPushButton(words)
        dress(adopt, "" if self.buttons else "primary")
        adopt.setAutoDefault(False)
        adopt.clicked.connect(lambda: self._adopt(number))
        self.buttons.append(adopt)
        return adopt

    def _adopt(self, number: int) -> None:
        self.adopted.emit(number)
        self.accept()

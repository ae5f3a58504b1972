"""What follows from a shape, in plain words, on a card: the verdict, its reason, what next."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout, QWidget

from app.icons import draw_icon
from app.style import dress
from app.theme import Theme, current_theme

TONE_ICONS = {
    "fine": "check",
    "note": "note",
    "warn": "warning",
    "unsure": "unsure",
    "stop": "stop",
}


def tone_colour(tone: str, theme: Theme) -> str:
    """Return the colour of a verdict: fine, note, warn, unsure or stop."""
    colours = {
        "fine": theme.accent,
        "note": theme.ink_soft,
        "warn": theme.warn,
        "unsure": theme.warn,
        "stop": theme.stop,
    }
    return colours[tone]


class VerdictCard(QFrame):
    """Shows one verdict."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        dress(self, "card")
        self._tone = "note"
        column = QVBoxLayout(self)
        column.setContentsMargins(48, 12, 16, 12)
        column.setSpacing(4)
        self.head, self.text, self.more = QLabel(), QLabel(), QLabel()
        dress(self.head, "title")
        dress(self.more, "quiet")
        for label in (self.head, self.text, self.more):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            column.addWidget(label)

    @property
    def tone(self) -> str:
        """How grave it is."""
        return self._tone

    def show_verdict(self, tone: str, head: str, text: str = "", more: str = "") -> None:
        """Show a verdict: its tone, one line, a sentence, and what to do next."""
        self._tone = tone
        self.head.setText(head)
        for label, words in ((self.text, text), (self.more, more)):
            label.setText(words.replace(" %", "\u00a0%"))
            label.setVisible(bool(words))
        self.setAccessibleName(" ".join(t for t in (head, text, more) if t))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the mark beside the words."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = QColor(tone_colour(self._tone, current_theme()))
        draw_icon(painter, QRectF(15, 12, 22, 22), TONE_ICONS[self._tone], colour)
        painter.end()

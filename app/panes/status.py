"""The strip at the bottom: what the tool expects, where the pointer is, how far in it is."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QLabel, QProgressBar, QStatusBar

from app.session import Session
from app.style import dress
from core.units import format_length

SAY_MS = 8000
BUSY_AFTER_MS = 300
PX_PER_MM = 96 / 25.4
"""Screen pixels for a millimetre at 100 %, by the 96 pixels an inch of CSS."""


class StatusStrip(QStatusBar):
    """Hint or news at the left, position and zoom at the right."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._hint = self._busy_words = ""
        self.setSizeGripEnabled(False)
        self.words, self.place, self.zoom = QLabel(), QLabel(), QLabel()
        self.busy = QProgressBar()
        self.busy.setRange(0, 0)
        self.busy.setFixedWidth(96)
        self.busy.setTextVisible(False)
        self.busy.hide()
        self.words.setContentsMargins(12, 0, 0, 0)
        self.place.setMinimumWidth(176)
        self.zoom.setMinimumWidth(56)
        self.zoom.setContentsMargins(0, 0, 12, 0)
        self.zoom.setToolTip("Zoom: at 100 % a millimetre is about a millimetre on the screen")
        for label in (self.words, self.place, self.zoom):
            dress(label, "quiet")
        self.addWidget(self.words, 1)
        for widget in (self.busy, self.place, self.zoom):
            self.addPermanentWidget(widget)
        self._saying = QTimer(self)
        self._saying.setSingleShot(True)
        self._saying.setInterval(SAY_MS)
        self._saying.timeout.connect(self._end_saying)
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(BUSY_AFTER_MS)
        self._late.timeout.connect(self.busy.show)

    @property
    def text(self) -> str:
        """What is said now."""
        return self.words.text()

    def say(self, text: str) -> None:
        """Say something for a while."""
        self.words.setText(text)
        dress(self.words, "")
        self._saying.start()

    def show_hint(self, hint: str) -> None:
        """Show what the tool expects next."""
        self._hint = hint
        if not self._saying.isActive():
            self._end_saying()

    def show_busy(self, words: str) -> None:
        """Show that something goes on; "" when it has ended."""
        if words:
            self.say(words)
            self._late.start()
        else:
            self._late.stop()
            self.busy.hide()
            if self.words.text() == self._busy_words:
                self._end_saying()
        self._busy_words = words

    def show_place(self, x_mm: float, y_mm: float) -> None:
        """Show where the pointer is."""
        units = self._session.job.units
        self.place.setText(f"x {format_length(x_mm, units)}   y {format_length(y_mm, units)}")

    def show_zoom(self, px_per_mm: float) -> None:
        """Show how far it is zoomed."""
        self.zoom.setText(f"{100 * px_per_mm / PX_PER_MM:.0f} %")

    def _end_saying(self) -> None:
        self._saying.stop()
        dress(self.words, "quiet")
        self.words.setText(self._hint)

"""In the head of the buying window: pack every width, for how long, and how far that is."""

from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from app.buying.width_packing import WidthPacking
from app.panes.controls import Combo
from app.style import dress

TIMES: tuple[tuple[str, float], ...] = (
    ("5 s each", 5),
    ("20 s each", 20),
    ("1 min each", 60),
)
TIP = (
    "Search for a short layout on every width on offer, for as long on each, "
    "so that their prices compare"
)


class PackRow(QWidget):
    """Starts and stops the search over the widths."""

    def __init__(self, packing: WidthPacking) -> None:
        super().__init__()
        self._packing = packing
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        self.words, self.bar = QLabel(), QProgressBar()
        dress(self.words, "quiet")
        self.bar.setRange(0, 100)
        self.bar.setFixedWidth(96)
        self.bar.setTextVisible(False)
        self.seconds = Combo()
        self.seconds.setAccessibleName("How long to pack each width")
        for text, value in TIMES:
            self.seconds.addItem(text, value)
        self.pack, self.stop = QPushButton("Pack every width"), QPushButton("Stop")
        for widget in (self.words, self.bar, self.seconds, self.pack, self.stop):
            row.addWidget(widget)
        for button in (self.pack, self.stop):
            button.setAutoDefault(False)
        self.pack.clicked.connect(self._on_pack)
        self.stop.clicked.connect(packing.stop)
        packing.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show whether a search can begin, or how far it is."""
        packing = self._packing
        is_running = packing.is_running
        why = packing.why_not()
        self.words.setText(packing.words)
        self.bar.setValue(round(100 * packing.share))
        for shown in (self.words, self.bar, self.stop):
            shown.setVisible(is_running)
        self.seconds.setVisible(not is_running)
        self.pack.setVisible(not is_running)
        self.seconds.setEnabled(not why)
        self.pack.setEnabled(not why)
        self.pack.setToolTip(f"{TIP}. {why}" if why else TIP)

    def _on_pack(self) -> None:
        self._packing.start(float(self.seconds.currentData()))

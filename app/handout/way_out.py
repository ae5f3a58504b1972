"""The way out where straight cuts do not part all pieces: another layout of the rolls."""

from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QVBoxLayout

from app.style import dress
from core.write.hand_cut import LAY_FOR_IT


class WayOut(QFrame):
    """Says what is the matter, and offers the layout."""

    def __init__(self) -> None:
        super().__init__()
        dress(self, "card")
        words = QLabel(
            "As the rolls lie now, straight cuts do not part all pieces. "
            "Laid for cutting by hand they do, but may take more film."
        )
        words.setWordWrap(True)
        self.button = QPushButton(LAY_FOR_IT)
        self.button.setAutoDefault(False)
        self.button.setToolTip("Changes the job; Undo brings the rolls back")
        column = QVBoxLayout(self)
        column.addWidget(words)
        column.addWidget(self.button)
        self.hide()

"""The foot of the window: where files go, how far the work is, and the buttons."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
)

from app.panes.fields import ChoiceField
from app.style import dress
from core.write.atomic import Existing

EXISTING = (
    ("Number the new ones", Existing.NUMBER),
    ("Replace them", Existing.REPLACE),
    ("Write nothing", Existing.REFUSE),
)


class Foot(QFrame):
    """Holds the fields and buttons; the window says what they do."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        dress(self, "pane")
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 12, 20, 14)
        column.setSpacing(8)
        self.problem = QLabel()
        self.problem.setWordWrap(True)
        self.problem.setTextFormat(Qt.TextFormat.PlainText)
        dress(self.problem, "stop")
        self.problem.hide()
        column.addWidget(self.problem)
        column.addLayout(self._folder_row(folder))
        column.addLayout(self._button_row())

    def _folder_row(self, folder: Path) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        self.folder_field = QLineEdit(str(folder))
        self.folder_field.setAccessibleName("Folder")
        self.browse = _button("Choose…")
        self.existing = ChoiceField()
        self.existing.setAccessibleName("Files of the same names")
        self.existing.setMinimumWidth(190)
        self.existing.show_choice(EXISTING, Existing.NUMBER)
        words = QLabel("&Folder")
        words.setBuddy(self.folder_field)
        row.addWidget(words)
        row.addWidget(self.folder_field, 1)
        row.addWidget(self.browse)
        row.addSpacing(12)
        row.addWidget(QLabel("Files that are there"))
        row.addWidget(self.existing)
        return row

    def _button_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setFixedSize(160, 8)
        self.progress.hide()
        self.said = QLabel()
        dress(self.said, "quiet")
        self.stop = _button("Stop")
        self.open_folder = _button("Open the folder")
        self.stop.hide()
        self.open_folder.hide()
        self.leave = _button("Close")
        self.print_button = _button("Print…")
        self.write_button = _button("Write")
        dress(self.write_button, "primary")
        for widget in (self.progress, self.said, self.stop, self.open_folder):
            row.addWidget(widget)
        row.addStretch()
        for button in (self.leave, self.print_button, self.write_button):
            row.addWidget(button)
        return row

    @property
    def existing_files(self) -> Existing:
        """What becomes of files that are there."""
        return EXISTING[self.existing.currentIndex()][1]


def _button(text: str) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    return button

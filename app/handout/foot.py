"""The foot of the window: where files go, how far the work is, and the buttons."""

from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Meeting:
    """What the files to be written meet in their folder.

    Attributes:
        count: how many of their names are taken.
        number: what all of them would get behind their names to be new; 1 is none.
        has_twins: whether two of them would have one name without a number.
    """

    count: int
    number: int
    has_twins: bool


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
        self.lays = QLabel()
        self.lays.setWordWrap(True)
        self.lays.hide()
        column.addWidget(self.lays)
        column.addLayout(self._folder_row(folder))
        self.names = QLabel()
        self.names.setWordWrap(True)
        dress(self.names, "quiet")
        self.names.hide()
        column.addWidget(self.names)
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

    def show_meeting(self, meeting: Meeting) -> None:
        """Say what becomes of names that are taken, or would be twice."""
        words = meeting_words(meeting, self.existing_files)
        self.names.setText(words)
        self.names.setVisible(bool(words))

    def show_lays(self, words: str, role: str) -> None:
        """Say whether the film lays, in a role of the style; nothing for ""."""
        dress(self.lays, role)
        self.lays.setText(words)
        self.lays.setVisible(bool(words))

    @property
    def existing_files(self) -> Existing:
        """What becomes of files that are there."""
        return EXISTING[self.existing.currentIndex()][1]


def meeting_words(meeting: Meeting, existing: Existing) -> str:
    """Return what becomes of files whose names are taken, or would be twice; "" if none are.

    >>> meeting_words(Meeting(3, 2, False), Existing.NUMBER)
    'Files of these names are there: each new one gets -2 behind its name.'
    """
    count = "1 file" if meeting.count == 1 else f"{meeting.count} files"
    words = []
    if existing is Existing.NUMBER and meeting.number > 1:
        words.append(
            "Files of these names are there: "
            f"each new one gets -{meeting.number} behind its name."
        )
    elif existing is Existing.REPLACE and meeting.count:
        words.append(f"{count} there will be replaced.")
    elif existing is Existing.REFUSE and meeting.count:
        words.append(f"{count} of these names there already: nothing will be written.")
    if meeting.has_twins:
        words.append("Where two files would have one name, the second ends in -2.")
    return " ".join(words)


def _button(text: str) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    return button

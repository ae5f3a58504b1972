"""Offers the safety copy of a run that ended badly."""

from enum import Enum, auto

from PySide6.QtWidgets import QMessageBox, QWidget

from app.messages import sign
from app.recovery import Leftover


class Answer(Enum):
    """What becomes of a safety copy."""

    OPEN = auto()
    DISCARD = auto()
    LATER = auto()


def ask_recover(parent: QWidget, leftover: Leftover) -> Answer:
    """Ask what becomes of a safety copy; closing the question leaves it for later."""
    box = recovery_box(parent, leftover)
    box.exec()
    role = box.buttonRole(box.clickedButton())
    if role is QMessageBox.ButtonRole.AcceptRole:
        return Answer.OPEN
    if role is QMessageBox.ButtonRole.DestructiveRole:
        return Answer.DISCARD
    return Answer.LATER


def recovery_box(parent: QWidget, leftover: Leftover) -> QMessageBox:
    """Return the question."""
    box = QMessageBox(parent)
    sign(box, "note")
    box.setWindowTitle("Lapline")
    box.setText(f"Open the safety copy of {leftover.name}?")
    where = f"\nFile: {leftover.path}" if leftover.path else ""
    when = leftover.when.strftime("%H:%M on %d.%m.%Y")
    box.setInformativeText(
        f"Lapline ended unexpectedly. This copy was made at {when} and holds changes that are "
        f"not saved.{where}"
    )
    take = box.addButton("Open the copy", QMessageBox.ButtonRole.AcceptRole)
    box.addButton("Throw it away", QMessageBox.ButtonRole.DestructiveRole)
    later = box.addButton("Ask me next time", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(take)
    box.setEscapeButton(later)
    return box

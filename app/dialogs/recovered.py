"""Offers the safety copy of a run that ended badly."""

from PySide6.QtWidgets import QMessageBox, QWidget

from app.recovery import Leftover


def ask_recover(parent: QWidget, leftover: Leftover) -> bool:
    """Ask whether a safety copy is to be opened; otherwise it is thrown away."""
    box = QMessageBox(parent)
    box.setIcon(QMessageBox.Icon.Question)
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
    box.setDefaultButton(take)
    box.exec()
    return box.clickedButton() is take

"""Says how many panels are hidden, and shows them when clicked on."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QToolButton, QWidget

_MARGIN_PX = 12


class HiddenChip(QToolButton):
    """A button in the lower left corner, there only while panels are hidden."""

    def __init__(self, parent: QWidget, show_all: Callable[[], object]) -> None:
        super().__init__(parent)
        self._over = parent
        self._count = 0
        self.setObjectName("hidden_chip")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setToolTip("Hidden panels are planned and cut all the same")
        self.setAutoFillBackground(True)
        self.clicked.connect(lambda _checked: show_all())
        self.hide()

    def show_count(self, count: int) -> None:
        """Say how many panels are hidden; 0 hides the button."""
        if count == self._count:
            return
        self._count = count
        self.setText("1 panel hidden: show" if count == 1 else f"{count} panels hidden: show")
        self.setVisible(count > 0)
        self.place()

    def place(self) -> None:
        """Stand in the corner."""
        self.adjustSize()
        self.move(_MARGIN_PX, self._over.height() - self.height() - _MARGIN_PX)

"""What all panes share: a title with a count, buttons beside it, and the content below."""

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from app.session import Session
from app.style import dress

REFRESH_MS, REST_MS = 30, 100


class Pane(QWidget):
    """A titled pane that brings itself up to date a moment after a change.

    While a gesture goes on it waits for a rest, so that the canvas stays fluent.
    """

    def __init__(self, title: str, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        dress(self, "pane")
        self.setAccessibleName(title)
        self._title, self._chip = QLabel(title), QLabel()
        dress(self._title, "title")
        dress(self._chip, "chip")
        self._chip.hide()
        self._buttons = QHBoxLayout()
        self._buttons.setSpacing(2)
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(0, 0, 0, 0)
        self.body.setSpacing(0)
        self.body.addWidget(self._head())
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.refresh)

    def _head(self) -> QWidget:
        head = QWidget()
        head.setFixedHeight(44)
        row = QHBoxLayout(head)
        row.setContentsMargins(16, 4, 8, 0)
        row.setSpacing(8)
        row.addWidget(self._title)
        row.addWidget(self._chip)
        row.addStretch()
        row.addLayout(self._buttons)
        return head

    def set_title(self, title: str) -> None:
        """Show another title."""
        self._title.setText(title)

    def set_count(self, text: str) -> None:
        """Show a short text beside the title; "" for none."""
        self._chip.setText(text)
        self._chip.setVisible(bool(text))

    def add_button(self, action: QAction) -> QToolButton:
        """Put an action's icon beside the title."""
        button = flat_button(action)
        self._buttons.addWidget(button)
        return button

    def add_to_head(self, widget: QWidget) -> None:
        """Put a widget beside the title."""
        self._buttons.setSpacing(8)
        self._buttons.addWidget(widget)

    def refresh_soon(self) -> None:
        """Bring the pane up to date after what goes on now."""
        if self.session.is_previewing:
            self._timer.start(REST_MS)
        elif not self._timer.isActive() or self._timer.remainingTime() > REFRESH_MS:
            self._timer.start(REFRESH_MS)

    def refresh(self) -> None:
        """Bring the pane up to date."""
        raise NotImplementedError


def flat_button(action: QAction) -> QToolButton:
    """Return a button with an action's icon and no frame."""
    button = QToolButton()
    button.setDefaultAction(action)
    button.setIconSize(QSize(18, 18))
    dress(button, "flat")
    return button


def quiet_label(text: str) -> QLabel:
    """Return a wrapped, secondary label."""
    label = QLabel(text)
    label.setWordWrap(True)
    dress(label, "quiet")
    return label

"""The bar above the canvas: whose job it is, which variant, and the way to everything else."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QToolButton, QWidget

from app.actions import Actions
from app.panes.fields import ChoiceField
from app.panes.pane import flat_button
from app.session import Session
from app.style import dress


class Header(QFrame):
    """Name, variant, undo and redo, the list of actions, hand out."""

    def __init__(
        self, session: Session, actions: Actions, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session = session
        dress(self, "bar")
        self.setFixedHeight(52)
        self.name, self.state = QLabel(), QLabel()
        dress(self.name, "job")
        dress(self.state, "quiet")
        self.name.setTextFormat(Qt.TextFormat.PlainText)
        self.variant = ChoiceField()
        self.variant.setAccessibleName("Variant")
        self.variant.setMinimumWidth(128)
        self.variant.chosen.connect(session.set_variant)
        row = QHBoxLayout(self)
        row.setContentsMargins(16, 0, 12, 0)
        row.setSpacing(8)
        row.addWidget(self.name)
        row.addWidget(self.state)
        row.addSpacing(16)
        words = QLabel("Variant")
        dress(words, "quiet")
        row.addWidget(words)
        row.addWidget(self.variant)
        row.addWidget(flat_button(actions["add_variant"]))
        row.addStretch()
        row.addWidget(flat_button(actions["undo"]))
        row.addWidget(flat_button(actions["redo"]))
        row.addSpacing(8)
        row.addWidget(_search(actions))
        row.addSpacing(8)
        self.hand_out = _primary(actions)
        row.addWidget(self.hand_out)
        session.file_changed.connect(self.refresh)
        session.job_changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show name, state and variants as they are now."""
        job = self._session.committed_job
        metrics = self.name.fontMetrics()
        self.name.setText(metrics.elidedText(job.name, Qt.TextElideMode.ElideRight, 260))
        self.name.setToolTip(str(self._session.path or "Not saved in a file yet"))
        self.state.setText("not saved" if self._session.is_dirty else "")
        options: list[tuple[str, object]] = [(v.name, v.id) for v in job.variants]
        self.variant.show_choice(options, self._session.variant)


def _search(actions: Actions) -> QToolButton:
    action = actions["find_action"]
    keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    button = QToolButton()
    button.setIcon(action.icon())
    button.setIconSize(QSize(16, 16))
    button.setText(f"Find a command   {keys}")
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
    button.setToolTip(action.toolTip())
    button.clicked.connect(action.trigger)
    dress(button, "search")
    return button


def _primary(actions: Actions) -> QPushButton:
    action = actions["hand_out"]
    button = QPushButton("Hand out…")
    dress(button, "primary")
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a click leaves the keys to the canvas
    button.clicked.connect(action.trigger)

    def follow() -> None:
        button.setEnabled(action.isEnabled())
        button.setToolTip(action.toolTip())

    action.changed.connect(follow)
    follow()
    return button

"""What an empty job shows in the middle of the canvas: how to begin."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QFrame, QLabel, QMenu, QPushButton, QVBoxLayout, QWidget

from app.actions import Actions
from app.icons import icon
from app.panes.pane import quiet_label
from app.session import Session
from app.style import dress


class StartCard(QFrame):
    """Floats over its parent while the job has no panel."""

    def __init__(
        self, session: Session, actions: Actions, samples: QMenu, parent: QWidget
    ) -> None:
        super().__init__(parent)
        self._session, self._over = session, parent
        dress(self, "card")
        self.setFixedWidth(376)
        column = QVBoxLayout(self)
        column.setContentsMargins(32, 28, 32, 28)
        column.setSpacing(8)
        mark = QLabel()
        mark.setPixmap(icon("seam").pixmap(36, 36))
        title = QLabel("What will you cover?")
        dress(title, "big")
        column.addWidget(mark)
        column.addWidget(title)
        intro = quiet_label(
            "Plan a colour change before any film is touched: add a panel, draw "
            "seams and stripes on it, and see every piece on its roll."
        )
        column.addWidget(intro)
        column.addSpacing(12)
        self.add = _button("Add a panel by its measures…", "primary")
        self.outlines = _button("Panels from a drawing: DXF, SVG, PDF…")
        self.photo = _button("A panel from a photo…")
        self.scan = _button("A panel from a scan: STL, OBJ, PLY, 3MF…")
        self.sample = _button("Open a sample")
        self.sample.setMenu(samples)
        self.sample.setEnabled(samples.isEnabled())
        self.sample.setToolTip("" if samples.isEnabled() else "No samples came with this copy")
        self.open = _button("Open a job…")
        for button, action in (
            (self.add, "add_panel"),
            (self.outlines, "import_outlines"),
            (self.photo, "from_photo"),
            (self.scan, "from_scan"),
            (self.open, "open"),
        ):
            button.clicked.connect(actions[action].trigger)
        for button in (self.add, self.outlines, self.photo, self.scan):
            column.addWidget(button)
        column.addSpacing(12)
        for button in (self.sample, self.open):
            column.addWidget(button)
        drop = quiet_label(
            "Or drop a job, a drawing, a photo or a scan anywhere on the window."
        )
        column.addWidget(drop)
        self._spare = (mark, intro, drop)
        """What can be done without where the window is low."""
        parent.installEventFilter(self)
        session.job_changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the card while there is nothing to cover."""
        is_wanted = not self._session.job.panels
        if is_wanted:
            self._centre()
        self.setVisible(is_wanted)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Stay in the middle."""
        if event.type() == QEvent.Type.Resize:
            self._centre()
        return super().eventFilter(watched, event)

    def _centre(self) -> None:
        parent = self._over
        for is_roomy in (True, False):
            for widget in self._spare:
                widget.setVisible(is_roomy)
            self.adjustSize()
            if self.height() <= parent.height():
                break
        self.move(
            max(0, (parent.width() - self.width()) // 2),
            max(0, (parent.height() - self.height()) // 2),
        )
        self.raise_()


def _button(text: str, look: str = "") -> QPushButton:
    button = QPushButton(text)
    button.setCursor(Qt.CursorShape.PointingHandCursor)
    button.setMinimumHeight(34)
    if look:
        dress(button, look)
    return button

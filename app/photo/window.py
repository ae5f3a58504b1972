"""The photo window: the stages on the left, the photo on the right."""

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.icons import icon
from app.photo.desk import PhotoDesk
from app.photo.page import Page
from app.photo.panel_page import PanelPage
from app.photo.scale_page import ScalePage
from app.photo.trace_page import TracePage
from app.photo.view import PhotoView
from app.style import dress
from app.theme import current_theme
from core.document.job import Job
from core.errors import LaplineError
from core.progress import Step
from core.read.photo import Picture
from core.read.photo_panel import TracedPanel, add_traced_panel
from core.read.photo_scale import Method

STAGES = ("Scale", "Outline", "Panel")
SIDE_PX = 312


class PhotoWindow(QDialog):
    """From one photo to a panel. ``traced`` is the result after it was accepted."""

    board_wanted = Signal()

    def __init__(self, picture: Picture, job: Job, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"From a photo: {picture.name}")
        self.setWindowFlag(Qt.WindowType.WindowMaximizeButtonHint)
        self.setMinimumSize(860, 560)
        self.resize(1280, 820)
        self.job = job
        self.traced: TracedPanel | None = None
        self.desk = PhotoDesk(picture, self)
        self.view = PhotoView(self.desk, current_theme())
        self.scale_page = ScalePage(self.desk, job.units)
        self.trace_page = TracePage(self.desk, job.units)
        self.panel_page = PanelPage(self.desk, job)
        self.stages: list[QToolButton] = []
        self._lay_out()
        self._connect()
        self._on_changed()
        self.view.setFocus()

    # Layout

    def _lay_out(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self._side())
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self.view, 1)
        right.addWidget(self._strip())
        row.addLayout(right, 1)

    def _side(self) -> QWidget:
        side = QFrame()
        side.setFixedWidth(SIDE_PX)
        dress(side, "pane")
        column = QVBoxLayout(side)
        column.setContentsMargins(20, 18, 20, 18)
        column.setSpacing(14)
        column.addLayout(self._head())
        column.addLayout(self._stage_row())
        self.pages = QStackedWidget()
        for page in (self.scale_page, self.trace_page, self.panel_page):
            self.pages.addWidget(page)
        column.addWidget(self.pages, 1)
        column.addLayout(self._foot())
        return side

    def _head(self) -> QHBoxLayout:
        row = QHBoxLayout()
        title = QLabel("From a photo")
        dress(title, "job")
        row.addWidget(title)
        row.addStretch()
        self.undo_button = _flat("undo", "Undo")
        self.redo_button = _flat("redo", "Redo")
        row.addWidget(self.undo_button)
        row.addWidget(self.redo_button)
        return row

    def _stage_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(4)
        group = QButtonGroup(self)
        for i, words in enumerate(STAGES):
            button = QToolButton()
            button.setText(f"{i + 1}  {words}")
            button.setCheckable(True)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            button.clicked.connect(lambda _checked, stage=i: self.go(stage))
            group.addButton(button)
            self.stages.append(button)
            row.addWidget(button)
        return row

    def _foot(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        self.leave = QPushButton("Cancel")
        self.leave.setAutoDefault(False)
        self.onward = QPushButton("Next")
        self.onward.setAutoDefault(False)
        dress(self.onward, "primary")
        row.addWidget(self.leave)
        row.addStretch()
        row.addWidget(self.onward)
        return row

    def _strip(self) -> QWidget:
        strip = QFrame()
        strip.setFixedHeight(34)
        dress(strip, "pane")
        row = QHBoxLayout(strip)
        row.setContentsMargins(14, 0, 14, 0)
        row.setSpacing(10)
        self.hint = QLabel(self.view.hand.hint)
        dress(self.hint, "quiet")
        self.busy = QProgressBar()
        self.busy.setFixedWidth(120)
        self.busy.setTextVisible(False)
        self.halt = QToolButton()
        self.halt.setText("Stop")
        for part in (self.busy, self.halt):
            part.hide()
        row.addWidget(self.hint, 1)
        row.addWidget(self.busy)
        row.addWidget(self.halt)
        return strip

    def _connect(self) -> None:
        desk = self.desk
        desk.changed.connect(self._on_changed)
        desk.said.connect(self.hint.setText)
        desk.refused.connect(self._on_refused)
        desk.busy_changed.connect(self._on_busy)
        desk.progressed.connect(self._on_progress)
        self.view.hint_changed.connect(self.hint.setText)
        self.scale_page.board_wanted.connect(self.board_wanted)
        self.halt.clicked.connect(desk.stop)
        self.undo_button.clicked.connect(desk.undo)
        self.redo_button.clicked.connect(desk.redo)
        self.leave.clicked.connect(self.reject)
        self.onward.clicked.connect(self.go_on)
        for keys, slot in (
            ("Ctrl+Z", desk.undo),
            ("Ctrl+Shift+Z", desk.redo),
            ("Ctrl+Y", desk.redo),
        ):
            QShortcut(QKeySequence(keys), self, slot)

    # Stages

    @property
    def stage(self) -> int:
        """Which stage is shown: 0 scale, 1 outline, 2 panel."""
        return self.pages.currentIndex()

    def go(self, stage: int) -> None:
        """Show a stage, as far as what came before allows."""
        stage = min(stage, self._farthest())
        self.pages.setCurrentIndex(stage)
        self.desk.set_stage(is_tracing=stage > 0)
        match stage:
            case 0:
                self.scale_page.take_tool()
            case 1:
                self.desk.set_tool("edit" if self.desk.tracing.outline else "find")
            case _:
                self.desk.set_tool("")
                self.panel_page.name.setFocus()
                self.panel_page.name.selectAll()
        self._on_changed()

    def go_on(self) -> None:
        """Go to the next stage; from the last, add the panel."""
        if self.stage < len(STAGES) - 1:
            self.go(self.stage + 1)
        else:
            self.accept()

    def _farthest(self) -> int:
        draft = self.desk.draft
        if draft.flat is None:
            return 0
        return 2 if draft.tracing.outline else 1

    def _on_changed(self) -> None:
        far, history = self._farthest(), self.desk.history
        if self.stage > far:
            self.go(far)
            return
        for i, button in enumerate(self.stages):
            button.setChecked(i == self.stage)
            button.setEnabled(i <= far)
        is_last = self.stage == len(STAGES) - 1
        self.onward.setText("Add panel" if is_last else "Next")
        self.onward.setEnabled((is_last or self.stage < far) and not self.desk.is_busy)
        for button, verb, words in (
            (self.undo_button, "Undo", history.undo_text),
            (self.redo_button, "Redo", history.redo_text),
        ):
            button.setEnabled(bool(words))
            button.setToolTip(f"{verb}: {words}" if words else verb)

    def _page(self) -> Page:
        page = self.pages.currentWidget()
        assert isinstance(page, Page)
        return page

    def _on_refused(self, error: LaplineError) -> None:
        self._page().refuse(error)

    def _on_busy(self, words: str) -> None:
        self.busy.setVisible(bool(words))
        self.halt.setVisible(bool(words))
        self.pages.setEnabled(not words)
        self.busy.setRange(0, 0)  # how far it is is not known yet
        if words:
            self._page().refuse(None)
            self.hint.setText(words)
        else:
            self.hint.setText(self.view.hand.hint)
        self._on_changed()

    def _on_progress(self, step: Step) -> None:
        self.hint.setText(step.words)
        if step.share is not None:
            self.busy.setRange(0, 100)
            self.busy.setValue(round(100 * step.share))

    # The end

    def accept(self) -> None:
        """Make the panel, or say what is wrong."""
        draft, page = self.desk.draft, self.panel_page
        if draft.flat is None or draft.scale is None:
            return
        try:
            self.traced = add_traced_panel(
                self.job,
                draft.tracing,
                draft.flat,
                draft.scale,
                page.wish(),
                title=self.desk.picture.name,
            )
        except LaplineError as error:
            page.refuse(error)
            return
        super().accept()

    def reject(self) -> None:
        """Leave without a trace."""
        self.desk.stop()
        super().reject()

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802
        """Stop what goes on."""
        self.desk.stop()
        super().closeEvent(event)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Look for the board by itself the first time."""
        super().showEvent(event)
        self.view.zoom_to_fit()
        is_fresh = self.desk.draft.scale is None and not self.desk.history.undo_text
        if is_fresh and self.desk.draft.method is Method.BOARD:
            QTimer.singleShot(0, self.scale_page.find_board.click)


def _flat(picture: str, words: str) -> QToolButton:
    button = QToolButton()
    button.setIcon(icon(picture))
    button.setToolTip(words)
    button.setAccessibleName(words)
    dress(button, "flat")
    return button

"""What a file looks like: its pages, or its text; made in the pool, with a way to stop."""

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.handout.page_bar import PageBar
from app.handout.page_view import PageView
from app.handout.text_view import TextView, can_be_read
from app.jobs import Control
from app.newest import Newest
from app.style import dress
from core.progress import Step
from core.write.planned_file import PlannedFile
from core.write.preview import Preview, preview_of

PATIENCE_MS = 500
"""So long what was shown before stays; then it is told what is awaited."""
BAR_PX = 260


class Sight(QWidget):
    """Shows one file of the list; while a long one is made, it tells how far it is."""

    changed = Signal()
    """Something else is shown."""

    def __init__(self) -> None:
        super().__init__()
        self.pages, self.text, self.waiting = PageView(), TextView(), _Waiting()
        self.bar = PageBar(self.pages)
        self._file: PlannedFile | None = None
        self._shown = QStackedWidget()
        for widget in (self.pages, self.text, self.waiting):
            self._shown.addWidget(widget)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(self.bar)
        box.addWidget(self._shown, 1)
        self._newest: Newest[PlannedFile] = Newest(_made, 0, self)
        self._newest.told.connect(self._on_told)
        self._newest.found.connect(self._on_made)
        self._newest.refused.connect(lambda why: self._show_pages(None, why))
        self._patience = QTimer(self, singleShot=True, interval=PATIENCE_MS)
        self._patience.timeout.connect(self._on_long)
        self.waiting.button.clicked.connect(self._on_button)

    @property
    def is_busy(self) -> bool:
        """Whether a file is being made to be shown."""
        return self._newest.is_busy

    @property
    def has_pages(self) -> bool:
        """Whether pages are shown, which can be printed."""
        return self.pages.preview is not None and self._shown.currentWidget() is self.pages

    @property
    def is_text(self) -> bool:
        """Whether a table or a text is shown."""
        return self._shown.currentWidget() is self.text

    def look_at(self, file: PlannedFile | None) -> None:
        """Show a file, or that there is none."""
        self._file = file
        if file is None:
            self.end()
            self._show_pages(None, "Nothing is chosen to be written.")
            return
        self._newest.want(file)
        self._patience.start()

    def end(self) -> None:
        """Stop what is being made."""
        self._patience.stop()
        self._newest.drop()

    def _on_long(self) -> None:
        if self._newest.is_busy and self._file is not None:
            self.waiting.show_step(self._file.name, Step("", None))
            self._show(self.waiting)

    def _on_told(self, step: object) -> None:
        if isinstance(step, Step) and self._file is not None:
            self.waiting.show_step(self._file.name, step)

    def _on_button(self) -> None:
        """Stop, or begin anew after that."""
        if self._newest.is_busy:
            self.end()
            self.waiting.show_stopped()
        else:
            self.look_at(self._file)
            self._on_long()

    def _on_made(self, answer: Preview | bytes | None) -> None:
        self._patience.stop()
        name = self._file.name if self._file else ""
        if isinstance(answer, bytes):
            self.text.show_data(name, answer)
            self._show(self.text)
        else:
            self._show_pages(answer, f"{name} has no pages to show; it is written as it is.")

    def _show_pages(self, preview: Preview | None, message: str) -> None:
        self._patience.stop()
        self.pages.show_preview(preview, message)
        self._show(self.pages)

    def _show(self, widget: QWidget) -> None:
        self._shown.setCurrentWidget(widget)
        self.bar.setVisible(self.has_pages)
        self.changed.emit()


def _made(file: PlannedFile, control: Control) -> Preview | bytes | None:
    if can_be_read(file.name):
        return file.data(control)
    return preview_of(file, control)


class _Waiting(QWidget):
    """Tells how far a file is, with a button to stop."""

    def __init__(self) -> None:
        super().__init__()
        self.name, self.words = QLabel(), QLabel()
        dress(self.name, "title")
        dress(self.words, "quiet")
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setFixedSize(BAR_PX, 8)
        self.button = QPushButton()
        self.button.setAutoDefault(False)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addStretch()
        for widget in (self.name, self.words, self.progress, self.button):
            row = QHBoxLayout()
            row.addStretch()
            row.addWidget(widget)
            row.addStretch()
            column.addLayout(row)
        column.addStretch()
        for label in (self.name, self.words):
            label.setAlignment(Qt.AlignmentFlag.AlignCenter)

    def show_step(self, name: str, step: Step) -> None:
        """Tell what is made, and how far it is."""
        self.name.setText(name)
        words = step.words[:1].upper() + step.words[1:]
        self.words.setText(words or "Drawing it…")
        self.progress.setRange(0, 0 if step.share is None else 1000)
        self.progress.setValue(round(1000 * (step.share or 0.0)))
        self.progress.show()
        self.button.setText("Stop")

    def show_stopped(self) -> None:
        """Tell that it was stopped; the button begins anew."""
        self.words.setText("Stopped; it can be written all the same.")
        self.progress.hide()
        self.button.setText("Show it")

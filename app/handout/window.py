"""One place to hand work out: choose what, see it as it will be, write or print it."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt, QTimer, QUrl, Signal
from PySide6.QtGui import QCloseEvent, QDesktopServices, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from app.handout.choices import Choices
from app.handout.file_list import FileList
from app.handout.foot import Foot
from app.handout.page_bar import PageBar
from app.handout.page_view import PageView
from app.handout.printing import ask_and_print
from app.handout.text_view import TextView, can_be_read
from app.jobs import Work
from app.messages import show_error
from app.style import dress
from core.errors import ExportFailed, LaplineError
from core.plan.model import Finding, JobPlan
from core.progress import Step
from core.roll.model import RollPlan
from core.roll.rolls import roll_plan
from core.write.outputs import OutputOptions, planned_outputs, write_files
from core.write.planned_file import FileKind, PlannedFile
from core.write.preview import Preview, preview_of
from core.write.small_features import plotter_findings

CHOICES_PX, FILES_PX = 316, 330
WARNINGS_PX = 130
REST_MS = 150

Listing = tuple[RollPlan, tuple[PlannedFile, ...], tuple[Finding, ...]]
"""Rolls, the files that can be made, and what the plotter will not cut well."""


class HandOutWindow(QDialog):
    """Lists, shows, writes and prints the files of one plan."""

    written = Signal(list)
    """The paths written."""

    def __init__(
        self,
        plan: JobPlan,
        rolls: RollPlan | None,
        options: OutputOptions,
        folder: Path,
        parent: QWidget | None = None,
    ) -> None:
        """Open on a plan; rolls that are not known yet are laid out first."""
        super().__init__(parent)
        self.setWindowTitle(f"Hand out: {plan.job.name}")
        self.setWindowFlag(Qt.WindowType.WindowMaximizeButtonHint)
        self.setMinimumSize(960, 560)
        self.resize(1280, 800)
        self.plan, self._rolls = plan, rolls
        self._planning: Work | None = None
        self._looking = 0
        self._refused = ""
        self._work: Work | None = None
        self._folder_written: Path | None = None
        self.choices = Choices(options)
        self.files = FileList()
        self.pages = PageView()
        self.text = TextView()
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._list)
        self._lay_out(folder)
        self._connect()
        self._list()
        self.files.setFocus()

    @property
    def folder(self) -> Path:
        """Where files go."""
        return Path(self.foot.folder_field.text().strip()).expanduser()

    @property
    def is_waiting(self) -> bool:
        """Whether a choice was just made, and the files are about to be listed anew."""
        return self._rest.isActive()

    @property
    def is_busy(self) -> bool:
        """Whether files are being listed, written or printed."""
        return self._planning is not None or self._work is not None

    # Layout

    def _lay_out(self, folder: Path) -> None:
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        row = QHBoxLayout()
        row.setSpacing(0)
        self.choices.setFixedWidth(CHOICES_PX)
        row.addWidget(self.choices)
        row.addWidget(_rule(is_upright=True))
        row.addWidget(self._file_column())
        row.addWidget(_rule(is_upright=True))
        row.addLayout(self._sight(), 1)
        whole.addLayout(row, 1)
        whole.addWidget(_rule())
        self.foot = Foot(folder)
        whole.addWidget(self.foot)

    def _file_column(self) -> QWidget:
        column = QWidget()
        column.setFixedWidth(FILES_PX)
        box = QVBoxLayout(column)
        box.setContentsMargins(12, 14, 8, 8)
        box.setSpacing(8)
        self.count = QLabel()
        dress(self.count, "title")
        box.addWidget(self.count)
        box.addWidget(self.files, 1)
        box.addWidget(self._warning_list())
        return column

    def _warning_list(self) -> QScrollArea:
        self.warnings = QLabel()
        self.warnings.setWordWrap(True)
        self.warnings.setTextFormat(Qt.TextFormat.PlainText)
        self.warnings.setAlignment(Qt.AlignmentFlag.AlignTop)
        dress(self.warnings, "warn")
        self.warning_list = QScrollArea()
        self.warning_list.setWidgetResizable(True)
        self.warning_list.setMaximumHeight(WARNINGS_PX)
        self.warning_list.setWidget(self.warnings)
        self.warning_list.hide()
        return self.warning_list

    def _sight(self) -> QVBoxLayout:
        box = QVBoxLayout()
        box.setSpacing(0)
        self.bar = PageBar(self.pages)
        self.shown = QStackedWidget()
        self.shown.addWidget(self.pages)
        self.shown.addWidget(self.text)
        box.addWidget(self.bar)
        box.addWidget(self.shown, 1)
        return box

    def _connect(self) -> None:
        self.choices.changed.connect(self._rest.start)
        self.choices.refused.connect(self._on_refused)
        self.files.chosen.connect(self._look_at)
        self.files.ticks_changed.connect(self._refresh)
        self.foot.browse.clicked.connect(self._on_browse)
        self.foot.folder_field.textChanged.connect(lambda _: self._refresh())
        self.foot.leave.clicked.connect(self.reject)
        self.foot.write_button.clicked.connect(self.write)
        self.foot.print_button.clicked.connect(self.ask_printer)
        self.foot.stop.clicked.connect(self._on_stop)
        self.foot.open_folder.clicked.connect(self._on_open_folder)
        for keys, deed in (("Ctrl+Return", self.write), ("Ctrl+P", self.ask_printer)):
            QShortcut(QKeySequence(keys), self, deed)

    # Listing

    def _list(self) -> None:
        """Plan the files anew, in the pool."""
        if self._planning is not None:
            self._rest.start()
            return
        plan, known, options = self.plan, self._rolls, self.choices.options

        def task(_: object) -> Listing:
            rolls = known or roll_plan(plan).rolls
            files = planned_outputs(plan, rolls, options)
            is_cut = any(file.kind is FileKind.PLOTTER for file in files)
            return rolls, files, plotter_findings(plan, options.plotter) if is_cut else ()

        self._planning = Work(task)
        self._planning.done.connect(self._on_listed)
        self._planning.failed.connect(self._on_not_listed)
        self._planning.ended.connect(self._on_planning_ended)
        self._planning.start()
        self._refresh()

    def _on_listed(self, answer: Listing) -> None:
        self._rolls, files, findings = answer
        self._say_problem("")
        self.warnings.setText("\n".join(finding.text for finding in findings))
        self.warning_list.setVisible(bool(findings))
        self.files.show_files(files)

    def _on_not_listed(self, error: Exception) -> None:
        if not isinstance(error, LaplineError):
            raise error
        self.files.show_files(())
        self._say_problem(error.sentence())

    def _on_planning_ended(self) -> None:
        self._planning = None
        self._refresh()

    # Looking

    def _look_at(self, file: PlannedFile | None) -> None:
        """Show a file; it is made in the pool."""
        self._looking += 1
        wish = self._looking
        if file is None:
            self._show(None, "Nothing is chosen to be written.")
            return

        def task(_: object) -> Preview | bytes | None:
            if can_be_read(file.name):
                return file.data()
            return preview_of(file)

        work = Work(task)
        work.done.connect(lambda answer: self._on_made(wish, file, answer))
        work.failed.connect(lambda error: self._on_not_made(wish, error))
        work.start()

    def _on_made(self, wish: int, file: PlannedFile, answer: Preview | bytes | None) -> None:
        if not isValid(self) or wish != self._looking:  # closed, or another file was chosen
            return
        if isinstance(answer, bytes):
            self.text.show_data(file.name, answer)
            self.shown.setCurrentWidget(self.text)
            self.bar.hide()
        else:
            self._show(answer, f"{file.name} has no pages to show; it is written as it is.")
        self._refresh()

    def _on_not_made(self, wish: int, error: Exception) -> None:
        if not isinstance(error, LaplineError):
            raise error
        if isValid(self) and wish == self._looking:
            self._show(None, error.sentence())

    def _show(self, preview: Preview | None, message: str) -> None:
        self.pages.show_preview(preview, message)
        self.shown.setCurrentWidget(self.pages)
        self.bar.setVisible(preview is not None)
        self._refresh()

    # Writing

    def write(self) -> None:
        """Write the ticked files into the folder."""
        files = self.files.ticked()
        if self._work is not None or not self.foot.write_button.isEnabled():
            return
        folder, existing = self.folder, self.foot.existing_files
        self._run(
            Work(lambda control: write_files(files, folder, existing, control)),
            self._on_written,
        )

    def _run(self, work: Work, on_done: Callable[[list[Path]], None]) -> None:
        self._work = work
        work.progressed.connect(self._on_step)
        work.done.connect(on_done)
        work.failed.connect(self._on_failed)
        work.ended.connect(self._on_ended)
        self._say_problem("")
        self.foot.open_folder.hide()
        self.foot.progress.setRange(0, 0)
        work.start()
        self._refresh()

    def _on_step(self, step: object) -> None:
        if isinstance(step, Step):
            self.foot.said.setText(step.words)
            if step.share is not None:
                self.foot.progress.setRange(0, 1000)
                self.foot.progress.setValue(round(1000 * step.share))

    def _on_written(self, paths: list[Path]) -> None:
        self._folder_written = self.folder
        count = "1 file" if len(paths) == 1 else f"{len(paths)} files"
        self.foot.said.setText(f"{count} written to {self._folder_written}")
        self.foot.open_folder.show()
        self.written.emit(paths)

    def _on_failed(self, error: Exception) -> None:
        if isinstance(error, OSError):
            error = ExportFailed(f"It could not be written: {error.strerror}.")
        if not isinstance(error, LaplineError):
            raise error
        self.foot.said.setText("")
        self._say_problem(error.sentence())

    def _on_ended(self) -> None:
        work, self._work = self._work, None
        if work is not None and work.control.is_cancelled():
            self.foot.said.setText("Stopped; nothing was written")
        self._refresh()

    def _on_stop(self) -> None:
        if self._work is not None:
            self._work.cancel()

    # Printing

    def ask_printer(self) -> None:
        """Ask for a printer and print the pages of the file that is looked at."""
        if not self.foot.print_button.isEnabled():
            return
        try:
            count = ask_and_print(self.pages, self.files.current_name, self)
        except LaplineError as error:
            show_error(error, self)
            return
        if count:
            pages = "1 page" if count == 1 else f"{count} pages"
            self.foot.said.setText(
                f"{pages} sent to the printer: measure the 100 mm square first"
            )

    # State

    def _on_refused(self, why: str) -> None:
        self._refused = why
        self._say_problem(why)
        self._refresh()

    def _say_problem(self, text: str) -> None:
        self.foot.problem.setText(text)
        self.foot.problem.setVisible(bool(text))

    def _refresh(self) -> None:
        """Enable what can be done; say why the rest cannot."""
        count = len(self.files.ticked())
        total = self.files.count()
        self.count.setText("Listing…" if self._planning else f"{count} of {total} files")
        is_writing = self._work is not None
        reason = ""
        if not count:
            reason = "No file is ticked"
        elif not self.foot.folder_field.text().strip():
            reason = "A folder is needed"
        elif self._refused:
            reason = "Mend what is marked on the left"
        elif self.is_busy:
            reason = "Wait until this is done"
        words = "Write 1 file" if count == 1 else f"Write {count} files"
        self.foot.write_button.setText(words if count else "Write")
        self.foot.write_button.setEnabled(not reason)
        self.foot.write_button.setToolTip(reason or "Ctrl+Enter")
        has_pages = self.pages.preview is not None and self.shown.currentIndex() == 0
        self.foot.print_button.setEnabled(has_pages and not is_writing)
        self.foot.print_button.setToolTip(
            "At true size (Ctrl+P)" if has_pages else "This file has no pages"
        )
        self.foot.progress.setVisible(is_writing)
        self.foot.stop.setVisible(is_writing)

    def _on_browse(self) -> None:
        folder = QFileDialog.getExistingDirectory(
            self, "Write into", self.foot.folder_field.text()
        )
        if folder:
            self.foot.folder_field.setText(folder)

    def _on_open_folder(self) -> None:
        if self._folder_written is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._folder_written)))

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802
        """Stop what is being written."""
        self._on_stop()
        super().closeEvent(event)


def _rule(*, is_upright: bool = False) -> QFrame:
    rule = QFrame()
    dress(rule, "upright rule" if is_upright else "rule")
    return rule

"""One place to hand work out: choose what, see it as it will be, write or print it."""

from collections.abc import Callable
from pathlib import Path, PurePath

from PySide6.QtCore import Qt, QTimer, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.handout.choices import Choices
from app.handout.file_list import FileList
from app.handout.foot import Foot
from app.handout.listing import Listing, Wanted, listed, met, used_mm
from app.handout.printing import ask_and_print
from app.handout.sight import Sight
from app.handout.way_out import WayOut
from app.jobs import Work
from app.messages import show_error
from app.newest import Newest
from app.style import dress
from core.errors import ExportFailed, LaplineError
from core.plan.model import JobPlan
from core.progress import Step
from core.roll.model import RollPlan
from core.roll.wording import length_to_buy
from core.write.outputs import OutputOptions, write_files

CHOICES_PX, FILES_PX = 316, 330
WARNINGS_PX = 130
REST_MS = 150


class HandOutWindow(QDialog):
    """Lists, shows, writes and prints the files of one plan."""

    written = Signal(list)
    """The paths written."""
    straight_wanted = Signal()
    """The rolls are to be laid so that straight cuts part all pieces."""

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
        self._laid_mm: float | None = None
        """How much film the plan before took, while another is laid."""
        self._planning: Work | None = None
        self._refused = ""
        self._stopped = ""
        """Why there are no files to write."""
        self._work: Work | None = None
        self._folder_written: Path | None = None
        self.choices = Choices(options)
        self.files = FileList()
        self.sight = Sight()
        self._meeting: Newest[Wanted] = Newest(met, REST_MS, self)
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
        row.addWidget(self.sight, 1)
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
        self.way_out = WayOut()
        box.addWidget(self.way_out)
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

    def _connect(self) -> None:
        self.choices.changed.connect(self._rest.start)
        self.choices.refused.connect(self._on_refused)
        self.files.chosen.connect(self.sight.look_at)
        self.sight.changed.connect(self._refresh)
        self.files.ticks_changed.connect(self._refresh)
        self._meeting.found.connect(self.foot.show_meeting)
        self.foot.existing.activated.connect(lambda _: self._refresh())
        self.way_out.button.clicked.connect(self.straight_wanted)
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

        self._planning = Work(lambda _: listed(plan, known, options))
        self._planning.done.connect(self._on_listed)
        self._planning.failed.connect(self._on_not_listed)
        self._planning.ended.connect(self._on_planning_ended)
        self._planning.start()
        self._refresh()

    def show_plan(self, plan: JobPlan) -> None:
        """Hand out another plan of the job: its rolls are laid, and its files listed."""
        self._laid_mm = used_mm(self._rolls, self.plan.job.units)
        self.plan, self._rolls = plan, None
        self._list()

    def _on_listed(self, answer: Listing) -> None:
        if self._rolls is None and self._laid_mm is not None:
            units = self.plan.job.units
            fresh_mm = used_mm(answer.rolls, units) or 0.0
            before, now = (length_to_buy(mm, units) for mm in (self._laid_mm, fresh_mm))
            self.foot.said.setText(f"Laid anew: {now} of film, before {before}")
        self._rolls, self._laid_mm = answer.rolls, None
        self._stopped = ""
        self._say_problem("")
        self.warnings.setText("\n".join(finding.text for finding in answer.findings))
        self.warning_list.setVisible(bool(answer.findings))
        self.way_out.setVisible(answer.is_stuck)
        self.files.show_files(answer.files)

    def _on_not_listed(self, error: Exception) -> None:
        if not isinstance(error, LaplineError):
            raise error
        self._stopped = error.sentence()
        self.files.show_files(())
        self._say_problem(self._stopped)

    def _on_planning_ended(self) -> None:
        self._planning = None
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
            lambda paths: self._on_written(paths, files[0].name),
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

    def _on_written(self, paths: list[Path], first: str) -> None:
        """Tell what was written; ``first`` is the name that the first file had in the list."""
        self._folder_written = self.folder
        count = "1 file" if len(paths) == 1 else f"{len(paths)} files"
        number = paths[0].stem.removeprefix(PurePath(first).stem)
        words = f", each with {number} behind its name" if number else ""
        self.foot.said.setText(f"{count} written to {self._folder_written}{words}")
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
            count = ask_and_print(self.sight.pages, self.files.current_name, self)
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
        ticked = self.files.ticked()
        self._meeting.want(Wanted(self.folder, tuple(ticked)))
        count, total = len(ticked), self.files.count()
        self.count.setText("Listing…" if self._planning else f"{count} of {total} files")
        is_writing = self._work is not None
        reason = ""
        if not count:
            reason = self._stopped or "No file is ticked"
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
        has_pages = self.sight.has_pages
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

    def done(self, result: int) -> None:
        """Stop what is being made and written."""
        self._on_stop()
        self.sight.end()
        self._meeting.drop()
        super().done(result)


def _rule(*, is_upright: bool = False) -> QFrame:
    rule = QFrame()
    dress(rule, "upright rule" if is_upright else "rule")
    return rule

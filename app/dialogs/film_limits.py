"""How far a film lets itself be formed: its kind, its limits, and finding them on a ball."""

from PySide6.QtWidgets import (
    QDialogButtonBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.form import FormDialog, read_length, read_number
from app.panes.controls import Combo
from app.panes.pane import quiet_label
from app.style import dress
from core.document.film import KIND_LIMITS, Film, FilmKind
from core.document.job import Units
from core.errors import InputError
from core.shape.calibrating import BallTrial, FoundLimits, limits_by_ball

KIND_WORDS = {
    FilmKind.CAST: "Cast",
    FilmKind.POLYMERIC: "Calendered, polymeric",
    FilmKind.MONOMERIC: "Calendered, monomeric",
}
SHORT = ("Bunching, %", "Stretch, %", "Stretch if warm, %")
FIRST = "The film maker's data come first."
GENERIC = "The figures of a kind are round and generic: from common practice, without a source."


class FilmLimits(QWidget):
    """Kind, bunching, stretch, stretch with warmth."""

    def __init__(self, film: Film, units: Units) -> None:
        super().__init__()
        self._units = units
        self.kind = Combo()
        self.kind.addItems(list(KIND_WORDS.values()))
        self.kind.setCurrentIndex(list(KIND_WORDS).index(film.kind))
        self.kind.setAccessibleName("Kind of film")
        self.kind.activated.connect(self._on_kind)
        self.try_ball = QPushButton("Try on a ball…")
        self.try_ball.setAutoDefault(False)
        self.try_ball.setToolTip("Find the limits with round scraps of the film")
        self.try_ball.clicked.connect(self.ask_trial)
        self.bunching, self.stretch, self.warm = (
            _percent(name)
            for name in ("Bunching limit, %", "Stretch limit, %", "Stretch limit when warm, %")
        )
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addLayout(_row((self.kind, 1), (self.try_ball, 0)))
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        for i, (words, field) in enumerate(zip(SHORT, self._fields, strict=True)):
            label = QLabel(words)
            dress(label, "quiet")
            label.setBuddy(field)
            grid.addWidget(label, 0, i)
            grid.addWidget(field, 1, i)
        column.addLayout(grid)
        note = QLabel(FIRST)
        dress(note, "quiet")
        note.setToolTip(GENERIC)
        column.addWidget(note)
        self._show(
            FoundLimits(
                film.bunching_limit_pct, film.stretch_limit_pct, film.warm_stretch_limit_pct
            )
        )

    def read(self) -> tuple[FilmKind, FoundLimits]:
        """Return kind and limits. InputError when they are not usable."""
        found = FoundLimits(*(read_number(f, high=100.0) for f in self._fields))
        if found.warm_stretch_pct < found.stretch_pct:
            raise InputError(
                "Warm film stretches at least as far as cold film.",
                where=self.warm.accessibleName(),
            )
        return list(KIND_WORDS)[self.kind.currentIndex()], found

    def ask_trial(self) -> None:
        """Ask what was tried on a ball, and take the limits from it."""
        dialog = BallDialog(self._units, self)
        if dialog.exec() == FormDialog.DialogCode.Accepted and dialog.found is not None:
            self._show(dialog.found)

    @property
    def _fields(self) -> tuple[QLineEdit, QLineEdit, QLineEdit]:
        return self.bunching, self.stretch, self.warm

    def _on_kind(self, row: int) -> None:
        """Take the kind's own figures."""
        known = KIND_LIMITS[list(KIND_WORDS)[row]]
        self._show(FoundLimits(known.bunching_pct, known.stretch_pct, known.warm_stretch_pct))

    def _show(self, found: FoundLimits) -> None:
        values = (found.bunching_pct, found.stretch_pct, found.warm_stretch_pct)
        for field, value in zip(self._fields, values, strict=True):
            field.setText(f"{round(value, 2):g}")


class BallDialog(FormDialog):
    """Finds a film's limits with round scraps on a ball. ``found`` is the result."""

    def __init__(self, units: Units, parent: QWidget | None) -> None:
        super().__init__("Try the film on a ball", parent, button="Take these limits")
        self._units = units
        self.found: FoundLimits | None = None
        how = quiet_label(
            "Cut round scraps of rising size and lay each on a clean ball (a football, a "
            "float). Write down the largest that shows no wrinkle: laid down by itself, then "
            "worked down cold, then with warmth."
        )
        self.column.insertWidget(1, how)
        self.ball = self.add_text("Ball, across")
        self.laid = self.add_text("Laid by itself, across")
        self.worked = self.add_text("Worked down cold")
        self.warm = self.add_text("With warmth")
        self.outcome = QLabel()
        dress(self.outcome, "title")
        self.column.addWidget(self.outcome)
        for field in self._fields:
            field.setPlaceholderText(f"as measured, {units}")
            field.textChanged.connect(self._show_result)
        self.finish_layout()
        self.setMinimumWidth(480)
        self._show_result()

    def check(self) -> None:
        """Read the trial and find the limits."""
        read = (read_length(f, self._units, least_mm=1.0) for f in self._fields)
        self.found = limits_by_ball(BallTrial(*read))

    @property
    def _fields(self) -> tuple[QLineEdit, ...]:
        return self.ball, self.laid, self.worked, self.warm

    def _show_result(self) -> None:
        """Show what the trial gives, or what is wrong with it once all of it is typed."""
        self.found, problem = None, ""
        if all(f.text().strip() for f in self._fields):
            try:
                self.check()
            except InputError as error:
                problem = error.sentence()
        found = self.found
        self.outcome.setText(
            ""
            if found is None
            else f"Bunches {found.bunching_pct:.1f} %, stretches {found.stretch_pct:.1f} %, "
            f"warm {found.warm_stretch_pct:.1f} %"
        )
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))
        self.buttons.button(QDialogButtonBox.StandardButton.Ok).setEnabled(found is not None)


def _percent(name: str) -> QLineEdit:
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setMinimumWidth(56)
    return field


def _row(*parts: tuple[QWidget, int]) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(8)
    for widget, share in parts:
        row.addWidget(widget, share)
    return row

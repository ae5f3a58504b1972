"""The rolls: every film's sheets with the pieces as they will be cut."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QToolButton, QWidget

from app.actions import Actions
from app.money_text import money_text
from app.panes.controls import Combo
from app.panes.pane import Pane
from app.rolls.side import RollSide
from app.rolls.view import RollView
from app.session import Session
from app.style import dress
from app.tightening import Tightening
from core.document.job import Job
from core.roll.costs import film_account
from core.roll.model import FilmRolls
from core.roll.wording import length_to_buy, told_mm

TIMES: tuple[tuple[str, float], ...] = (("for 10 s", 10), ("for 30 s", 30), ("for 2 min", 120))


class RollsPane(Pane):
    """Rolls, with the search for a shorter layout."""

    def __init__(
        self,
        session: Session,
        actions: Actions,
        tightening: Tightening,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("Rolls", session, parent)
        self._tightening = tightening
        self.view = RollView(session)
        self.words = QLabel()
        dress(self.words, "quiet")
        self.busy = QProgressBar()
        self.busy.setRange(0, 0)
        self.busy.setFixedWidth(96)
        self.busy.setTextVisible(False)
        self.stop = _worded(actions, "stop_tighten")
        self.keep, self.let_go = _worded(actions, "keep_layout"), _worded(actions, "let_go")
        self.seconds = Combo()
        self.seconds.setAccessibleName("How long to pack")
        for text, value in TIMES:
            self.seconds.addItem(text, value)
        for widget in (
            self.words,
            self.busy,
            _worded(actions, "tighten"),
            self.seconds,
            self.stop,
            self.keep,
            self.let_go,
        ):
            self.add_to_head(widget)
        self.side = RollSide()
        row = QHBoxLayout()
        row.setSpacing(0)
        row.addWidget(self.view, 1)
        row.addWidget(self.side)
        self.body.addLayout(row, 1)
        session.rolls_changed.connect(self.refresh_soon)
        tightening.changed.connect(self.refresh_soon)
        self.refresh()

    @property
    def wanted_seconds(self) -> float:
        """How long the search may take."""
        return float(self.seconds.currentData())

    def refresh(self) -> None:
        """Show the newest layout and what the search says."""
        report, job = self.session.rolls, self.session.job
        films = report.rolls.films if report else ()
        self.set_count(_summary(job, films))
        self.side.show_missing(films)
        self.side.show_search(self._tightening.found, self._tightening.seconds, job.units)
        self.words.setText(self._tightening.words)
        self.words.setVisible(bool(self._tightening.words))
        self.busy.setVisible(self._tightening.is_running)
        self.stop.setVisible(self._tightening.is_running)
        self.seconds.setVisible(not self._tightening.is_running)
        tightening = self._tightening
        self.let_go.setVisible(tightening.has_kept)
        self.keep.setVisible(tightening.is_keepable or not tightening.has_kept)
        self.view.refresh()


def _summary(job: Job, films: Sequence[FilmRolls]) -> str:
    """Return length and money of what is laid: of the job, and with its retakes."""
    used_mm = told_mm((mm for f in films for mm in f.used_lengths_mm), job.units)
    if not used_mm:
        return ""
    bare_mm = told_mm((mm for f in films for mm in f.job_lengths_mm), job.units)
    used, bare = (length_to_buy(mm, job.units) for mm in (used_mm, bare_mm))
    words = used if used_mm <= bare_mm + 1 else f"{bare}; with retakes {used}"
    known = {f.id for f in job.films}
    money = sum(film_account(job, f).cost for f in films if str(f.film) in known)
    return f"{words} · film used {money_text(money, job.currency)}" if money else words


def _worded(actions: Actions, name: str) -> QToolButton:
    button = QToolButton()
    button.setDefaultAction(actions[name])
    dress(button, "worded")
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
    return button

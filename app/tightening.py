"""Packs the rolls tighter in the background, shows the best so far, and keeps it on demand."""

import time

from PySide6.QtCore import QObject, Signal

from app.jobs import Control, Work
from app.session import Session
from core.document.edits.nests import drop_nest, keep_nest
from core.roll.model import FilmRolls, RollPlan
from core.roll.rolls import RollReport, kept_nests, tighten
from core.roll.wording import length_to_buy, told_mm
from core.units import Units


class Tightening(QObject):
    """The one search for a shorter layout that may be going on."""

    changed = Signal()
    """It began, found something better, or ended."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._work: Work | None = None
        self._plan = session.plan
        self._start_mm = 0.0
        self.words = ""
        self.found: list[tuple[float, float]] = []
        """Seconds and mm: what the newest search found as it is told, and when."""
        self.seconds = 0.0
        """How long that search may take."""
        self._began = 0.0
        session.plan_changed.connect(self._on_plan_changed)

    @property
    def is_running(self) -> bool:
        """Whether a search is going on."""
        return self._work is not None

    @property
    def is_keepable(self) -> bool:
        """Whether the rolls show a layout that is not kept yet."""
        report = self._session.rolls
        sheets = [s for f in report.rolls.films for s in f.sheets] if report else []
        return any(s.placements and s.engine != "kept" for s in sheets)

    def start(self, seconds: float) -> None:
        """Look for a shorter layout of all films for so long."""
        report = self._session.rolls
        if self.is_running or report is None:
            return
        plan = self._plan = self._session.plan
        films = [f.film for f in report.rolls.films if any(s.placements for s in f.sheets)]
        units = plan.job.units
        self._start_mm = _length_mm(report, units)
        self._began, self.seconds = time.monotonic(), seconds
        self.found = [(0.0, self._start_mm)]
        self.words = f"Packing: {length_to_buy(self._start_mm, units)} so far"

        def search(control: Control) -> RollReport:
            return tighten(plan, films, seconds, control.tell, control.is_cancelled)

        self._work = Work(search, keeps_best=True)
        self._work.progressed.connect(self._on_better)
        self._work.done.connect(self._on_done)
        self._work.failed.connect(self._on_failed)
        self._work.ended.connect(self._on_ended)
        self._work.start()
        self.changed.emit()

    def stop(self) -> None:
        """End the search and keep the best so far on show."""
        if self._work is not None:
            self.words = "Stopping…"
            self._work.cancel()
            self.changed.emit()

    def keep(self) -> None:
        """Hold on to the layout that is shown, as one undo step."""
        report = self._session.rolls
        if report is None:
            return
        job = self._session.committed_job
        for nest in kept_nests(self._session.plan, report.rolls):
            job = keep_nest(job, nest)
        self._session.do("Keep the layout of the rolls", job)

    @property
    def has_kept(self) -> bool:
        """Whether the job keeps a layout of the variant that is shown."""
        return bool(self._kept_films())

    def let_go(self) -> None:
        """Drop the kept layouts of the variant that is shown, as one undo step."""
        job = self._session.committed_job
        for film in self._kept_films():
            job = drop_nest(job, self._session.variant, film)
        self._session.do("Let go of the kept layout", job)

    def _kept_films(self) -> list[str]:
        variant = self._session.variant
        return [n.film for n in self._session.committed_job.nests if n.variant == variant]

    def _on_plan_changed(self) -> None:
        if self._work is not None and self._session.plan is not self._plan:
            self.stop()
        elif not self.is_running and (self.words or self.found):
            self.words, self.found = "", []
            self.changed.emit()

    def _on_better(self, found: object) -> None:
        report = self._session.rolls
        if isinstance(found, FilmRolls) and report and self._session.plan is self._plan:
            self._show(_with_film(report, found))

    def _on_done(self, report: object) -> None:
        if isinstance(report, RollReport) and self._session.plan is self._plan:
            self._show(report)

    def _on_failed(self, error: Exception) -> None:
        self.words = "Packing failed; the layout is as it was"
        raise error

    def _on_ended(self) -> None:
        self._work = None
        if self._session.plan is self._plan and self._session.rolls:
            units = self._plan.job.units
            saved = self._start_mm - _length_mm(self._session.rolls, units)
            self.words = (
                f"{length_to_buy(saved, units)} shorter than before: keep it to hold on to it"
                if saved > 1.0
                else "No shorter layout found"
            )
        else:
            self.words = ""
        self.changed.emit()

    def _show(self, report: RollReport) -> None:
        self._session.show_rolls(report)
        units = self._plan.job.units
        length_mm = _length_mm(report, units)
        if length_mm < self.found[-1][1]:
            self.found.append((time.monotonic() - self._began, length_mm))
        best, was = (length_to_buy(mm, units) for mm in (length_mm, self._start_mm))
        self.words = f"Packing: {best} so far, was {was}"
        self.changed.emit()


def _length_mm(report: RollReport, units: Units) -> float:
    return told_mm((mm for f in report.rolls.films for mm in f.used_lengths_mm), units)


def _with_film(report: RollReport, film: FilmRolls) -> RollReport:
    films = tuple(film if f.film == film.film else f for f in report.rolls.films)
    return RollReport(RollPlan(films), report.findings)

"""Keeps the rolls up with the plan: in a worker, after a short rest, stale answers dropped."""

from collections.abc import Callable

from PySide6.QtCore import QObject

from app.newest import Newest
from core.plan.model import JobPlan
from core.roll.costs import film_account
from core.roll.rolls import RollReport, roll_plan

REST_MS = 120


class RollKeeper(Newest[JobPlan]):
    """Lays out the rolls of the newest plan; what it finds is a RollReport."""

    def __init__(
        self,
        parent: QObject | None = None,
        lay_out: Callable[[JobPlan], RollReport] = roll_plan,
    ) -> None:
        super().__init__(lambda plan, _: _priced(plan, lay_out(plan)), REST_MS, parent)


def _priced(plan: JobPlan, report: RollReport) -> RollReport:
    """Work out what a report's film costs, so that the panes find it done."""
    for film in report.rolls.films:
        film_account(plan.job, film)
    return report

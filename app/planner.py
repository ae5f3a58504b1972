"""Keeps the rolls up with the plan: in a worker, after a short rest, stale answers dropped."""

from collections.abc import Callable

from PySide6.QtCore import QObject

from app.newest import Newest
from core.plan.model import JobPlan
from core.roll.rolls import RollReport, roll_plan

REST_MS = 120


class RollKeeper(Newest[JobPlan]):
    """Lays out the rolls of the newest plan; what it finds is a RollReport."""

    def __init__(
        self,
        parent: QObject | None = None,
        lay_out: Callable[[JobPlan], RollReport] = roll_plan,
    ) -> None:
        super().__init__(lambda plan, _: lay_out(plan), REST_MS, parent)

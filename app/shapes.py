"""Keeps what is known of bunching and stretch up with the plan, in a worker."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from PySide6.QtCore import QObject, Signal

from app.jobs import Control
from app.newest import Newest
from app.session import Session
from core.plan.lookup import drawn_plans
from core.plan.model import JobPlan
from core.plan.shape_check import ShapeReport, shape_report
from core.plan.strain_map import StrainMap, strain_map

REST_MS = 300
NOTHING = ShapeReport((), ())


@dataclass(frozen=True, eq=False)
class ShapeAnswer:
    """What is known of the shape of a plan's pieces.

    Attributes:
        plan: of which.
        report: the judgement of the pieces on curved panels.
        strains: by the id of the panel as drawn; flat panels have none.
    """

    plan: JobPlan
    report: ShapeReport = NOTHING
    strains: Mapping[str, StrainMap] = field(default_factory=dict)


class Shapes(QObject):
    """The newest answer about shape; a drag waits for it no more than for the rolls."""

    changed = Signal()
    """Another answer is there, or the one that was there is out of date."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._answer: ShapeAnswer | None = None
        self._newest: Newest[JobPlan] = Newest(answer_shapes, REST_MS, self)
        self._strains: Mapping[str, StrainMap] = {}
        self._strained: JobPlan | None = None
        self._newest.told.connect(self._on_told)
        self._newest.found.connect(self._on_found)
        self._newest.refused.connect(session.message)
        session.plan_changed.connect(self._on_plan_changed)
        self._on_plan_changed()

    @property
    def is_busy(self) -> bool:
        """Whether an answer is still to come."""
        return self._newest.is_busy

    @property
    def is_current(self) -> bool:
        """Whether the answer belongs to the plan that is shown."""
        return self._answer is not None and self._answer.plan is self._session.plan

    @property
    def are_strains_current(self) -> bool:
        """Whether the strains, which come after the verdicts, belong to it as well."""
        return self._strained is self._session.plan

    @property
    def report(self) -> ShapeReport:
        """The newest judgement; empty where all is flat, or nothing is known yet."""
        return self._answer.report if self._answer else NOTHING

    @property
    def strains(self) -> Mapping[str, StrainMap]:
        """The newest strains by panel."""
        return self._strains

    def _on_plan_changed(self) -> None:
        plan = self._session.plan
        if self.is_current and self.are_strains_current:
            self._newest.drop()  # a gesture was dropped: what it asked for is not wanted
            self.changed.emit()
        elif has_shape(plan):
            self._newest.want(plan)
        else:
            self._newest.drop()
            self._on_found(ShapeAnswer(plan))

    def _on_told(self, step: object) -> None:
        if isinstance(step, ShapeAnswer) and step.plan is self._session.plan:
            self._answer = step
            self.changed.emit()

    def _on_found(self, answer: ShapeAnswer) -> None:
        self._answer = answer
        self._strains, self._strained = answer.strains, answer.plan
        self.changed.emit()


def has_shape(plan: JobPlan) -> bool:
    """Return whether a panel of the plan is curved, or may be."""
    return any(panel.surface is not None for panel in plan.job.panels)


def answer_shapes(plan: JobPlan, control: Control) -> ShapeAnswer:
    """Work out bunching and stretch of a plan. Cancelled when it is asked to stop."""
    report = shape_report(plan, control)
    control.tell(ShapeAnswer(plan, report))  # verdicts do not wait for pictures
    strains = {}
    for panel, drawn in drawn_plans(plan).items():
        if plan.job.panel(panel).surface is not None:
            found = strain_map(drawn, plan.job, control)
            if found is not None:
                strains[str(panel)] = found
    return ShapeAnswer(plan, report, strains)

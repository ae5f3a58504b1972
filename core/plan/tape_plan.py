"""The cutting tape of a whole job: each run with its tails, in the order of the work.

A run goes down on the part before its piece, the top film of its seam, is laid, and its
filament is pulled right after that piece is laid: a later piece would bury the tail. A run
whose seam is in several parts (it is broken by an opening) wants tails at every part.
"""

from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely.geometry.base import BaseGeometry

from core.ids import CopyId, PieceId
from core.plan.model import JobPlan, PanelPlan, TapeRun


@dataclass(frozen=True, slots=True)
class TapeLength:
    """One run of cutting tape.

    Attributes:
        number: its place in the order in which tape goes down and is pulled on its panel.
        before: place in the lay order of the piece that it goes under.
        run_mm: along the seam.
        parts: how many lengths it is torn into.
        tail_mm: left free at each end of each part.
    """

    panel: CopyId
    number: int
    stretch: str
    piece: PieceId
    before: int
    run_mm: float
    parts: int
    tail_mm: float
    path: BaseGeometry

    @property
    def tails_mm(self) -> float:
        """All tails together."""
        return 2 * self.parts * self.tail_mm

    @property
    def total_mm(self) -> float:
        """What is torn off the roll of tape."""
        return self.run_mm + self.tails_mm


@dataclass(frozen=True)
class TapePlan:
    """All runs of a job, panel by panel, in the order of the work."""

    runs: tuple[TapeLength, ...]

    @cached_property
    def total_mm(self) -> float:
        """All runs with their tails."""
        return sum(run.total_mm for run in self.runs)

    def of_panel(self, panel: CopyId | str) -> tuple[TapeLength, ...]:
        """Return the runs of one copy."""
        return tuple(run for run in self.runs if run.panel == panel)


def tape_plan(plan: JobPlan) -> TapePlan:
    """Return the cutting tape of all copies of all panels."""
    tail = plan.job.settings.tape_tail_mm
    return TapePlan(tuple(run for panel in plan.panels for run in _runs(panel, tail)))


def _runs(panel: PanelPlan, tail_mm: float) -> list[TapeLength]:
    order = {piece.id: piece.order for piece in panel.pieces}
    known = [run for run in panel.tape_runs if run.piece in order]
    ranked = sorted(known, key=lambda run: (order[run.piece], run.stretch))
    return [
        TapeLength(
            panel=panel.id,
            number=number,
            stretch=run.stretch,
            piece=run.piece,
            before=order[run.piece],
            run_mm=run.length_mm,
            parts=_parts(run),
            tail_mm=tail_mm,
            path=run.path,
        )
        for number, run in enumerate(ranked, 1)
    ]


def _parts(run: TapeRun) -> int:
    """Return in how many lengths a run's path lies, after parts that meet were joined."""
    return max(1, len(shapely.get_parts(shapely.line_merge(run.path))))

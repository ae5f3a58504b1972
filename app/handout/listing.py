"""What the window asks the pool: which files there are, and what their names meet."""

from dataclasses import dataclass
from pathlib import Path

from app.handout.foot import Meeting
from core.plan.model import Finding, JobPlan
from core.roll.model import RollPlan
from core.roll.rolls import roll_plan
from core.roll.wording import told_mm
from core.units import Units
from core.write.atomic import set_number, taken_names
from core.write.hand_cut import may_be_parted
from core.write.outputs import OutputOptions, planned_outputs
from core.write.planned_file import FileKind, PlannedFile
from core.write.small_features import plotter_findings


@dataclass(frozen=True, slots=True)
class Listing:
    """What can be handed out.

    Attributes:
        files: those that can be made.
        findings: what the plotter will not cut well.
        is_stuck: whether pieces are to be cut by hand that no straight cuts part, though
            another layout of the rolls would.
    """

    rolls: RollPlan
    files: tuple[PlannedFile, ...]
    findings: tuple[Finding, ...]
    is_stuck: bool


def listed(plan: JobPlan, known: RollPlan | None, options: OutputOptions) -> Listing:
    """Return what of a plan can be handed out; rolls that are not known are laid.

    Raises:
        LaplineError: why nothing can be.
    """
    rolls = known or roll_plan(plan).rolls
    files = planned_outputs(plan, rolls, options)
    is_cut = any(file.kind is FileKind.PLOTTER for file in files)
    findings = plotter_findings(plan, options.plotter) if is_cut else ()
    is_stuck = options.has_hand_cut and may_be_parted(plan.job, rolls)
    return Listing(rolls, files, findings, is_stuck)


def used_mm(rolls: RollPlan | None, units: Units) -> float | None:
    """Return how much film rolls take as it is told; None where they are not known."""
    if rolls is None:
        return None
    return told_mm((mm for film in rolls.films for mm in film.used_lengths_mm), units)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Files that would be written into a folder."""

    folder: Path
    files: tuple[PlannedFile, ...]


def met(wanted: Wanted, _: object) -> Meeting:
    """Return what the names of files meet in their folder."""
    names = [file.name for file in wanted.files]
    return Meeting(
        len(taken_names(wanted.folder, names)),
        set_number(wanted.folder, names) if names else 1,
        any(file.is_numbered for file in wanted.files),
    )

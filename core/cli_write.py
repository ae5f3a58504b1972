"""The verb ``lapline write``: everything that leaves a job, into a folder.

It is registered by ``core.cli``, which knows how a job is planned and printed. Everything heavy
is imported inside, so that help and mistakes answer at once.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import typer

from core.cli_options import with_options
from core.cli_write_options import FileOptions, JobOptions, PlotterOptions

if TYPE_CHECKING:
    from core.plan.model import Finding, JobPlan
    from core.roll.rolls import RollReport
    from core.write.outputs import OutputOptions

WRITE_SECONDS = 5.0
"""Time that each film is nested when it is not told otherwise."""


class Rolls(Protocol):
    """Lays the rolls of a plan."""

    def __call__(
        self, planned: "JobPlan", seconds: float | None, *, seconds_a_film: float = 0.0
    ) -> "RollReport":
        """Return the rolls, sought for so long."""


@dataclass(frozen=True, slots=True)
class Desk:
    """What a verb needs of the command: how a job is planned, laid, printed and judged."""

    plan: Callable[[Path, str | None], "JobPlan"]
    rolls: Rolls
    put: Callable[..., None]
    warn: Callable[..., None]
    code: Callable[["tuple[Finding, ...]"], int]
    stopped: int


def register(app: typer.Typer, desk: Desk) -> None:
    """Add the verb to a command."""

    def write(job: JobOptions, plotter: PlotterOptions, files: FileOptions) -> int:
        """Write all outputs: plotter files for each sheet, pictures, tables, bench sheet."""
        return _write(desk, job, files.outputs(plotter.plotter()))

    app.command("write")(with_options(write, JobOptions, PlotterOptions, FileOptions))


def _write(desk: Desk, job: JobOptions, options: "OutputOptions") -> int:
    """Write what is wished for, and say what there is to say."""
    from core.roll.left_out import stops  # noqa: PLC0415 - see the module
    from core.write.atomic import Existing  # noqa: PLC0415
    from core.write.bench_shape import shape_findings  # noqa: PLC0415
    from core.write.outputs import leftover_plotter_files, write_all  # noqa: PLC0415
    from core.write.small_features import plotter_findings  # noqa: PLC0415
    from core.write.text_report import finding_lines, roll_lines  # noqa: PLC0415

    planned = desk.plan(job.file, job.variant)
    report = None
    if not stops(planned):
        report = desk.rolls(planned, job.seconds, seconds_a_film=WRITE_SECONDS)
    if report is None or stops(planned, report.rolls):
        return _not_written(desk, planned, report)
    existing = Existing(job.existing.value)
    written = write_all(planned, report.rolls, job.to, options, existing)
    small = plotter_findings(planned, options.plotter)
    shaped = shape_findings(planned)
    findings = (*planned.findings, *shaped, *report.findings, *small)
    desk.put(*roll_lines(planned, report.rolls), *finding_lines(planned, findings), "")
    desk.put(f"{len(written)} files written to {job.to}")
    for old in leftover_plotter_files(job.to, written):
        desk.warn(f"lapline: {old.name} there is older and not part of this job's output")
    return desk.code(findings)


def _not_written(desk: Desk, planned: "JobPlan", report: "RollReport | None") -> int:
    """Say what stops a job, and how its films are laid as far as they are."""
    from core.write.text_report import finding_lines, roll_lines  # noqa: PLC0415

    findings = planned.findings
    if report is not None:
        desk.put(*roll_lines(planned, report.rolls))
        findings = (*findings, *report.findings)
    desk.warn(
        *finding_lines(planned, findings), "", "Nothing is written: findings stop the job."
    )
    return desk.stopped

"""The verb ``lapline write``: everything that leaves a job, into a folder.

It is registered by ``core.cli``, which knows how a job is planned and printed. Everything heavy
is imported inside, so that help and mistakes answer at once.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Protocol

import typer

if TYPE_CHECKING:
    from core.plan.model import Finding, JobPlan
    from core.roll.rolls import RollReport
    from core.write.atomic import Existing
    from core.write.outputs import OutputOptions

WRITE_SECONDS = 5.0
"""Time that each film is nested when it is not told otherwise."""


class FormatChoice(StrEnum):
    """The formats of plotter files on offer, as ``core/write/plotter.py`` has them."""

    R12 = "R12"
    R2000 = "R2000"
    R2010 = "R2010"
    HPGL = "hpgl"
    SVG = "svg"


class PerChoice(StrEnum):
    """What one plotter file holds, as ``core/write/plotter.py`` has it."""

    FILM = "film"
    SECTION = "section"
    PIECE = "piece"


class ExistingChoice(StrEnum):
    """What becomes of files of the same names, as ``core/write/atomic.py`` has it."""

    REFUSE = "refuse"
    NUMBER = "number"
    REPLACE = "replace"


class PaperChoice(StrEnum):
    """The papers on offer, as ``core/write/papers.py`` has them."""

    A4 = "A4"
    A3 = "A3"
    LETTER = "Letter"
    TABLOID = "Tabloid"
    LONG = "long"


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


def _write(
    desk: Desk,
    planned: "JobPlan",
    seconds: float | None,
    to: Path,
    wish: "tuple[OutputOptions, Existing]",
) -> int:
    """Write what is wished for, and say what there is to say."""
    from core.write.outputs import leftover_plotter_files, write_all  # noqa: PLC0415
    from core.write.small_features import plotter_findings  # noqa: PLC0415
    from core.write.text_report import finding_lines, roll_lines  # noqa: PLC0415

    if planned.is_stopped:
        desk.warn(*finding_lines(planned), "", "Nothing is written: findings stop the job.")
        return desk.stopped
    options, existing = wish
    report = desk.rolls(planned, seconds, seconds_a_film=WRITE_SECONDS)
    written = write_all(planned, report.rolls, to, options, existing)
    small = plotter_findings(planned, options.plotter)
    findings = (*planned.findings, *report.findings, *small)
    desk.put(*roll_lines(planned, report.rolls), *finding_lines(planned, findings), "")
    desk.put(f"{len(written)} files written to {to}")
    for old in leftover_plotter_files(to, written):
        desk.warn(f"lapline: {old.name} there is older and not part of this job's output")
    return desk.code(findings)


def register(app: typer.Typer, desk: Desk) -> None:
    """Add the verb to a command."""

    @app.command()
    def write(  # noqa: PLR0913 - each is an option of the command line
        file: Annotated[Path, typer.Argument(metavar="FILE", help="The job, a .lapline file.")],
        *,
        to: Annotated[Path, typer.Option("--to", metavar="DIR", help="Folder for the files.")],
        seconds: Annotated[
            float | None,
            typer.Option(
                "--seconds",
                metavar="S",
                min=0.0,
                max=86400.0,
                help="Time to nest in, for all films.",
            ),
        ] = None,
        plotter_format: Annotated[
            FormatChoice,
            typer.Option("--format", help="Of plotter files: a DXF version, HP-GL/2 or SVG."),
        ] = FormatChoice.R2000,
        per: Annotated[
            PerChoice,
            typer.Option("--per", help="One plotter file a film, section or piece."),
        ] = PerChoice.SECTION,
        pieces: Annotated[
            bool, typer.Option("--pieces", help="A plotter file for each piece, too.")
        ] = False,
        feed: Annotated[
            float | None,
            typer.Option(
                "--feed", metavar="MM", help="Longest feed: cut longer layouts in sections."
            ),
        ] = None,
        split: Annotated[
            bool,
            typer.Option("--split", help="Cut pieces longer than the feed in parts that join."),
        ] = False,
        tolerance: Annotated[
            float,
            typer.Option("--tolerance", metavar="MM", help="How far a line may lie off."),
        ] = 0.05,
        arcs: Annotated[
            bool, typer.Option("--arcs", help="Arcs in a DXF, as far as the tolerance allows.")
        ] = False,
        overcut: Annotated[
            float,
            typer.Option("--overcut", metavar="MM", help="Run on so far where a cut closes."),
        ] = 0.5,
        mirror: Annotated[
            bool, typer.Option("--mirror", help="Cut from the liner side.")
        ] = False,
        weed_box: Annotated[
            bool, typer.Option("--weed-box", help="Cut a box round the pieces to weed by.")
        ] = False,
        least: Annotated[
            float,
            typer.Option("--least", metavar="MM", help="Warn of what is smaller than this."),
        ] = 1.0,
        cut_pen: Annotated[
            int, typer.Option("--cut-pen", metavar="N", help="HP-GL/2 number of the knife.")
        ] = 1,
        draw_pen: Annotated[
            int, typer.Option("--draw-pen", metavar="N", help="HP-GL/2 number of the pen.")
        ] = 2,
        turn: Annotated[
            bool, typer.Option("--turn", help="HP-GL/2 with x across the roll, not along it.")
        ] = False,
        square: Annotated[
            bool, typer.Option("--check-square", help="A 100 mm square for the first cut, too.")
        ] = False,
        templates: Annotated[
            bool, typer.Option("--templates", help="Paper templates at true size, too.")
        ] = False,
        whole_panels: Annotated[
            bool, typer.Option("--whole-panels", help="With templates: of whole panels, too.")
        ] = False,
        overlap: Annotated[
            float,
            typer.Option("--overlap", metavar="MM", help="What a template's pages share."),
        ] = 15.0,
        hand_cut: Annotated[
            bool,
            typer.Option("--hand-cut", help="How sheets are cut with a straight edge, too."),
        ] = False,
        paper: Annotated[
            PaperChoice, typer.Option("--paper", help="Paper; long: one page a template.")
        ] = PaperChoice.A4,
        existing: Annotated[
            ExistingChoice,
            typer.Option("--existing", help="Files there that have the names of new ones."),
        ] = ExistingChoice.NUMBER,
        variant: Annotated[
            str | None,
            typer.Option("--variant", metavar="NAME", help="Its variant; else the first."),
        ] = None,
    ) -> int:
        """Write all outputs: plotter files for each sheet, pictures, tables, bench sheet."""
        from core.write.atomic import Existing  # noqa: PLC0415 - see the module
        from core.write.outputs import OutputOptions  # noqa: PLC0415
        from core.write.papers import Paper  # noqa: PLC0415
        from core.write.plotter import FilesPer, Pens, Plotter, PlotterFormat  # noqa: PLC0415
        from core.write.templates import TemplateOptions  # noqa: PLC0415

        plotter = Plotter(
            format=PlotterFormat(plotter_format.value),
            files_per=FilesPer(per.value),
            longest_feed_mm=feed,
            splits_long_pieces=split,
            tolerance_mm=tolerance,
            has_arcs=arcs,
            overcut_mm=overcut,
            is_mirrored=mirror,
            has_weed_box=weed_box,
            min_feature_mm=least,
            is_turned=turn,
            pens=Pens(cut_pen, draw_pen),
        )
        sheets = TemplateOptions(Paper(paper.value), overlap, has_panel=whole_panels)
        options = OutputOptions(
            plotter=plotter,
            has_check_square=square,
            has_piece_files=pieces,
            has_hand_cut=hand_cut,
            templates=sheets if templates else None,
            paper=Paper.A4 if paper is PaperChoice.LONG else Paper(paper.value),
            day=datetime.now().astimezone().date(),
        )
        planned = desk.plan(file, variant)
        return _write(desk, planned, seconds, to, (options, Existing(existing.value)))

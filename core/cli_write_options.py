"""The options of ``lapline write``: of the job, of the plotter, of the other files.

What the choices stand for is imported inside, so that help and mistakes answer at once.
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from core.cli_options import File, Seconds, VariantName

if TYPE_CHECKING:
    from core.write.outputs import OutputOptions
    from core.write.plotter import Plotter


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


@dataclass(frozen=True, slots=True)
class JobOptions:
    """Which job, how long its rolls are laid, and where the files go."""

    file: File
    to: Annotated[Path, typer.Option("--to", metavar="DIR", help="Folder for the files.")]
    existing: Annotated[
        ExistingChoice,
        typer.Option("--existing", help="Files there that have the names of new ones."),
    ] = ExistingChoice.NUMBER
    seconds: Seconds = None
    variant: VariantName = None


@dataclass(frozen=True, slots=True)
class PlotterOptions:
    """The plotter and its files."""

    format: Annotated[
        FormatChoice,
        typer.Option("--format", help="Of plotter files: a DXF version, HP-GL/2 or SVG."),
    ] = FormatChoice.R2000
    per: Annotated[
        PerChoice, typer.Option("--per", help="One plotter file a film, section or piece.")
    ] = PerChoice.SECTION
    feed_mm: Annotated[
        float | None,
        typer.Option(
            "--feed", metavar="MM", help="Longest feed: cut longer layouts in sections."
        ),
    ] = None
    has_split: Annotated[
        bool,
        typer.Option("--split", help="Cut pieces longer than the feed in parts that join."),
    ] = False
    tolerance_mm: Annotated[
        float, typer.Option("--tolerance", metavar="MM", help="How far a line may lie off.")
    ] = 0.05
    has_arcs: Annotated[
        bool, typer.Option("--arcs", help="Arcs in a DXF, as far as the tolerance allows.")
    ] = False
    overcut_mm: Annotated[
        float, typer.Option("--overcut", metavar="MM", help="Run on so far where a cut closes.")
    ] = 0.5
    is_mirrored: Annotated[bool, typer.Option("--mirror", help="Cut from the liner side.")] = (
        False
    )
    has_weed_box: Annotated[
        bool, typer.Option("--weed-box", help="Cut a box round the pieces to weed by.")
    ] = False
    least_mm: Annotated[
        float, typer.Option("--least", metavar="MM", help="Warn of what is smaller than this.")
    ] = 1.0
    cut_pen: Annotated[
        int, typer.Option("--cut-pen", metavar="N", help="HP-GL/2 number of the knife.")
    ] = 1
    draw_pen: Annotated[
        int, typer.Option("--draw-pen", metavar="N", help="HP-GL/2 number of the pen.")
    ] = 2
    is_turned: Annotated[
        bool, typer.Option("--turn", help="HP-GL/2 with x across the roll, not along it.")
    ] = False

    def plotter(self) -> "Plotter":
        """Return the plotter; InputError for a value out of its range."""
        from core.write.plotter import FilesPer, Pens, Plotter, PlotterFormat  # noqa: PLC0415

        return Plotter(
            format=PlotterFormat(self.format.value),
            files_per=FilesPer(self.per.value),
            longest_feed_mm=self.feed_mm,
            splits_long_pieces=self.has_split,
            tolerance_mm=self.tolerance_mm,
            has_arcs=self.has_arcs,
            overcut_mm=self.overcut_mm,
            is_mirrored=self.is_mirrored,
            has_weed_box=self.has_weed_box,
            min_feature_mm=self.least_mm,
            is_turned=self.is_turned,
            pens=Pens(self.cut_pen, self.draw_pen),
        )


@dataclass(frozen=True, slots=True)
class FileOptions:
    """Which files are written besides, and on what paper."""

    has_pieces: Annotated[
        bool, typer.Option("--pieces", help="A plotter file for each piece, too.")
    ] = False
    has_square: Annotated[
        bool, typer.Option("--check-square", help="A 100 mm square for the first cut, too.")
    ] = False
    has_templates: Annotated[
        bool, typer.Option("--templates", help="Paper templates at true size, too.")
    ] = False
    has_panels: Annotated[
        bool, typer.Option("--whole-panels", help="With templates: of whole panels, too.")
    ] = False
    overlap_mm: Annotated[
        float, typer.Option("--overlap", metavar="MM", help="What a template's pages share.")
    ] = 15.0
    has_hand_cut: Annotated[
        bool, typer.Option("--hand-cut", help="How sheets are cut with a straight edge, too.")
    ] = False
    paper: Annotated[
        PaperChoice, typer.Option("--paper", help="Paper; long: one page a template.")
    ] = PaperChoice.A4

    def outputs(self, plotter: "Plotter") -> "OutputOptions":
        """Return what is written, today; InputError for a value out of its range."""
        from core.write.outputs import OutputOptions  # noqa: PLC0415
        from core.write.papers import Paper  # noqa: PLC0415
        from core.write.templates import TemplateOptions  # noqa: PLC0415

        paper = Paper(self.paper.value)
        templates = TemplateOptions(paper, self.overlap_mm, has_panel=self.has_panels)
        return OutputOptions(
            plotter=plotter,
            has_check_square=self.has_square,
            has_piece_files=self.has_pieces,
            has_hand_cut=self.has_hand_cut,
            templates=templates if self.has_templates else None,
            paper=Paper.A4 if paper is Paper.LONG else paper,
            day=datetime.now().astimezone().date(),
        )

"""What is known of the plotter, and which files it is given."""

import math
from dataclasses import dataclass, field
from enum import StrEnum

from core.errors import InputError
from core.tolerance import EXPORT_MM


class PlotterFormat(StrEnum):
    """The format of the plotter's files: a DXF version, HP-GL/2 or SVG."""

    R12 = "R12"
    R2000 = "R2000"
    R2010 = "R2010"
    HPGL = "hpgl"
    SVG = "svg"

    @property
    def ending(self) -> str:
        """The ending of a file's name, with its dot."""
        return {"hpgl": ".plt", "svg": ".svg"}.get(self.value, ".dxf")


class FilesPer(StrEnum):
    """What one plotter file holds."""

    FILM = "film"
    SECTION = "section"
    PIECE = "piece"


@dataclass(frozen=True, slots=True)
class Pens:
    """Tool numbers of the plotter: the knife's, and the pen's for ticks and labels."""

    cut: int = 1
    draw: int = 2


@dataclass(frozen=True, slots=True)
class Plotter:
    """The plotter and how it is to be fed; the defaults suit one that takes a DXF.

    Attributes:
        files_per: one file a film, a section of a sheet, or a piece.
        longest_feed_mm: a longer layout is cut in sections; None: the feed has no limit.
        splits_long_pieces: pieces longer than the feed are cut in parts that join; else they
            are refused.
        tolerance_mm: the most that a written line may lie off the planned one.
        has_arcs: a DXF gets arcs where they keep within the tolerance.
        overcut_mm: how far the knife runs on along the line where it closes.
        is_mirrored: cut from the liner side.
        has_weed_box: a rectangle is cut round each section's pieces.
        min_feature_mm: what is smaller than this does not cut well on the machine.
        is_turned: x of the file runs across the roll instead of along it.

    Raises:
        InputError: for a value out of its range.
    """

    format: PlotterFormat = PlotterFormat.R2000
    files_per: FilesPer = FilesPer.SECTION
    longest_feed_mm: float | None = None
    splits_long_pieces: bool = False
    tolerance_mm: float = EXPORT_MM
    has_arcs: bool = False
    overcut_mm: float = 0.5
    is_mirrored: bool = False
    has_weed_box: bool = False
    min_feature_mm: float = 1.0
    is_turned: bool = False
    pens: Pens = field(default_factory=Pens)

    def __post_init__(self) -> None:
        if self.longest_feed_mm is not None:
            _check("the longest feed", self.longest_feed_mm, 100.0, 100_000.0)
        _check("the tolerance", self.tolerance_mm, 0.01, 1.0)
        _check("the overcut", self.overcut_mm, 0.0, 10.0)
        _check("the least feature", self.min_feature_mm, 0.0, 50.0)
        for pen in (self.pens.cut, self.pens.draw):
            _check("a pen's number", pen, 1, 255)
        if self.pens.cut == self.pens.draw:
            raise InputError(
                f"Pen {self.pens.cut} cannot cut and draw.",
                mend="Give the knife and the pen different numbers.",
            )


def _check(what: str, value: float, least: float, most: float) -> None:
    if not (math.isfinite(value) and least <= value <= most):
        raise InputError(
            f"{what[0].upper()}{what[1:]} of {value:g} is not usable.",
            mend=f"Give a number from {least:g} to {most:g}.",
        )

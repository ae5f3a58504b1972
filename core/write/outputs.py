"""All outputs of a job in one folder: plotter files, pictures, table, bench sheet.

Everything is made in memory first and then written as one set, so that a failure leaves no half
of it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from core.errors import ExportFailed
from core.plan.model import JobPlan
from core.roll.model import RollPlan
from core.write.atomic import write_set
from core.write.bench_sheet import bench_sheet
from core.write.cut_sheets import piece_drawing, sheet_drawings
from core.write.drawing import Drawing
from core.write.dxf import DxfVersion, drawing_to_dxf
from core.write.file_names import safe_name, unique_names
from core.write.pictures import PNG_WIDTH_PX, png_width_px
from core.write.piece_table import piece_table
from core.write.roll_picture import roll_drawing
from core.write.scheme import scheme_drawing
from core.write.svg import drawing_to_svg, svg_to_png


@dataclass(frozen=True, slots=True)
class OutputOptions:
    """What is written, and how.

    Attributes:
        dxf_version: R2000, or R12 for old plotters.
        has_piece_files: a DXF for each piece besides those of the sheets.
        has_pictures: schemes and rolls as SVG and PNG.
        png_width_px: width of each PNG; a tall one is narrower, so that none is huge.
    """

    dxf_version: DxfVersion = DxfVersion.R2000
    has_piece_files: bool = False
    has_pictures: bool = True
    png_width_px: int = PNG_WIDTH_PX


def write_all(
    plan: JobPlan, rolls: RollPlan, directory: Path, options: OutputOptions | None = None
) -> list[Path]:
    """Write all outputs into a directory, which is made when it is not there.

    Files of the same names are replaced; others are left alone.

    Returns:
        The paths written.

    Raises:
        ExportFailed: when a finding stops the job, or the directory cannot be written to.
    """
    if plan.is_stopped:
        raise ExportFailed(
            "Nothing is written, as findings stop the job.", mend="Mend them first."
        )
    return write_set(directory, dict(_files(plan, rolls, options or OutputOptions())))


def leftover_dxf(directory: Path, written: list[Path]) -> list[Path]:
    """Return DXF files in a directory that a write did not make: older ones, not to be cut."""
    return sorted(set(directory.glob("*.dxf")) - set(written))


def _files(
    plan: JobPlan, rolls: RollPlan, options: OutputOptions
) -> Iterator[tuple[str, bytes]]:
    sheets = [d for film in rolls.films for d in sheet_drawings(film, plan)]
    yield from _dxf_files("", sheets, options.dxf_version)
    if options.has_piece_files:
        pieces = [piece_drawing(piece, plan.job) for piece in plan.pieces]
        yield from _dxf_files("pieces/", pieces, options.dxf_version)
    yield "pieces.csv", piece_table(plan, rolls).encode()
    yield "bench-sheet.md", bench_sheet(plan, rolls).encode()
    if options.has_pictures:
        for name, drawing in _pictures(plan, rolls):
            svg = drawing_to_svg(drawing)
            yield f"{name}.svg", svg.encode()
            width = png_width_px(drawing, options.png_width_px)
            yield f"{name}.png", svg_to_png(svg, width)


def _dxf_files(
    folder: str, drawings: list[Drawing], version: DxfVersion
) -> Iterator[tuple[str, bytes]]:
    names = unique_names(safe_name(drawing.name) for drawing in drawings)
    for name, drawing in zip(names, drawings, strict=True):
        yield f"{folder}{name}.dxf", drawing_to_dxf(drawing, version)


def _pictures(plan: JobPlan, rolls: RollPlan) -> Iterator[tuple[str, Drawing]]:
    if plan.panels:
        yield "scheme", scheme_drawing(plan)
    used = [film for film in rolls.films if any(s.placements for s in film.sheets)]
    names = unique_names(safe_name(plan.job.film(f.film).name, "rolls") for f in used)
    for name, film in zip(names, used, strict=True):
        yield name, roll_drawing(film, plan.job)
    panels = [p for p in plan.job.panels if any(copy.of == p.id for copy in plan.panels)]
    for name, panel in zip(
        unique_names(safe_name(p.name, fallback=p.id) for p in panels), panels, strict=True
    ):
        copies = {copy.id for copy in plan.panels if copy.of == panel.id}
        yield f"panels/{name}", scheme_drawing(plan, copies)

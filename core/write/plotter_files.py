"""The plotter's files: which there are, what is on each, and their bytes."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Protocol

from core.errors import InputError
from core.plan.model import JobPlan, Piece
from core.progress import Part, Progress, watched
from core.roll.model import FilmRolls, RollPlan, SheetPlan
from core.tolerance import FLATTEN_MM
from core.write.check_square import check_square
from core.write.cut_path import ordered_cuts
from core.write.cut_sheets import piece_drawing, sheet_drawing, sheet_frame, sheet_spans
from core.write.cut_svg import drawing_to_cut_svg
from core.write.drawing import Drawing
from core.write.dxf import DxfVersion, drawing_to_dxf
from core.write.hpgl import drawing_to_hpgl
from core.write.planned_file import FileKind, PlannedFile
from core.write.plotter import FilesPer, Plotter, PlotterFormat
from core.write.plotter_steps import mirrored, thinned, with_weed_box
from core.write.sections import Section, moved, planned_sections, section_drawings

APART_MM = 20.0
"""Between the sections of a film that share a file."""
_LAID = 0.6
"""What of the work on a sheet is done when its pieces are drawn, about."""


class Naming(Protocol):
    """Makes file names of a job."""

    def __call__(self, *parts: str, ending: str, folder: str = "") -> str:
        """Return the name of a file that holds what the parts say."""


@dataclass(frozen=True)
class SheetCut:
    """A sheet as it is fed: its sections, and a drawing of each, made when asked for."""

    plan: JobPlan
    film: FilmRolls
    sheet: SheetPlan
    plotter: Plotter
    _drawn: list[tuple[Drawing, ...]] = field(default_factory=list, init=False, repr=False)

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """The lengths that are cut at once; ExportFailed when a piece is too long for one."""
        end = sheet_frame(self.sheet).bounds[2]
        return planned_sections(
            sheet_spans(self.sheet),
            end,
            self.plotter.longest_feed_mm,
            splits_long=self.plotter.splits_long_pieces,
        )

    def drawings(self, progress: Progress) -> tuple[Drawing, ...]:
        """Return the drawing of each section, ready to be written; Cancelled when stopped."""
        if not self._drawn:
            self._drawn.append(self._sections_drawn(progress))
        return self._drawn[0]

    def _sections_drawn(self, progress: Progress) -> tuple[Drawing, ...]:
        mirror = self.plotter.is_mirrored
        part = Part(progress, "", 0.0, _LAID)
        whole = sheet_drawing(self.film, self.sheet, self.plan, part, is_mirrored=mirror)
        if self.plotter.has_weed_box:
            whole = with_weed_box(whole)
        sections = section_drawings(whole, self.sections)
        part = Part(progress, "Order of cuts", _LAID, 1.0)
        return tuple(
            plotter_drawing(drawing, self.plotter)
            for drawing in watched(sections, "section", part)
        )


def plotter_files(
    plan: JobPlan,
    rolls: RollPlan,
    plotter: Plotter,
    name: Naming,
    *,
    has_rolls: bool = True,
    has_pieces: bool = False,
) -> Iterator[PlannedFile]:
    """Yield the plotter's files of all rolls, and of the pieces one by one when wanted.

    Raises:
        ExportFailed: when a piece is longer than the plotter feeds.
        InputError: when a film that takes several sheets or sections shall be one HP-GL file.
    """
    per_piece = plotter.files_per is FilesPer.PIECE
    if has_rolls and not per_piece:
        for film in rolls.films:
            cuts = [SheetCut(plan, film, s, plotter) for s in film.sheets if s.placements]
            if plotter.files_per is FilesPer.FILM:
                yield from _film_file(plan, film, plotter, name, cuts)
            else:
                yield from _section_files(plan, film, plotter, name, cuts)
    if has_pieces or (has_rolls and per_piece):
        for piece in plan.pieces:
            file_name = name(piece.label, ending=plotter.format.ending, folder="pieces/")
            yield _file(file_name, plotter, partial(_piece_cut, piece, plan, plotter))


def _piece_cut(piece: Piece, plan: JobPlan, plotter: Plotter, _: Progress) -> Drawing:
    drawing = piece_drawing(piece, plan, is_mirrored=plotter.is_mirrored)
    if plotter.has_weed_box:
        drawing = with_weed_box(drawing)
    return plotter_drawing(drawing, plotter)


def check_square_file(plotter: Plotter, name: Naming) -> PlannedFile:
    """Return the file of the first cut."""

    def draw(_: Progress) -> Drawing:
        return plotter_drawing(check_square(), plotter)

    return _file(name("check square", ending=plotter.format.ending), plotter, draw)


def _section_files(
    plan: JobPlan, film: FilmRolls, plotter: Plotter, name: Naming, cuts: Sequence[SheetCut]
) -> Iterator[PlannedFile]:
    """Yield a file for each section of each sheet of a film."""
    for cut in cuts:
        count = len(cut.sections)
        for i in range(count):
            words = [f"section {i + 1} of {count}"] if count > 1 else []
            parts = (plan.job.film(film.film).name, cut.sheet.sheet.id, *words)
            yield _file(
                name(*parts, ending=plotter.format.ending), plotter, partial(_drawn, cut, i)
            )


def _drawn(cut: SheetCut, section: int, progress: Progress) -> Drawing:
    return cut.drawings(progress)[section]


def _film_file(
    plan: JobPlan, film: FilmRolls, plotter: Plotter, name: Naming, cuts: Sequence[SheetCut]
) -> Iterator[PlannedFile]:
    """Yield one file of all that a film is cut from, sheets and sections beside each other."""
    if not cuts:
        return
    title = plan.job.film(film.film).name
    if plotter.format is PlotterFormat.HPGL and sum(len(c.sections) for c in cuts) > 1:
        raise InputError(
            "It takes several sheets or sections; a plotter is fed one at a time.",
            where=title,
            mend="Have a file written for each section.",
        )

    def draw(progress: Progress) -> Drawing:
        drawings: list[Drawing] = []
        for i, cut in enumerate(cuts):
            part = Part(progress, cut.sheet.sheet.id, i / len(cuts), (i + 1) / len(cuts))
            drawings += cut.drawings(part)
        return beside_each_other(title, drawings)

    yield _file(name(title, ending=plotter.format.ending), plotter, draw)


def beside_each_other(name: str, drawings: Sequence[Drawing]) -> Drawing:
    """Return one drawing of several, the first lowest, the others above it."""
    y, placed = 0.0, []
    for drawing in drawings:
        x0, y0, _, y1 = drawing.extent
        placed.append(moved(drawing, -x0, y - y0))
        y += y1 - y0 + APART_MM
    layers = {layer.name: layer for d in placed for layer in d.layers}
    return Drawing(
        name,
        (0.0, 0.0, max(d.extent[2] for d in placed), placed[-1].extent[3]),
        tuple(layers.values()),
        tuple(s for d in placed for s in d.shapes),
        tuple(t for d in placed for t in d.texts),
    )


def _file(name: str, plotter: Plotter, draw: Callable[[Progress], Drawing]) -> PlannedFile:
    return PlannedFile(
        name,
        FileKind.PLOTTER,
        lambda drawings, _: plotter_data(drawings[0], plotter),
        lambda progress: (draw(progress),),
    )


def plotter_drawing(drawing: Drawing, plotter: Plotter) -> Drawing:
    """Return a drawing as the plotter is to cut it: mirrored, in order, with few points."""
    if plotter.is_mirrored:
        drawing = mirrored(drawing)
    drawing = ordered_cuts(drawing, plotter.overcut_mm)
    # Flattening has spent its share of the tolerance already.
    return thinned(drawing, plotter.tolerance_mm - FLATTEN_MM)


def plotter_data(drawing: Drawing, plotter: Plotter) -> bytes:
    """Return the bytes of a plotter file."""
    if plotter.format is PlotterFormat.SVG:
        return drawing_to_cut_svg(drawing).encode()
    if plotter.format is PlotterFormat.HPGL:
        return drawing_to_hpgl(drawing, plotter.pens, is_turned=plotter.is_turned)
    arcs_mm = plotter.tolerance_mm if plotter.has_arcs else None
    return drawing_to_dxf(drawing, DxfVersion(plotter.format.value), arcs_mm)

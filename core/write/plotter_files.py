"""The plotter's files: which there are, what is on each, and their bytes."""

from collections.abc import Callable, Iterator
from functools import partial
from typing import Protocol

from core.plan.model import JobPlan
from core.roll.model import RollPlan
from core.write.cut_sheets import piece_drawing, sheet_drawing
from core.write.drawing import Drawing
from core.write.dxf import DxfVersion, drawing_to_dxf
from core.write.planned_file import FileKind, PlannedFile
from core.write.plotter import Plotter, PlotterFormat
from core.write.svg import drawing_to_svg


class Naming(Protocol):
    """Makes file names of a job."""

    def __call__(self, *parts: str, ending: str, folder: str = "") -> str:
        """Return the name of a file that holds what the parts say."""


def plotter_files(
    plan: JobPlan,
    rolls: RollPlan,
    plotter: Plotter,
    name: Naming,
    *,
    has_rolls: bool = True,
    has_pieces: bool = False,
) -> Iterator[PlannedFile]:
    """Yield the plotter's files of all rolls, and of the pieces one by one when wanted."""
    ending = plotter.format.ending
    if has_rolls:
        for film in rolls.films:
            for sheet in film.sheets:
                if sheet.placements:
                    yield _file(
                        name(plan.job.film(film.film).name, sheet.sheet.id, ending=ending),
                        plotter,
                        partial(sheet_drawing, film, sheet, plan),
                    )
    if has_pieces:
        for piece in plan.pieces:
            yield _file(
                name(piece.label, ending=ending, folder="pieces/"),
                plotter,
                partial(piece_drawing, piece, plan.job),
            )


def _file(name: str, plotter: Plotter, draw: Callable[[], Drawing]) -> PlannedFile:
    return PlannedFile(
        name, FileKind.PLOTTER, lambda d: plotter_data(d[0], plotter), lambda: (draw(),)
    )


def plotter_data(drawing: Drawing, plotter: Plotter) -> bytes:
    """Return the bytes of a plotter file."""
    if plotter.format is PlotterFormat.SVG:
        return drawing_to_svg(drawing).encode()
    return drawing_to_dxf(drawing, DxfVersion(plotter.format.value))

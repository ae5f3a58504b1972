"""All outputs of a job in one folder: a list of planned files, written as one set.

Each *maker* of ``MAKERS`` plans the files of one kind; whoever adds an output adds a maker.
Names come from the job, what is in the file, and the date. Everything is made in memory first
and then written, so that a failure leaves no half of it; what is there already is kept.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from pathlib import Path

from core.errors import ExportFailed
from core.plan.model import Finding, JobPlan
from core.progress import Part, Progress, Silent, Step, stop_if_cancelled
from core.roll.left_out import stops
from core.roll.model import RollPlan
from core.write.atomic import Existing, write_new_set
from core.write.bench_pages import bench_pages, bench_pdf
from core.write.bench_plan import bench_plan
from core.write.drawing import Drawing
from core.write.file_names import output_name, unique_names
from core.write.hand_cut import hand_cut_pages, hand_cut_pdf
from core.write.papers import Paper
from core.write.pictures import PNG_WIDTH_PX, png_width_px
from core.write.planned_file import FileKind, PlannedFile
from core.write.plotter import Plotter
from core.write.plotter_files import check_square_file, plotter_files
from core.write.png import drawing_to_png
from core.write.roll_picture import roll_drawing
from core.write.scheme import scheme_drawing
from core.write.svg import drawing_to_svg
from core.write.table import table_csv, workbook
from core.write.templates import (
    TemplateOptions,
    panel_kinds,
    template_pages,
    templates_pdf,
)
from core.write.work_tables import PlannedTable, planned_tables, work_tables


@dataclass(frozen=True, slots=True)
class OutputOptions:
    """What is written, and how.

    Attributes:
        plotter: what its files are like.
        has_plotter_files: those of the rolls; pieces by themselves have an option of their own.
        has_check_square: a square of 100 mm for the plotter's first cut.
        has_piece_files: a plotter file for each piece besides those of the sheets.
        has_pictures: schemes and rolls as SVG and PNG.
        has_tables: pieces, films, buying and tape, as CSV and as one workbook.
        has_bench_sheet: what hangs at the bench.
        has_hand_cut: how each sheet is cut with a knife and a straight edge.
        templates: how paper templates are printed; None writes none.
        paper: of bench sheet and hand cutting: one that has a size.
        png_width_px: width of each PNG; a tall one is narrower, so that none is huge.
        day: stands in the files' names; None leaves it out.
    """

    plotter: Plotter = field(default_factory=Plotter)
    has_plotter_files: bool = True
    has_check_square: bool = False
    has_piece_files: bool = False
    has_pictures: bool = True
    has_tables: bool = True
    has_bench_sheet: bool = True
    has_hand_cut: bool = False
    templates: TemplateOptions | None = None
    paper: Paper = Paper.A4
    png_width_px: int = PNG_WIDTH_PX
    day: date | None = None


@dataclass(frozen=True, slots=True)
class OutputTask:
    """What a maker works from."""

    plan: JobPlan
    rolls: RollPlan
    options: OutputOptions

    def name(self, *parts: str, ending: str, folder: str = "") -> str:
        """Return a file's name: job, parts and date; ``folder`` ends in a slash, if given."""
        stem = output_name(self.plan.job.name, parts, self.options.day)
        return f"{folder}{stem}{ending}"


Maker = Callable[[OutputTask], Iterator[PlannedFile]]


def planned_outputs(
    plan: JobPlan, rolls: RollPlan, options: OutputOptions | None = None
) -> tuple[PlannedFile, ...]:
    """Return all files that would be written; their contents are made when asked for.

    Raises:
        ExportFailed: when a finding of the plan or its rolls stops the job, a piece cannot be
            laid flat, or one is longer than the plotter feeds.
    """
    stopping = stops(plan, rolls)
    if stopping:
        raise stopped_export(stopping)
    for piece in plan.pieces:
        if piece.film_shape.refusal:
            raise ExportFailed(
                f"Nothing is written, as {piece.label} cannot be cut. "
                + piece.film_shape.refusal
            )
    task = OutputTask(plan, rolls, options or OutputOptions())
    files = [file for maker in MAKERS for file in maker(task)]
    return tuple(
        replace(file, name=name, is_numbered=name != file.name)
        for file, name in zip(files, _apart(f.name for f in files), strict=True)
    )


def stopped_export(stopping: Sequence[Finding]) -> ExportFailed:
    """Return why nothing is written while there are these findings."""
    which = "a finding stops" if len(stopping) == 1 else f"{len(stopping)} findings stop"
    mend = "Review shows where." if len(stopping) == 1 else "Review shows the others, too."
    return ExportFailed(
        f"Nothing is written, as {which} the job: {stopping[0].text}", mend=mend
    )


def write_all(
    plan: JobPlan,
    rolls: RollPlan,
    directory: Path,
    options: OutputOptions | None = None,
    existing: Existing = Existing.NUMBER,
) -> list[Path]:
    """Write all outputs into a directory, as ``planned_outputs`` and ``write_files`` do."""
    return write_files(planned_outputs(plan, rolls, options), directory, existing)


def write_files(
    files: Iterable[PlannedFile],
    directory: Path,
    existing: Existing = Existing.NUMBER,
    progress: Progress | None = None,
) -> list[Path]:
    """Write planned files into a directory, which is made when it is not there.

    Args:
        files: all or some of ``planned_outputs``.
        directory: where.
        existing: what becomes of files there that have these names.
        progress: is told of each file and of the pages of long ones, and may cancel.

    Returns:
        The paths written.

    Raises:
        ExportFailed: when the directory cannot be written to, or files are there and
            ``existing`` is to refuse; nothing is written then.
        Cancelled: when it was stopped; nothing is written then.
    """
    listener = progress or Silent()
    wanted = tuple(files)
    made: dict[str, bytes] = {}
    for i, file in enumerate(wanted):
        stop_if_cancelled(listener)
        words = f"Making {file.name}"
        listener.tell(Step(words, i / len(wanted)))
        part = Part(listener, words, i / len(wanted), (i + 1) / len(wanted))
        made[file.name] = file.data(part)
    stop_if_cancelled(listener)
    return write_new_set(directory, made, existing)


def leftover_plotter_files(directory: Path, written: list[Path]) -> list[Path]:
    """Return plotter files in a directory that a write did not make: older, not to be cut."""
    older = {p for ending in ("dxf", "plt") for p in directory.glob(f"*.{ending}")}
    return sorted(older - set(written))


def _apart(names: Iterable[str]) -> list[str]:
    """Return the names with -2, -3, ... before the ending of those met before."""
    split = [name.rpartition(".") for name in names]
    endings = [ending for _, _, ending in split]
    kinds: dict[str, list[int]] = {}
    for i, ending in enumerate(endings):
        kinds.setdefault(ending, []).append(i)
    result = [""] * len(split)
    for ending, places in kinds.items():
        for i, stem in zip(places, unique_names(split[i][0] for i in places), strict=True):
            result[i] = f"{stem}.{ending}"
    return result


def _plotter_files(task: OutputTask) -> Iterator[PlannedFile]:
    options = task.options
    if options.has_check_square:
        yield check_square_file(options.plotter, task.name)
    yield from plotter_files(
        task.plan,
        task.rolls,
        options.plotter,
        task.name,
        has_rolls=options.has_plotter_files,
        has_pieces=options.has_piece_files,
    )


def _tables(task: OutputTask) -> Iterator[PlannedFile]:
    if not task.options.has_tables:
        return
    plan, rolls = task.plan, task.rolls
    for table in planned_tables(plan, rolls):
        name = task.name(table.name, ending=".csv")
        yield PlannedFile(name, FileKind.TABLE, _undrawn(partial(_csv, table)))
    name = task.name("tables", ending=".xlsx")
    book = _undrawn(lambda: workbook(work_tables(plan, rolls)))
    yield PlannedFile(name, FileKind.TABLE, book)


def _csv(table: PlannedTable) -> bytes:
    return table_csv(table.make())


def _undrawn(make: Callable[[], bytes]) -> Callable[[tuple[Drawing, ...], Progress], bytes]:
    """Return what makes a file of which nothing is drawn."""
    return lambda _, __: make()


def _bench(task: OutputTask) -> Iterator[PlannedFile]:
    plan, rolls, options = task.plan, task.rolls, task.options
    if options.has_bench_sheet:
        yield PlannedFile(
            task.name("bench sheet", ending=".pdf"),
            FileKind.BENCH,
            bench_pdf,
            lambda progress: bench_pages(
                bench_plan(plan, rolls, progress), options.paper, progress
            ),
        )
    if options.has_hand_cut and any(s.placements for f in rolls.films for s in f.sheets):
        yield PlannedFile(
            task.name("hand cutting", ending=".pdf"),
            FileKind.BENCH,
            hand_cut_pdf,
            lambda progress: hand_cut_pages(plan, rolls, options.paper, progress),
        )


def _templates(task: OutputTask) -> Iterator[PlannedFile]:
    options = task.options.templates
    if options is None:
        return
    for panel in panel_kinds(task.plan):
        drawn = task.plan.job.panel(panel.of)
        parts = (drawn.name, *([panel.side] if panel.side else []), "template")
        yield PlannedFile(
            task.name(*parts, ending=".pdf", folder="templates/"),
            FileKind.TEMPLATE,
            templates_pdf,
            partial(template_pages, task.plan, panel, options),
        )


def _pictures(task: OutputTask) -> Iterator[PlannedFile]:
    plan, job = task.plan, task.plan.job
    if not task.options.has_pictures:
        return
    if plan.panels:
        name = task.name("scheme", ending="")
        yield from _picture(task, name, partial(scheme_drawing, plan, None, None))
    for film in task.rolls.films:
        if any(s.placements for s in film.sheets):
            name = task.name(job.film(film.film).name, "rolls", ending="")
            yield from _picture(task, name, partial(roll_drawing, film, job))
    for panel in job.panels:
        copies = {copy.id for copy in plan.panels if copy.of == panel.id}
        if copies:
            name = task.name(panel.name, ending="", folder="panels/")
            yield from _picture(task, name, partial(scheme_drawing, plan, copies, None))


def _picture(
    task: OutputTask, stem: str, draw: Callable[[Progress], Drawing]
) -> Iterator[PlannedFile]:
    """Yield a picture as SVG and as PNG; it is drawn once."""
    drawn: list[Drawing] = []

    def once(progress: Progress) -> tuple[Drawing, ...]:
        if not drawn:
            drawn.append(draw(progress))
        return (drawn[0],)

    def svg(drawings: tuple[Drawing, ...], _: Progress) -> bytes:
        return drawing_to_svg(drawings[0]).encode()

    def png(drawings: tuple[Drawing, ...], _: Progress) -> bytes:
        width = png_width_px(drawings[0], task.options.png_width_px)
        return drawing_to_png(drawings[0], width)

    yield PlannedFile(f"{stem}.svg", FileKind.PICTURE, svg, once)
    yield PlannedFile(f"{stem}.png", FileKind.PICTURE, png, once)


MAKERS: tuple[Maker, ...] = (_plotter_files, _templates, _bench, _tables, _pictures)
"""Who plans which files, in the order in which they are listed."""

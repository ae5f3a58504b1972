"""The bench sheet as pages for a wall: what the job is, then a page a panel, then tables."""

from collections.abc import Sequence
from dataclasses import replace

from shapely import box

from core.document.film import Film
from core.plan.model import JobPlan
from core.progress import Part, Progress, Silent, stop_if_cancelled, watched
from core.roll.model import FilmRolls, SheetPlan
from core.roll.wording import length_to_buy
from core.units import format_length
from core.write.bench_pictures import UNIT_MM, panel_picture
from core.write.bench_plan import BenchPlan, PanelSheet, run_name, sheet_name
from core.write.drawing import Drawing
from core.write.film_patterns import (
    FilmPattern,
    film_patterns,
    pattern_ink,
    pattern_lines,
    printed,
)
from core.write.measures import area_text, size_text
from core.write.page import SOFT, shortened
from core.write.page_flow import Column, PageFlow
from core.write.papers import MARGIN_MM, Paper, upright
from core.write.pdf import drawings_to_pdf
from core.write.roll_picture import roll_drawing
from core.write.scheme import scheme_drawing
from core.write.typeface import text_width_mm
from core.write.wording import counted

_CAUTIONS_MM = 112.0
"""Room on the first page for the cautions and all headings."""
_FIRST, _PANELS = 0.2, 0.7
"""What is done when the first page is drawn, and when those of the panels are, about."""
_MOST_BOXES = 6
"""More alike panels than this share their boxes."""


def bench_pages(
    bench: BenchPlan, paper: Paper = Paper.A4, progress: Progress | None = None
) -> tuple[Drawing, ...]:
    """Return the pages of the bench sheet; Cancelled when they were stopped."""
    job = bench.job.job
    name = f"{job.name}: {bench.job.variant.name}" if bench.job.variant.name else job.name
    flow = PageFlow(upright(paper), f"Bench sheet  ·  {name}")
    plan = printed(bench.job)
    listener = progress or Silent()
    _first_page(flow, bench, plan, Part(listener, "scheme", 0.0, _FIRST))
    for sheet in watched(bench.panels, "panel", Part(listener, "", _FIRST, _PANELS)):
        _panel_page(flow, plan, sheet, listener)
    if bench.tape.runs:
        _tape_page(flow, bench)
    used = [film for film in bench.rolls.films if any(s.placements for s in film.sheets)]
    for i, film in enumerate(used):
        share = (1.0 - _PANELS) / len(used)
        start = _PANELS + i * share
        _roll_page(flow, plan, film, Part(listener, "rolls", start, start + share))
    stop_if_cancelled(listener)
    _pieces_page(flow, bench)
    return flow.drawings()


def bench_pdf(pages: tuple[Drawing, ...], progress: Progress | None = None) -> bytes:
    """Return pages of a bench sheet as a PDF."""
    return drawings_to_pdf(f"Bench sheet: {pages[0].name}", pages, progress)


def _first_page(flow: PageFlow, bench: BenchPlan, plan: JobPlan, progress: Progress) -> None:
    """Set the job: scheme, films with metres and rolls, cautions."""
    flow.start(plan.job.name)
    beneath = _CAUTIONS_MM + 8.0 * len(bench.rolls.films)
    room = min(135.0, max(70.0, flow.left_mm - beneath))
    scheme = scheme_drawing(plan, None, film_patterns(plan.job.films), progress)
    flow.picture(scheme, room)
    flow.space(2.0)
    flow.heading("Film")
    for film in bench.rolls.films:
        _film_lines(flow, plan, film)
    if bench.tape.runs:
        total = length_to_buy(bench.tape.total_mm, plan.job.units)
        flow.words(
            f"Cutting tape: {total} in {counted(len(bench.tape.runs), 'run')}, tails counted."
        )
    flow.space(3.0)
    flow.heading("Take care")
    flow.ticks(bench.cautions, boxes=0)


def _film_lines(flow: PageFlow, plan: JobPlan, rolls: FilmRolls) -> None:
    """Set a film's swatch, name and what of each sheet it takes."""
    film, units = plan.job.film(rolls.film), plan.job.units
    used = [
        f"{sheet_name(rolls, i)}: {length_to_buy(sheet.used_length_mm, units)}"
        for i, sheet in enumerate(rolls.sheets)
        if sheet.placements
    ]
    pieces = [piece for piece in plan.pieces if piece.film == film.id]
    area = area_text(sum(piece.cut.area for piece in pieces), units)
    flow.need(7.5)
    page = flow.page
    _swatch(flow, plan, film, MARGIN_MM)
    left = MARGIN_MM + 9.5
    room = flow.width_mm - 9.5
    name = shortened(film.name, 2.3, room, is_bold=True)
    page.text(name, (left, flow.y - 3.0), 2.3, is_bold=True)
    text = (
        f"{counted(len(pieces), 'piece')}, {area}  ·  {'  ·  '.join(used) or 'no film is used'}"
    )
    page.text(shortened(text, 1.9, room), (left, flow.y - 6.6), 1.9, colour=SOFT)
    flow.space(7.6)
    for missing in rolls.missing:
        flow.words(f"{film.name}: {missing.text}")


def _swatch(flow: PageFlow, plan: JobPlan, film: Film, left: float) -> None:
    """Draw a film's colour and pattern beneath where the flow stands."""
    page, side = flow.page, 6.6
    low = flow.y - side - 0.4
    page.rect((left, low), (side, side), page.look(film.colour, SOFT, 0.2))
    pattern = film_patterns(plan.job.films).get(film.id, FilmPattern.PLAIN)
    square = box(left, low, left + side, low + side)
    page.line(pattern_lines(square, pattern, UNIT_MM * 0.8), pattern_ink(film.colour), 0.25)


def _film_key(flow: PageFlow, plan: JobPlan, sheet: PanelSheet) -> None:
    """Say which film has which pattern."""
    left = MARGIN_MM
    for film_id in dict.fromkeys(row.film for row in sheet.pieces):
        film = plan.job.film(film_id)
        text = shortened(film.name, 2.2, flow.width_mm - 9.0)
        wide = text_width_mm(text, 2.2)
        if left > MARGIN_MM and left + 8.5 + wide > MARGIN_MM + flow.width_mm:
            left = MARGIN_MM
            flow.space(8.0)
        _swatch(flow, plan, film, left)
        flow.page.text(text, (left + 8.5, flow.y - 4.8), 2.2)
        left += wide + 15.0
    flow.space(9.0)


def _panel_page(flow: PageFlow, plan: JobPlan, sheet: PanelSheet, progress: Progress) -> None:
    """Set a panel: picture, what to do before, steps, pieces."""
    flow.start(sheet.title)
    flow.heading(sheet.title + (f"  × {sheet.count}" if sheet.count > 1 else ""), 5.0)
    panel = next(p for p in plan.panels if p.id == sheet.panel)
    boxes = sheet.count if sheet.count <= _MOST_BOXES else 1
    if panel.outline.is_empty:
        flow.words("No plan: see the findings.")
    else:
        room = (flow.width_mm, 95.0)
        flow.picture(panel_picture(plan, panel, sheet.tape, room, progress), 95.0)
        flow.space(2.0)
        _film_key(flow, plan, sheet)
    if sheet.count > 1:
        flow.words(
            f"A box for each of the {sheet.count}." if boxes > 1 else "For each of them."
        )
    if sheet.preparation:
        flow.heading("Before any film")
        flow.ticks(sheet.preparation, boxes)
        flow.space(1.5)
    if sheet.steps:
        flow.heading("Steps, in this order")
        flow.ticks([step.text for step in sheet.steps], boxes, number=1)
        flow.space(1.5)
    if sheet.shape_cautions:
        flow.heading("How the film lays")
        flow.ticks(sheet.shape_cautions, boxes=0)
        flow.space(1.5)
    if sheet.seams:
        flow.heading("Seams")
        flow.ticks(sheet.seams, boxes=0)
        flow.space(1.5)
    if sheet.reliefs:
        flow.heading("Relief cuts")
        flow.ticks(sheet.reliefs, boxes=0)
        flow.space(1.5)
    if sheet.findings:
        flow.heading("Mind")
        flow.ticks(sheet.findings, boxes=0)


def _tape_page(flow: PageFlow, bench: BenchPlan) -> None:
    """Set the cutting tape: every run with its tails, in order, and what to buy."""
    units = bench.job.job.units
    flow.start("Cutting tape")
    flow.heading("Cutting tape", 5.0)
    tail = format_length(bench.job.job.settings.tape_tail_mm, units)
    flow.words(
        "Runs go down and are pulled panel by panel, in this order: lay the tape on the part, "
        "lay the piece over it, pull, and only then lay the next. "
        f"Leave {tail} free at both ends."
    )
    flow.space(2.0)
    rows = [
        [
            panel.name,
            str(run.number),
            run_name(bench.job, panel, run),
            f"before piece {run.before}",
            f"after piece {run.before}",
            format_length(run.run_mm, units),
            format_length(run.tails_mm, units),
            format_length(run.total_mm, units),
        ]
        for panel in bench.job.panels
        for run in bench.tape.of_panel(panel.id)
    ]
    columns = [
        Column("panel", 2.0),
        Column("no.", 0.6, is_right=True),
        Column("along", 1.7),
        Column("goes down", 1.4),
        Column("is pulled", 1.4),
        Column("run", 1.1, is_right=True),
        Column("tails", 1.0, is_right=True),
        Column("in all", 1.1, is_right=True),
    ]
    flow.table(columns, rows, boxes=2)
    flow.space(2.0)
    flow.heading(f"Tape to buy: {length_to_buy(bench.tape.total_mm, units)} at least")
    flow.words("Two boxes a run: laid, pulled.", colour=SOFT)


def _roll_page(flow: PageFlow, plan: JobPlan, film: FilmRolls, progress: Progress) -> None:
    """Set a film's rolls: their picture, and where each piece lies."""
    name = plan.job.film(film.film).name
    flow.start(f"{name}: rolls")
    flow.heading(f"{name}: rolls", 5.0)
    flow.words(
        "Positions are those of the lower left corner of the rectangle around each piece: "
        "along the roll from its free end, and up from its lower edge.",
        colour=SOFT,
    )
    for i, sheet in enumerate(film.sheets):
        if sheet.placements:
            flow.heading(sheet_name(film, i).capitalize(), follows_mm=70.0)
            alone = replace(film, sheets=(sheet,), missing=())
            flow.picture(roll_drawing(alone, plan.job, progress, text_scale=1.4), 120.0)
            flow.space(2.0)
            stop_if_cancelled(progress)
            _positions(flow, plan, sheet)


def _positions(flow: PageFlow, plan: JobPlan, sheet: SheetPlan) -> None:
    units = plan.job.units
    rows = []
    for placement in sorted(sheet.placements, key=lambda p: p.polygon.bounds[:2]):
        x0, y0, x1, y1 = placement.polygon.bounds
        item = placement.item
        again = f", retake {item.attempt - 1}" if item.attempt > 1 else ""
        rows.append(
            [
                item.label + again,
                format_length(x0, units),
                format_length(y0, units),
                size_text(x1 - x0, y1 - y0, units),
            ]
        )
    columns = [
        Column("piece", 3.0),
        Column("along", 1.2, is_right=True),
        Column("up", 1.2, is_right=True),
        Column("along × across", 1.8, is_right=True),
    ]
    flow.table(columns, rows, boxes=1)


def _pieces_page(flow: PageFlow, bench: BenchPlan) -> None:
    """Set the table of all pieces."""
    flow.start("All pieces")
    flow.heading("All pieces", 5.0)
    flow.words("Three boxes a piece: cut, laid, looked at again after a day.", colour=SOFT)
    flow.space(2.0)
    films = {film.id: film.name for film in bench.job.job.films}
    rows = [
        [
            row.label,
            films[row.film],
            row.size,
            row.kind,
            str(row.number),
            ", ".join(row.places),
        ]
        for sheet in bench.panels
        for row in sheet.pieces
    ]
    columns: Sequence[Column] = [
        Column("piece", 2.4),
        Column("film", 1.6),
        Column("along × across the flow", 1.8),
        Column("as", 0.9),
        Column("cut", 0.5, is_right=True),
        Column("from", 1.4),
    ]
    flow.table(columns, rows, boxes=3)

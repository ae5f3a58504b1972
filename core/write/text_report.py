"""A plan and its rolls as lines of text for a terminal."""

from collections.abc import Iterable, Iterator

from core.plan.model import Finding, JobPlan, PanelPlan
from core.roll.model import FilmRolls, RollPlan, SheetPlan
from core.roll.wording import length_on_hand, length_to_buy, told_mm
from core.units import format_length
from core.write.measures import area_text
from core.write.wording import counted, finding_sentence, piece_size, seam_sentence, text_table


def plan_lines(plan: JobPlan, findings: Iterable[Finding] | None = None) -> Iterator[str]:
    """Yield the plan: panels with pieces and seams, films, findings: by default its own."""
    yield f"{plan.job.name} · {plan.variant.name}"
    yield f"{counted(len(plan.panels), 'panel')}, {counted(len(plan.pieces), 'piece')}"
    for panel in plan.panels:
        yield ""
        yield from _panel_lines(plan, panel)
    yield ""
    yield "Films"
    rows = []
    for film in plan.job.films:
        count = sum(1 for p in plan.pieces if p.film == film.id)
        area = area_text(plan.film_area_mm2(film.id), plan.job.units)
        rows.append((f"  {film.name}", counted(count, "piece"), area))
    yield from text_table(rows, frozenset({1, 2}))
    yield from finding_lines(plan, findings)


def finding_lines(plan: JobPlan, findings: Iterable[Finding] | None = None) -> Iterator[str]:
    """Yield a heading and findings, by default the plan's own; nothing when there are none."""
    found = list(plan.findings if findings is None else findings)
    if found:
        yield ""
        yield "Findings"
        for finding in found:
            yield "  " + finding_sentence(plan, finding)


def _panel_lines(plan: JobPlan, panel: PanelPlan) -> Iterator[str]:
    units = plan.job.units
    yield f"{panel.name} ({panel.id})"
    if not panel.pieces:
        yield "  no pieces: see the findings"
    rows = []
    for piece in panel.pieces:
        along, across = (format_length(v, units) for v in piece_size(piece))
        kind = "blank" if piece.is_blank else "pre-cut"
        tries = f"{piece.planned_tries} tries" if piece.planned_tries > 1 else ""
        film = plan.job.film(piece.film).name
        rows.append((f"  {piece.order}", film, f"{along} × {across}", kind, tries))
    yield from text_table(rows, frozenset({0}))
    for stretch in panel.stretches:
        yield "  " + seam_sentence(plan, panel, stretch)
    for run in panel.tape_runs:
        yield f"  {format_length(run.length_mm, units)} of cutting tape along {run.stretch}"


def roll_lines(plan: JobPlan, rolls: RollPlan) -> Iterator[str]:
    """Yield each film's sheets: what is used, how well, and what is missing."""
    yield f"{plan.job.name} · {plan.variant.name}"
    for film in rolls.films:
        yield ""
        yield plan.job.film(film.film).name
        yield from _film_lines(plan, film)


def _film_lines(plan: JobPlan, film: FilmRolls) -> Iterator[str]:
    rows = [_sheet_row(plan, sheet) for sheet in film.sheets if sheet.placements]
    if not rows and not film.missing:
        yield "  nothing of it is needed"
    yield from text_table(rows, frozenset({1, 3}))
    if film.used_length_mm > film.job_length_mm + 0.5:
        units = plan.job.units
        whole = length_to_buy(told_mm(film.used_lengths_mm, units), units)
        bare = length_to_buy(told_mm(film.job_lengths_mm, units), units)
        job = bare if film.job_length_mm else "from offcuts"
        yield f"  job {job}; with retakes {whole}"
    for missing in film.missing:
        yield f"  missing: {missing.text}"


def _sheet_row(plan: JobPlan, sheet: SheetPlan) -> tuple[str, ...]:
    units, stock = plan.job.units, sheet.sheet
    used = length_to_buy(sheet.used_length_mm, units)
    is_open = stock.length_mm is None
    name = "to buy" if is_open else f"{stock.kind} {stock.id}"
    of = "" if stock.length_mm is None else f"of {length_on_hand(stock.length_mm, units)}"
    pieces = counted(len(sheet.placements), "piece")
    return (f"  {name}", used, of, pieces, f"{100 * sheet.utilisation:.0f} % used")

"""The bench sheet, pinned up where the film is laid: Markdown that reads as plain text."""

from collections.abc import Iterator

from core.document.lines import SeamCut
from core.plan.model import JobPlan, PanelPlan, Piece
from core.roll.model import RollPlan
from core.units import format_length
from core.write.measures import area_text, run_text
from core.write.scheme import distinct_panels
from core.write.wording import (
    counted,
    finding_sentence,
    order_of,
    piece_seams,
    piece_size,
    seam_name,
    seam_sentence,
)

CAUTIONS = (
    "Test first: lay a hand-sized try on a hidden place, heat it, pull it off after an hour.",
    "Blades: cut away from hands, never deeper than the film; a scored coating rusts.",
    "On paint, let cutting tape make the seam instead of a blade.",
    "Heat: keep it off fuel tanks and lines, batteries, cables, tyres, glazing, soft plastics.",
    "Take a part off the vehicle before heat comes near fuel or a battery.",
    "Solvents: gloves, moving air, no flame or spark; wet cloths into a closed tin.",
    "Leave free: lamps, reflectors, plates, brake parts, tyres, vents, filters, sensors.",
    "Leave free, too: fasteners that must be checked, and every safety or type label.",
    "Film hides damage: look at welds, frames and all that carries load before you cover them.",
    "Local rules, the film maker's data sheet and licensed practice come before this sheet.",
)
"""Common practice, no source."""


def bench_sheet(plan: JobPlan, rolls: RollPlan) -> str:
    """Return the bench sheet of a plan and its rolls."""
    lines = [*_head(plan), *_films(plan, rolls), *_panels(plan), *_findings(plan)]
    return "\n".join(lines) + "\n"


def _head(plan: JobPlan) -> Iterator[str]:
    yield f"# {_cell(plan.job.name)}: {_cell(plan.variant.name)}"
    yield ""
    yield f"{counted(len(plan.panels), 'panel')}, {counted(len(plan.pieces), 'piece')}."
    yield ""
    yield "## Before you start"
    yield ""
    yield from (f"- {caution}" for caution in CAUTIONS)


def _films(plan: JobPlan, rolls: RollPlan) -> Iterator[str]:
    units = plan.job.units
    yield ""
    yield "## Film"
    yield ""
    yield "| film | from | length | pieces | area of pieces |"
    yield "| --- | --- | ---: | ---: | ---: |"
    for film in rolls.films:
        name = _cell(plan.job.film(film.film).name)
        for sheet in film.sheets:
            if sheet.placements:
                stock = sheet.sheet
                source = "to buy" if stock.length_mm is None else f"{stock.kind} {stock.id}"
                length = run_text(sheet.used_length_mm, units)
                area = area_text(sum(p.item.polygon.area for p in sheet.placements), units)
                yield f"| {name} | {source} | {length} | {len(sheet.placements)} | {area} |"
    for film in rolls.films:
        for missing in film.missing:
            yield ""
            yield f"**{_cell(plan.job.film(film.film).name)}:** {_cell(missing.text)}"


def _panels(plan: JobPlan) -> Iterator[str]:
    for panel, count in distinct_panels(plan.panels):
        yield ""
        name = plan.job.panel(panel.of).name + (f", {panel.side}" if panel.side else "")
        yield f"## {_cell(name)}" + (f" (× {count})" if count > 1 else "")
        yield ""
        yield from _pieces(plan, panel)
        yield from _seams(plan, panel)
        yield from _tape(plan, panel)


def _pieces(plan: JobPlan, panel: PanelPlan) -> Iterator[str]:
    yield "| lay | film | cut off the roll | as | try | laps over | runs beneath |"
    yield "| ---: | --- | --- | --- | ---: | --- | --- |"
    for piece in panel.pieces:
        along, across = (format_length(v, plan.job.units) for v in piece_size(piece))
        kind = "blank, trimmed on the part" if piece.is_blank else "pre-cut"
        film = _cell(plan.job.film(piece.film).name)
        over, beneath = _neighbours(panel, piece)
        yield (
            f"| {piece.order} | {film} | {along} × {across} | {kind} | {piece.tries} "
            f"| {over} | {beneath} |"
        )


def _neighbours(panel: PanelPlan, piece: Piece) -> tuple[str, str]:
    """Return the numbers of the pieces that a piece lies over, and of those it runs beneath."""
    over, beneath = set(), set()
    for stretch in piece_seams(panel, piece):
        if stretch.cut is not SeamCut.BUTT:
            if stretch.top in piece.regions:
                over.add(order_of(panel, stretch.under))
            else:
                beneath.add(order_of(panel, stretch.top))
    return ", ".join(sorted(over, key=_number)), ", ".join(sorted(beneath, key=_number))


def _number(text: str) -> int:
    return int(text) if text.isdigit() else 0


def _seams(plan: JobPlan, panel: PanelPlan) -> Iterator[str]:
    if panel.stretches:
        yield ""
        yield "Seams:"
        yield ""
        for stretch in panel.stretches:
            yield f"- {_cell(seam_sentence(plan, panel, stretch))}"


def _tape(plan: JobPlan, panel: PanelPlan) -> Iterator[str]:
    if panel.tape_runs:
        yield ""
        yield "Cutting tape, laid on the part before the top film goes down:"
        yield ""
        stretches = {s.id: s for s in panel.stretches}
        for run in panel.tape_runs:
            stretch = stretches.get(run.stretch)
            name = seam_name(plan, panel, stretch) if stretch else run.stretch
            top = next((p.order for p in panel.pieces if p.id == run.piece), "?")
            length = format_length(run.length_mm, plan.job.units)
            yield f"- {_cell(name)}: {length}, before piece {top}"


def _findings(plan: JobPlan) -> Iterator[str]:
    if plan.findings:
        yield ""
        yield "## Mind"
        yield ""
        for finding in plan.findings:
            yield f"- {_cell(finding_sentence(plan, finding))}"


def _cell(text: str) -> str:
    """Return text that cannot break a table or a line."""
    return " ".join(text.split()).replace("|", "/")

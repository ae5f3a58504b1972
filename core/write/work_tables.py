"""The tables of a job: its pieces, its films, what is to be bought, its cutting tape."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from core.plan.model import JobPlan, PanelPlan, Piece
from core.plan.tape_plan import tape_plan
from core.roll.model import RollPlan
from core.roll.width_search import has_choice
from core.write.bench_plan import run_name
from core.write.buying_tables import (
    RETAKES,
    TO_BUY,
    WIDTHS,
    buying_table,
    retake_table,
    width_table,
)
from core.write.table import Cell, Table
from core.write.wording import piece_seams, piece_size


@dataclass(frozen=True, slots=True)
class PlannedTable:
    """A table of a job that has rows; it is made when it is asked for."""

    name: str
    make: Callable[[], Table]


def planned_tables(plan: JobPlan, rolls: RollPlan) -> tuple[PlannedTable, ...]:
    """Return all tables of a job that have rows; those of what to buy take a moment to make."""
    needed = [film for film in rolls.films if film.is_needed]
    has_buys = any(film.to_buy_mm for film in needed) or tape_plan(plan).total_mm > 0
    ways = (
        ("Pieces", bool(plan.pieces), piece_table),
        ("Films", any(s.placements for f in needed for s in f.sheets), film_table),
        (TO_BUY, has_buys, buying_table),
        (WIDTHS, has_choice(plan, rolls), width_table),
        (RETAKES, bool(needed), retake_table),
        ("Cutting tape", bool(tape_plan(plan).total_mm), lambda plan, _: tape_table(plan)),
    )
    return tuple(
        PlannedTable(name, partial(make, plan, rolls))
        for name, is_there, make in ways
        if is_there
    )


def work_tables(plan: JobPlan, rolls: RollPlan) -> tuple[Table, ...]:
    """Return all tables of a job."""
    return tuple(table.make() for table in planned_tables(plan, rolls))


def piece_table(plan: JobPlan, rolls: RollPlan) -> Table:
    """Return the table of pieces: a row each, panel by panel in lay order; in mm."""
    sheets: dict[str, list[str]] = {}
    for film in rolls.films:
        for sheet in film.sheets:
            for placement in sheet.placements:
                sheets.setdefault(placement.item.piece, []).append(sheet.sheet.id)
    head = (
        *("Id", "Piece", "Panel", "Side", "Film", "Lay order"),
        *("Along the flow (mm)", "Across the flow (mm)", "Area (mm2)"),
        *("Cut as", "Seams", "Relief cuts", "Tries", "Sheets"),
    )
    rows = tuple(
        _piece_row(plan, panel, piece, sheets.get(piece.id, []))
        for panel in plan.panels
        for piece in panel.pieces
    )
    return Table("Pieces", head, rows)


def _piece_row(
    plan: JobPlan, panel: PanelPlan, piece: Piece, sheets: list[str]
) -> tuple[Cell, ...]:
    along, across = piece_size(piece)
    return (
        piece.id,
        piece.label,
        plan.job.panel(panel.of).name,
        panel.side or "",
        plan.job.film(piece.film).name,
        piece.order,
        round(along, 1),
        round(across, 1),
        round(piece.cut.area),
        "blank" if piece.is_blank else "pre-cut",
        " ".join(s.id for s in piece_seams(panel, piece)),
        " ".join(cut.line for cut in piece.relief_cuts),
        piece.planned_tries,
        " ".join(dict.fromkeys(sheets)),
    )


def film_table(plan: JobPlan, rolls: RollPlan) -> Table:
    """Return the table of films: what the job takes of each, sheet by sheet."""
    head = (
        *("Id", "Film", "Finish", "Sheet", "Kind", "Sheet width (mm)", "Sheet length (mm)"),
        *("Used length (mm)", "Pieces", "Area of the pieces (mm2)", "Utilisation (%)"),
    )
    rows: list[tuple[Cell, ...]] = []
    for film in rolls.films:
        own = plan.job.film(film.film)
        for sheet in film.sheets:
            if sheet.placements:
                stock = sheet.sheet
                area = sum(p.item.polygon.area for p in sheet.placements)
                rows.append(
                    (
                        *(own.id, own.name, own.finish.value, stock.id, stock.kind),
                        round(stock.width_mm, 1),
                        "" if stock.length_mm is None else round(stock.length_mm, 1),
                        round(sheet.used_length_mm, 1),
                        len(sheet.placements),
                        round(area),
                        round(100 * sheet.utilisation, 1),
                    )
                )
    return Table("Films", head, tuple(rows))


def tape_table(plan: JobPlan) -> Table:
    """Return the table of cutting tape: every run with its tails, in the order of the work."""
    head = (
        *("Panel", "Run", "Along", "Goes down before piece", "Is pulled after piece"),
        *("Run (mm)", "Lengths", "Tails (mm)", "Total (mm)"),
    )
    tape = tape_plan(plan)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            *(panel.name, run.number, run_name(plan, panel, run), run.before, run.before),
            *(round(run.run_mm, 1), run.parts, round(run.tails_mm, 1), round(run.total_mm, 1)),
        )
        for panel in plan.panels
        for run in tape.of_panel(panel.id)
    )
    return Table("Cutting tape", head, rows)

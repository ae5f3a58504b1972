"""The tables of a job: its pieces, its films, what is to be bought, its cutting tape."""

from core.plan.model import JobPlan, PanelPlan, Piece
from core.plan.tape_plan import tape_plan
from core.roll.model import FilmRolls, RollPlan
from core.roll.problem import BUY
from core.roll.shop import bought_mm
from core.write.bench_plan import run_name
from core.write.table import Cell, Table
from core.write.wording import piece_seams, piece_size


def work_tables(plan: JobPlan, rolls: RollPlan) -> tuple[Table, ...]:
    """Return all tables of a job."""
    tables = (
        piece_table(plan, rolls),
        film_table(plan, rolls),
        buying_table(plan, rolls),
        tape_table(plan),
    )
    return tuple(table for table in tables if table.rows)


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
        *("Cut as", "Seams", "Tries", "Sheets"),
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


def buying_table(plan: JobPlan, rolls: RollPlan) -> Table:
    """Return the table of what is to be bought: film in the shop's steps, and cutting tape."""
    head = (
        *("What", "Width (mm)", "Needed (mm)", "To buy (mm)"),
        *("Price a metre", "Price", "Currency"),
    )
    rows = [row for film in rolls.films if (row := _film_row(plan, film)) is not None]
    tape_mm = tape_plan(plan).total_mm
    if tape_mm:
        per_m = plan.job.settings.tape_price_per_m
        rows.append(
            _buying_row(plan, "cutting tape", "", tape_mm, tape_mm, per_m),
        )
    return Table("To buy", head, tuple(rows))


def _film_row(plan: JobPlan, rolls: FilmRolls) -> tuple[Cell, ...] | None:
    film = plan.job.film(rolls.film)
    needed = sum(s.used_length_mm for s in rolls.sheets if s.sheet.id == BUY)
    if not needed:
        return None
    width = round(film.roll_width_mm, 1)
    bought = bought_mm(film, needed)
    return _buying_row(plan, film.name, width, needed, bought, film.price_per_m)


def _buying_row(
    plan: JobPlan, what: str, width: Cell, needed_mm: float, bought: float, per_m: float
) -> tuple[Cell, ...]:
    price: Cell = round(bought / 1000 * per_m, 2) if per_m else ""
    per: Cell = per_m or ""
    return (what, width, round(needed_mm, 1), round(bought, 1), per, price, plan.job.currency)


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

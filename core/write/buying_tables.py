"""The tables of what is to be bought: film and tape, the widths on offer, film against retakes.

They tell what the buying window tells, from the same list (``core/roll/buying.py``).
"""

from core.plan.memory import Memory
from core.plan.model import JobPlan
from core.plan.tape_plan import tape_plan
from core.roll.buying import BuyingList, FilmBuying, WidthChoice, buying_list
from core.roll.model import RollPlan
from core.write.table import Cell, Table

TO_BUY, WIDTHS, RETAKES = "To buy", "Widths on offer", "Retakes"

_lists: Memory[BuyingList] = Memory(4)


def buying_table(plan: JobPlan, rolls: RollPlan) -> Table:
    """Return the table of what is to be bought: film in the shop's steps, and cutting tape."""
    buying = _buying(plan, rolls)
    head = (
        *("What", "Width (mm)", "Needed (mm)", "To buy (mm)"),
        *("Price a metre", "Price", "Currency"),
    )
    rows = [
        (film.name, *_bought(film.current, buying.currency))
        for film in buying.films
        if film.current.bought_mm
    ]
    tape_mm = tape_plan(plan).total_mm
    if tape_mm:
        per_m = plan.job.settings.tape_price_per_m
        amount = _money(tape_mm / 1000 * per_m, per_m)
        length = round(tape_mm, 1)
        rows.append(("cutting tape", "", length, length, per_m or "", amount, buying.currency))
    return Table(TO_BUY, head, tuple(rows))


def width_table(plan: JobPlan, rolls: RollPlan) -> Table:
    """Return the table of the widths on offer, of films that have a choice."""
    buying = _buying(plan, rolls)
    head = (
        *("Film", "Width (mm)", "Needed (mm)", "To buy (mm)"),
        *("Price a metre", "Price", "Currency", "Left over (mm)", "Laid out"),
        *("Compared price", "Compared as"),
    )
    rows = tuple(
        _width_row(film, choice, buying.currency)
        for film in buying.films
        if len(film.widths) > 1
        for choice in film.widths
    )
    return Table(WIDTHS, head, rows)


def retake_table(plan: JobPlan, rolls: RollPlan) -> Table:
    """Return the table of film against the retakes that it affords, hardest pieces first."""
    buying = _buying(plan, rolls)
    head = (
        *("Film", "Pieces", "Retakes", "Used of rolls (mm)", "Needed (mm)", "To buy (mm)"),
        *("Price", "Currency", "Planned"),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            *(film.name, point.pieces, point.retakes, round(point.used_mm, 1)),
            *(round(point.needed_mm, 1), round(point.bought_mm, 1)),
            *(_money(point.price, film.current.price_per_m), buying.currency),
            "yes" if point.is_planned else "",
        )
        for film in buying.films
        for point in film.curve
    )
    return Table(RETAKES, head, rows)


def _buying(plan: JobPlan, rolls: RollPlan) -> BuyingList:
    return _lists.recall((plan, rolls), None, lambda: buying_list(plan, rolls))


def _bought(choice: WidthChoice, currency: str) -> tuple[Cell, ...]:
    width = round(choice.width_mm, 1)
    per: Cell = choice.price_per_m or ""
    if choice.needed_mm is None:
        return width, "", "", per, "", currency
    lengths = round(choice.needed_mm, 1), round(choice.bought_mm, 1)
    return width, *lengths, per, _money(choice.price, choice.price_per_m), currency


def _width_row(film: FilmBuying, choice: WidthChoice, currency: str) -> tuple[Cell, ...]:
    left: Cell = round(choice.left_mm, 1) if choice.is_possible else "too narrow for a piece"
    compared: Cell = ""
    if choice.is_possible:
        compared = _money(film.compared_price(choice), choice.price_per_m)
    return (
        *(film.name, *_bought(choice, currency), left),
        "yes" if choice.is_current else "",
        compared,
        "packed" if film.is_packed else "laid out at once",
    )


def _money(amount: float, per_m: float) -> Cell:
    """Return a sum; nothing where there is no price."""
    return round(amount, 2) if per_m else ""

"""How much of each film the rolls take, against what is in stock: sums for the panes."""

from dataclasses import dataclass

from core.document.film import Film, Roll
from core.document.job import Job
from core.roll.costs import film_account
from core.roll.model import FilmRolls
from core.roll.rolls import RollReport
from core.roll.wording import told_mm


@dataclass(frozen=True, slots=True)
class FilmUse:
    """One film's lengths and price.

    Attributes:
        used_mm: length used of rolls as it is told, those to be bought and retakes included.
        job_mm: the same without retakes.
        stock_mm: length of all rolls on the shelf.
        buy_mm: length that the stock does not give.
        is_on_offcuts: whether pieces lie on offcuts.
        is_stuck: whether a piece fits on no roll of the film.
        has_failed: whether its pieces could not be laid out at all.
        cost: price of the film used, as in the costs; stock counts too.
    """

    used_mm: float
    job_mm: float
    stock_mm: float
    buy_mm: float
    is_on_offcuts: bool
    is_stuck: bool
    cost: float
    has_failed: bool = False


def film_uses(job: Job, report: RollReport | None) -> dict[str, FilmUse]:
    """Return the use of each film of the job; zero where nothing is laid out yet."""
    rolls = {f.film: f for f in report.rolls.films} if report else {}
    uses = {}
    for film in job.films:
        laid = rolls.get(film.id)  # type: ignore[call-overload]  # an id is a string
        missing = laid.missing if laid else ()
        uses[film.id] = FilmUse(
            used_mm=told_mm(laid.used_lengths_mm, job.units) if laid else 0.0,
            job_mm=told_mm(laid.job_lengths_mm, job.units) if laid else 0.0,
            stock_mm=stock_length_mm(film),
            buy_mm=sum(m.length_mm or 0.0 for m in missing),
            is_on_offcuts=bool(laid) and is_on_offcuts(laid),
            is_stuck=any(m.length_mm is None for m in missing),
            has_failed=bool(laid) and laid.has_failed,
            cost=film_account(job, laid).cost if laid else 0.0,
        )
    return uses


def is_on_offcuts(rolls: FilmRolls) -> bool:
    """Whether pieces of a film lie on offcuts."""
    return any(s.placements and s.sheet.kind == "offcut" for s in rolls.sheets)


def stock_length_mm(film: Film) -> float:
    """Return the length of all rolls of a film on the shelf; offcuts are not counted."""
    return sum(s.length_mm for s in film.stock if isinstance(s, Roll))

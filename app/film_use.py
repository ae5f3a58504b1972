"""How much of each film the rolls take, against what is in stock: sums for the panes."""

import math
from dataclasses import dataclass

from core.document.film import Film, Roll
from core.document.job import Job
from core.roll.model import FilmRolls
from core.roll.rolls import RollReport


@dataclass(frozen=True, slots=True)
class FilmUse:
    """One film's lengths and price.

    Attributes:
        used_mm: length used of rolls, those to be bought and retakes included.
        job_mm: the same without retakes.
        stock_mm: length of all rolls on the shelf.
        buy_mm: length that the stock does not give.
        is_on_offcuts: whether pieces lie on offcuts.
        is_stuck: whether a piece fits on no roll of the film.
        cost: price of the used length.
    """

    used_mm: float
    job_mm: float
    stock_mm: float
    buy_mm: float
    is_on_offcuts: bool
    is_stuck: bool
    cost: float


def film_uses(job: Job, report: RollReport | None) -> dict[str, FilmUse]:
    """Return the use of each film of the job; zero where nothing is laid out yet."""
    rolls = {f.film: f for f in report.rolls.films} if report else {}
    uses = {}
    for film in job.films:
        laid = rolls.get(film.id)  # type: ignore[call-overload]  # an id is a string
        used = laid.used_length_mm if laid else 0.0
        missing = laid.missing if laid else ()
        uses[film.id] = FilmUse(
            used_mm=used,
            job_mm=laid.job_length_mm if laid else 0.0,
            stock_mm=stock_length_mm(film),
            buy_mm=sum(m.length_mm or 0.0 for m in missing),
            is_on_offcuts=bool(laid) and is_on_offcuts(laid),
            is_stuck=any(m.length_mm is None for m in missing),
            cost=used / 1000.0 * film.price_per_m,
        )
    return uses


def is_on_offcuts(rolls: FilmRolls) -> bool:
    """Whether pieces of a film lie on offcuts."""
    return any(s.placements and s.sheet.kind == "offcut" for s in rolls.sheets)


def stock_length_mm(film: Film) -> float:
    """Return the length of all rolls of a film on the shelf; offcuts are not counted."""
    return sum(s.length_mm for s in film.stock if isinstance(s, Roll))


def metres(length_mm: float) -> str:
    """Return a length of roll as it is bought, in metres: never less than is needed.

    >>> metres(4211.0)
    '4.22 m'
    >>> metres(4220.0)
    '4.22 m'
    """
    return f"{math.ceil(length_mm / 10.0 - 1e-6) / 100.0:.2f} m"

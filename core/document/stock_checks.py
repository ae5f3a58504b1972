"""What must hold of stock, offers and choices in a job, beyond the types of their values."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from core.document.film import Offcut, Stock
from core.document.job import Job
from core.document.variant import Variant

_SLACK_MM = 0.5


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in a job that does not hold.

    Attributes:
        path: where in the file, such as ``$.panels[2].base_film``.
    """

    path: str
    what: str
    mend: str


def iter_stock_problems(job: Job) -> Iterator[Problem]:
    """Yield what does not hold of stock, of films that were cut, and of choices for pieces."""
    for i, film in enumerate(job.films):
        for j, stock in enumerate(film.stock):
            yield from _iter_of_stock(stock, f"$.films[{i}].stock[{j}]")
    for i, variant in enumerate(job.variants):
        yield from _iter_of_choices(variant, f"$.variants[{i}]")
    variants, films = {v.id for v in job.variants}, {f.id for f in job.films}
    for i, cut in enumerate(job.cuts):
        if cut.variant not in variants or cut.film not in films:
            yield Problem(
                f"$.cuts[{i}]",
                f"There is no film {cut.film} in a variant {cut.variant}.",
                "Name a film and a variant of the job.",
            )


def _iter_of_stock(stock: Stock, here: str) -> Iterator[Problem]:
    for j, damage in enumerate(stock.damaged):
        low, high = damage.low_mm or 0.0, damage.high_mm
        if damage.end_mm <= damage.start_mm or (high is not None and high <= low):
            yield Problem(
                f"{here}.damaged[{j}]",
                "A damaged stretch ends where it starts, or before.",
                "Give it an end behind its start.",
            )
    if isinstance(stock, Offcut) and stock.outline is not None:
        points = [p for ring in (stock.outline, *stock.openings) for p in ring]
        is_out = any(
            not (
                -_SLACK_MM <= x <= stock.length_mm + _SLACK_MM
                and -_SLACK_MM <= y <= stock.width_mm + _SLACK_MM
            )
            for x, y in points
        )
        if is_out:
            yield Problem(
                f"{here}.outline",
                "The outline of an offcut reaches beyond its length and width.",
                "Make length and width as large as the outline.",
            )


def _iter_of_choices(variant: Variant, here: str) -> Iterator[Problem]:
    counts = Counter(choice.piece for choice in variant.pieces)
    for piece in (p for p, n in counts.items() if n > 1):
        yield Problem(
            f"{here}.pieces", f"Two choices are made for the piece {piece}.", "Keep one."
        )
    for i, choice in enumerate(variant.pieces):
        if len({p.attempt for p in choice.pins}) < len(choice.pins):
            yield Problem(
                f"{here}.pieces[{i}].pins",
                "One try of a piece is pinned twice.",
                "Keep one pin.",
            )

"""Each width on offer packed for as long as the others, so that their lengths can be compared.

What is found is remembered by the fingerprint of its problem: it holds while pieces, stock and
grain are the same, whatever else is edited.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from msgspec.structs import replace

from core.document.edits.films import choose_width
from core.document.edits.nests import keep_nest
from core.document.film import Film, Offer, Stock
from core.document.job import Job
from core.ids import FilmId
from core.plan.model import JobPlan
from core.progress import Part, Progress, Step
from core.roll.kept import nest_of
from core.roll.model import FilmRolls, RollPlan
from core.roll.problem import FilmProblem, film_problem
from core.roll.rolls import tightened
from core.roll.sheets import laid_at_once, settled
from core.roll.shop import offers_of
from core.roll.stock import stock_width_mm
from core.roll.tightening import Clock
from core.roll.wording import length_to_buy
from core.units import format_length


@dataclass(frozen=True, slots=True)
class PackedWidth:
    """The best layout that a search found for a film at one width.

    Attributes:
        fingerprint: of the problem that it answers.
        seconds: how long the search could take.
    """

    film: FilmId
    width_mm: float
    fingerprint: str
    rolls: FilmRolls
    seconds: float


def has_choice(plan: JobPlan, rolls: RollPlan) -> bool:
    """Return whether a film of which something is needed is on offer at several widths."""
    return any(True for _ in _films_with_choice(plan, rolls))


def pack_widths(
    plan: JobPlan, rolls: RollPlan, seconds: float, progress: Progress
) -> Iterator[PackedWidth]:
    """Yield the packed layout of each width on offer, of all films that have a choice.

    A width that is too narrow for a piece is passed over. Where the work is stopped, the width
    in hand is not yielded: it had less time than the others.

    Args:
        plan: what is to be laid.
        rolls: how it is laid; the width that is laid out starts from there.
        seconds: for each width.
        progress: hears which width is packed, and how short it is so far.
    """
    tasks = [
        (film, laid, offer)
        for film, laid in _films_with_choice(plan, rolls)
        for offer in offers_of(film)
    ]
    for k, (film, laid, offer) in enumerate(tasks):
        problem = width_problem(plan, film, offer)
        is_laid = offer.width_mm == film.roll_width_mm
        start = laid if is_laid else laid_at_once(problem)
        if any(m.length_mm is None for m in start.missing):
            continue
        part = Part(progress, "", k / len(tasks), (k + 1) / len(tasks))
        found = _packed(plan, problem, start, seconds, part)
        if progress.is_cancelled():
            return
        yield PackedWidth(problem.film_id, offer.width_mm, problem.fingerprint, found, seconds)


def width_problem(plan: JobPlan, film: Film, offer: Offer) -> FilmProblem:
    """Return the film's problem should what is bought have the width on offer."""
    if offer.width_mm == film.roll_width_mm:
        return settled(film_problem(plan, film))
    stock: tuple[Stock, ...] = tuple(
        replace(s, width_mm=stock_width_mm(s, film)) for s in film.stock
    )
    other = replace(
        film, roll_width_mm=offer.width_mm, price_per_m=offer.price_per_m, stock=stock
    )
    return settled(film_problem(plan, other))


def with_packed(plan: JobPlan, rolls: RollPlan, found: PackedWidth) -> RollPlan:
    """Return rolls with what was packed at the width that is laid out, where it is shorter."""
    laid = next(f for f in rolls.films if f.film == found.film)
    is_laid_out = plan.job.film(found.film).roll_width_mm == found.width_mm
    if not is_laid_out or found.rolls.to_buy_mm >= laid.to_buy_mm:
        return rolls
    return RollPlan(tuple(found.rolls if f is laid else f for f in rolls.films))


def take_width(
    plan: JobPlan, film: str, width_mm: float, packed: Mapping[str, PackedWidth]
) -> Job:
    """Lay a film out on another width on offer, and keep what was packed there, if anything.

    Raises:
        EditRefused: that width is not on offer.
    """
    job = choose_width(plan.job, film, width_mm)
    problem = settled(film_problem(plan, job.film(film)))
    found = packed.get(problem.fingerprint)
    return job if found is None else keep_nest(job, nest_of(plan, problem, found.rolls))


def _films_with_choice(plan: JobPlan, rolls: RollPlan) -> Iterator[tuple[Film, FilmRolls]]:
    for laid in rolls.films:
        film = plan.job.film(laid.film)
        if laid.is_needed and len(offers_of(film)) > 1:
            yield film, laid


def _packed(
    plan: JobPlan, problem: FilmProblem, start: FilmRolls, seconds: float, progress: Progress
) -> FilmRolls:
    """Return the shortest layout found in the time; at once where nothing is to be bought."""
    film = problem.film
    name = f"{film.name}, {format_length(film.roll_width_mm, plan.job.units)} wide"
    if not start.to_buy_mm:
        return start
    clock = Clock(seconds, progress.is_cancelled)

    def tell(rolls: FilmRolls) -> None:
        length = f"{length_to_buy(rolls.to_buy_mm, plan.job.units)} to buy so far"
        progress.tell(Step(f"{name}: {length}", 1.0 - clock.left / seconds))

    tell(start)
    return tightened(problem, start, clock, tell)[0]

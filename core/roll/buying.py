"""What to buy: of each film the length at each width on offer, its price, what it leaves."""

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from msgspec.structs import replace

from core.document.film import Film, Offer, Stock
from core.errors import Cancelled
from core.ids import FilmId
from core.plan.model import JobPlan
from core.roll.model import FilmRolls, Item, RollPlan
from core.roll.problem import BUY, FilmProblem, film_problem
from core.roll.retakes import first_tries, lay_behind
from core.roll.sheets import assemble, quick_rolls, settled, without_retakes
from core.roll.shop import bought_mm, offers_of
from core.roll.stock import stock_width_mm

_CURVE_POINTS = 8


@dataclass(frozen=True, slots=True)
class WidthChoice:
    """One width that a film can be bought at.

    Attributes:
        needed_mm: length to buy, as laid out; None where a piece is too wide for it.
        bought_mm: the same in the shop's steps.
        left_mm: what the bought length leaves over, at full width.
        is_current: whether it is the width that the rolls are laid out on.
    """

    width_mm: float
    price_per_m: float
    needed_mm: float | None
    bought_mm: float
    price: float
    left_mm: float
    is_current: bool

    @property
    def is_possible(self) -> bool:
        """Whether all pieces fit."""
        return self.needed_mm is not None


@dataclass(frozen=True, slots=True)
class TriesPoint:
    """How much must be bought for so many retakes.

    Attributes:
        retakes: how many; the hardest pieces come first.
        pieces: how many pieces there are.
        used_mm: length of roll for job and retakes, in stock or not.
        needed_mm, bought_mm: to buy, as laid out, and in the shop's steps.
        is_planned: whether it is the number of retakes that is planned.
    """

    retakes: int
    pieces: int
    used_mm: float
    needed_mm: float
    bought_mm: float
    price: float
    is_planned: bool


@dataclass(frozen=True, slots=True)
class FilmBuying:
    """One film: what the job takes, what the shelf gives, what is to be bought.

    Attributes:
        job_mm, with_retakes_mm: length of roll that the job takes.
        on_shelf_mm: length of its rolls in stock.
        widths: the widths on offer, narrowest first.
        curve: film bought against retakes that it affords.
        is_stuck: whether a piece fits nowhere.
    """

    film: FilmId
    name: str
    job_mm: float
    with_retakes_mm: float
    on_shelf_mm: float
    offcuts_used: int
    widths: tuple[WidthChoice, ...]
    curve: tuple[TriesPoint, ...]
    is_stuck: bool

    @property
    def current(self) -> WidthChoice:
        """The width that the rolls are laid out on."""
        return next(w for w in self.widths if w.is_current)

    @property
    def cheapest(self) -> WidthChoice | None:
        """The width that costs least; None where it has no price, or no width does.

        Of equal prices the width that is laid out stays.
        """
        possible = [w for w in self.widths if w.is_possible]
        if not possible or not all(w.price_per_m for w in possible):
            return None
        return min(possible, key=lambda w: (round(w.price, 6), not w.is_current, w.width_mm))


@dataclass(frozen=True, slots=True)
class BuyingList:
    """What to buy for a plan; films of which nothing is needed are left out."""

    films: tuple[FilmBuying, ...]
    currency: str

    @property
    def price(self) -> float:
        """Price of all films at the widths that are laid out."""
        return sum(f.current.price for f in self.films)

    @property
    def least_price(self) -> float:
        """Price of all films, each at its cheapest width."""
        return sum((f.cheapest or f.current).price for f in self.films)


def buying_list(
    plan: JobPlan, rolls: RollPlan, is_cancelled: Callable[[], bool] = lambda: False
) -> BuyingList:
    """Return what to buy for the rolls of a plan.

    The width that is laid out counts as it is laid, however well it was packed; other widths
    are laid out quickly, stock first as always.

    Raises:
        Cancelled: ``is_cancelled``, asked before each layout, said so.
    """

    def go_on() -> None:
        if is_cancelled():
            raise Cancelled("What to buy is not wanted any more.")

    laid = {f.film: f for f in rolls.films}
    films = tuple(
        _film_buying(plan, film, laid[FilmId(film.id)], go_on)
        for film in plan.job.films
        if FilmId(film.id) in laid and _is_needed(laid[FilmId(film.id)])
    )
    return BuyingList(films, plan.job.currency)


def _is_needed(rolls: FilmRolls) -> bool:
    return bool(rolls.missing) or any(s.placements for s in rolls.sheets)


def _film_buying(
    plan: JobPlan, film: Film, rolls: FilmRolls, go_on: Callable[[], None]
) -> FilmBuying:
    problem = settled(film_problem(plan, film))
    offcuts = [s for s in rolls.sheets if s.sheet.kind == "offcut" and s.placements]
    return FilmBuying(
        film=rolls.film,
        name=film.name,
        job_mm=rolls.job_length_mm,
        with_retakes_mm=rolls.used_length_mm,
        on_shelf_mm=sum(s.length_mm or 0.0 for s in problem.stock if s.kind == "roll"),
        offcuts_used=len(offcuts),
        widths=tuple(_width(plan, film, rolls, offer, go_on) for offer in offers_of(film)),
        curve=_curve(problem, rolls, go_on),
        is_stuck=any(m.length_mm is None for m in rolls.missing),
    )


def _width(
    plan: JobPlan, film: Film, rolls: FilmRolls, offer: Offer, go_on: Callable[[], None]
) -> WidthChoice:
    go_on()
    is_current = offer.width_mm == film.roll_width_mm
    laid = rolls if is_current else quick_rolls(_at_width(plan, film, offer))
    needed = _to_buy(laid)
    bought = bought_mm(film, needed)
    is_possible = not any(m.length_mm is None for m in laid.missing)
    return WidthChoice(
        width_mm=offer.width_mm,
        price_per_m=offer.price_per_m,
        needed_mm=needed if is_possible else None,
        bought_mm=bought,
        price=bought / 1000.0 * offer.price_per_m,
        left_mm=bought - needed,
        is_current=is_current,
    )


def _at_width(plan: JobPlan, film: Film, offer: Offer) -> FilmProblem:
    """Return the film's problem should what is bought have another width."""
    stock: tuple[Stock, ...] = tuple(
        replace(s, width_mm=stock_width_mm(s, film)) for s in film.stock
    )
    other = replace(
        film, roll_width_mm=offer.width_mm, price_per_m=offer.price_per_m, stock=stock
    )
    return settled(film_problem(plan, other))


def _to_buy(rolls: FilmRolls) -> float:
    return sum((s.used_length_mm for s in rolls.sheets if s.sheet.id == BUY), 0.0)


def _curve(
    problem: FilmProblem, rolls: FilmRolls, go_on: Callable[[], None]
) -> tuple[TriesPoint, ...]:
    """Return film to buy against retakes, from none up to one more of every piece."""
    job = first_tries(problem)
    firsts = [i for i in problem.items if i.attempt == 1]
    if not firsts:
        return ()
    start = without_retakes(job, rolls)
    order = _by_difficulty(problem, firsts)
    planned = len(problem.items) - len(firsts)
    points = []
    for count in _counts(len(firsts), planned):
        go_on()
        laid = rolls
        if count != planned:
            retakes = _retakes(problem, order, count)
            laid = assemble(problem, lay_behind(problem, start.sheets, retakes))
        needed = _to_buy(laid)
        bought = bought_mm(problem.film, needed)
        points.append(
            TriesPoint(
                retakes=count,
                pieces=len(firsts),
                used_mm=laid.used_length_mm,
                needed_mm=needed,
                bought_mm=bought,
                price=bought / 1000.0 * problem.film.price_per_m,
                is_planned=count == planned,
            )
        )
    return _never_more_for_fewer(points)


def _never_more_for_fewer(points: list[TriesPoint]) -> tuple[TriesPoint, ...]:
    """Let a layout of more retakes stand for fewer where it happens to be shorter."""
    found: list[TriesPoint] = []
    for point in reversed(points):
        shorter = found[-1] if found and found[-1].used_mm < point.used_mm else None
        if shorter is not None and not point.is_planned:
            found.append(dataclasses.replace(shorter, retakes=point.retakes, is_planned=False))
        else:
            found.append(point)
    return tuple(reversed(found))


def _counts(pieces: int, planned: int) -> list[int]:
    """Return numbers of retakes to lay out: evenly spread, with the planned one among them."""
    step = max(1.0, pieces / _CURVE_POINTS)
    spread = {round(i * step) for i in range(_CURVE_POINTS + 1)}
    return sorted({planned, pieces, *(n for n in spread if n <= max(pieces, planned))})


def _by_difficulty(problem: FilmProblem, firsts: list[Item]) -> list[Item]:
    """Return pieces in the order in which retakes are worth having: hard, then large."""
    tries = {i.piece: 0 for i in firsts}
    for item in problem.items:
        tries[item.piece] = max(tries.get(item.piece, 0), item.attempt)
    return sorted(firsts, key=lambda i: (-tries[i.piece], -i.polygon.area, i.piece))


def _retakes(problem: FilmProblem, order: list[Item], count: int) -> list[Item]:
    """Return so many retakes, round by round through the pieces."""
    held = {pin.placement.item.key for pin in problem.pinned}
    found: list[Item] = []
    attempt = 2
    while len(found) < count:
        wanted = count - len(found)
        found += [_again(i, attempt) for i in order[:wanted] if (i.piece, attempt) not in held]
        attempt += 1
    return found


def _again(item: Item, attempt: int) -> Item:
    return Item(
        item.piece,
        attempt,
        item.panel,
        item.label,
        item.polygon,
        item.angles_deg,
        item.is_blank,
    )

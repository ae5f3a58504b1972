"""What to buy: of each film the length at each width on offer, its price, what it leaves.

Lengths are compared like with like: either every width as it is laid out at once, or, once all
were packed for as long (``width_search``), every width as it was packed.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from core.document.film import Film, Offer
from core.errors import Cancelled
from core.ids import FilmId
from core.plan.model import JobPlan
from core.roll.model import FilmRolls, RollPlan
from core.roll.problem import film_problem
from core.roll.sheets import laid_at_once, settled
from core.roll.shop import bought_mm, offers_of
from core.roll.tries_curve import TriesPoint, tries_curve
from core.roll.width_search import PackedWidth, width_problem

_WORTH_MM = 1e-3


@dataclass(frozen=True, slots=True)
class WidthChoice:
    """One width that a film can be bought at.

    Attributes:
        needed_mm: length to buy, as laid out; None where a piece is too wide for it.
        bought_mm: the same in the shop's steps.
        left_mm: what the bought length leaves over, at full width.
        is_current: whether it is the width that the rolls are laid out on.
        at_once_price: what it costs as it is laid out at once.
        packed_price: what it costs as it was packed; None where it was not.
        has_failed: whether the pieces could not be laid out at all.
    """

    width_mm: float
    price_per_m: float
    needed_mm: float | None
    bought_mm: float
    price: float
    left_mm: float
    is_current: bool
    at_once_price: float
    packed_price: float | None = None
    has_failed: bool = False

    @property
    def is_possible(self) -> bool:
        """Whether all pieces fit."""
        return self.needed_mm is not None


@dataclass(frozen=True, slots=True)
class FilmBuying:
    """One film: what the job takes, what the shelf gives, what is to be bought.

    Attributes:
        job_lengths_mm: what the job takes of each roll, and is to be bought of it.
        used_lengths_mm: the same with its retakes.
        on_shelf_mm: length of its rolls in stock.
        widths: the widths on offer, narrowest first.
        curve: film bought against retakes that it affords.
        is_stuck: whether a piece fits nowhere.
    """

    film: FilmId
    name: str
    job_lengths_mm: tuple[float, ...]
    used_lengths_mm: tuple[float, ...]
    on_shelf_mm: float
    offcuts_used: int
    widths: tuple[WidthChoice, ...]
    curve: tuple[TriesPoint, ...]
    is_stuck: bool

    @property
    def job_mm(self) -> float:
        """Length of roll that the job takes."""
        return sum(self.job_lengths_mm)

    @property
    def with_retakes_mm(self) -> float:
        """Length of roll that the job takes with its retakes."""
        return sum(self.used_lengths_mm)

    @property
    def current(self) -> WidthChoice:
        """The width that the rolls are laid out on."""
        return next(w for w in self.widths if w.is_current)

    @property
    def has_choice(self) -> bool:
        """Whether several widths are possible, and something must be bought at one of them."""
        possible = [w for w in self.widths if w.is_possible]
        return len(possible) > 1 and any(w.bought_mm for w in possible)

    @property
    def is_packed(self) -> bool:
        """Whether every width that is possible was packed, so that packed lengths compare."""
        possible = [w for w in self.widths if w.is_possible]
        return bool(possible) and all(w.packed_price is not None for w in possible)

    @property
    def is_mixed(self) -> bool:
        """Whether some widths were packed and others not: these are compared as at once."""
        return not self.is_packed and any(w.packed_price is not None for w in self.widths)

    def compared_price(self, width: WidthChoice) -> float:
        """Return the price by which a width is compared with the others."""
        packed = width.packed_price
        return packed if self.is_packed and packed is not None else width.at_once_price

    @property
    def cheapest(self) -> WidthChoice | None:
        """The width that costs least; None where it has no price, or no width does.

        Of equal prices the width that is laid out stays.
        """
        possible = [w for w in self.widths if w.is_possible]
        if not possible or not all(w.price_per_m for w in possible):
            return None
        return min(
            possible,
            key=lambda w: (round(self.compared_price(w), 6), not w.is_current, w.width_mm),
        )

    @property
    def saved(self) -> float:
        """How much less the cheapest width costs than the one that is laid out."""
        best = self.cheapest
        if best is None or not self.current.is_possible:
            return 0.0
        return self.compared_price(self.current) - self.compared_price(best)


@dataclass(frozen=True, slots=True)
class BuyingList:
    """What to buy for a plan; films of which nothing is needed are left out."""

    films: tuple[FilmBuying, ...]
    currency: str

    @property
    def unmade(self) -> tuple[FilmBuying, ...]:
        """Films whose width is too narrow for a piece: what is laid out is no whole job."""
        return tuple(f for f in self.films if not f.current.is_possible)

    @property
    def price(self) -> float:
        """Price at the widths that are laid out, of all films that can be made so."""
        return sum(f.current.price for f in self.films if f.current.is_possible)

    @property
    def least_price(self) -> float:
        """Price of the same films, each at its cheapest width."""
        return self.price - sum(f.saved for f in self.films)


def buying_list(
    plan: JobPlan,
    rolls: RollPlan,
    is_cancelled: Callable[[], bool] = lambda: False,
    packed: Mapping[str, PackedWidth] | None = None,
) -> BuyingList:
    """Return what to buy for the rolls of a plan.

    The width that is laid out counts as it is laid, however well it was packed; other widths
    as they were packed, else as they are laid out at once, stock first as always.

    Args:
        plan: what is to be laid.
        rolls: how it is laid.
        is_cancelled: asked before each layout.
        packed: what a search over the widths found, by fingerprint; those of other plans wait.

    Raises:
        Cancelled: ``is_cancelled`` said so.
    """

    def go_on() -> None:
        if is_cancelled():
            raise Cancelled("What to buy is not wanted any more.")

    laid = {f.film: f for f in rolls.films}
    films = tuple(
        _film_buying(plan, film, laid[FilmId(film.id)], packed or {}, go_on)
        for film in plan.job.films
        if FilmId(film.id) in laid and laid[FilmId(film.id)].is_needed
    )
    return BuyingList(films, plan.job.currency)


def _film_buying(
    plan: JobPlan,
    film: Film,
    rolls: FilmRolls,
    packed: Mapping[str, PackedWidth],
    go_on: Callable[[], None],
) -> FilmBuying:
    problem = settled(film_problem(plan, film))
    offcuts = [s for s in rolls.sheets if s.sheet.kind == "offcut" and s.placements]
    return FilmBuying(
        film=rolls.film,
        name=film.name,
        job_lengths_mm=rolls.job_lengths_mm,
        used_lengths_mm=rolls.used_lengths_mm,
        on_shelf_mm=sum(s.length_mm or 0.0 for s in problem.stock if s.kind == "roll"),
        offcuts_used=len(offcuts),
        widths=tuple(
            _width(plan, film, rolls, offer, packed, go_on) for offer in offers_of(film)
        ),
        curve=() if rolls.has_failed else tries_curve(problem, rolls, go_on),
        is_stuck=any(m.length_mm is None for m in rolls.missing),
    )


def _width(
    plan: JobPlan,
    film: Film,
    rolls: FilmRolls,
    offer: Offer,
    packed: Mapping[str, PackedWidth],
    go_on: Callable[[], None],
) -> WidthChoice:
    go_on()
    is_current = offer.width_mm == film.roll_width_mm
    problem = width_problem(plan, film, offer)
    at_once = laid_at_once(problem)
    known = packed.get(problem.fingerprint)
    found = known.rolls if known else None
    if is_current:
        laid = rolls
        if found is None or rolls.to_buy_mm < found.to_buy_mm:
            is_shorter = rolls.to_buy_mm < at_once.to_buy_mm - _WORTH_MM
            found = rolls if found is not None or is_shorter else None
    else:
        laid = found or at_once
    needed = laid.to_buy_mm
    bought = bought_mm(film, needed)
    is_possible = not any(m.length_mm is None for m in laid.missing)
    return WidthChoice(
        width_mm=offer.width_mm,
        price_per_m=offer.price_per_m,
        needed_mm=needed if is_possible else None,
        bought_mm=bought,
        price=_price(film, laid, offer),
        left_mm=bought - needed,
        is_current=is_current,
        at_once_price=_price(film, at_once, offer),
        packed_price=None if found is None else _price(film, found, offer),
        has_failed=laid.has_failed,
    )


def _price(film: Film, rolls: FilmRolls, offer: Offer) -> float:
    return bought_mm(film, rolls.to_buy_mm) / 1000.0 * offer.price_per_m

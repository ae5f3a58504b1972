"""What the film of a job costs: pieces, waste, retakes and tape, per panel and whole.

*Film used* is counted at its price by area, whether it is bought for the job or lay on the
shelf; what goes back on the shelf costs nothing. Waste is shared out by the areas of the
pieces. What the shop is to be paid now is another sum: *to buy* (``buying.py``).
"""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

from core.document.film import Film
from core.document.job import Job
from core.ids import CopyId, FilmId
from core.plan.memory import Memory
from core.plan.model import JobPlan
from core.plan.tape_plan import tape_plan
from core.roll.model import FilmRolls, RollPlan, Sheet, SheetPlan
from core.roll.problem import BUY
from core.roll.remainders import Remains, remains_of
from core.roll.shop import bought_mm, offers_of

_SAME_WIDTH_MM = 0.5


@dataclass(frozen=True, slots=True)
class CostRow:
    """Money for one panel, or for the whole job.

    Attributes:
        panel: None for what belongs to all.
        film: the pieces themselves, each once.
        waste: film that is neither piece nor kept.
        retakes: film of second and further tries, should all be needed.
    """

    panel: CopyId | None
    name: str
    film: float
    waste: float
    retakes: float
    tape: float

    @property
    def job(self) -> float:
        """All but retakes."""
        return self.film + self.waste + self.tape

    @property
    def film_used(self) -> float:
        """Film that does not go back on the shelf: pieces, waste and retakes."""
        return self.film + self.waste + self.retakes

    @property
    def total(self) -> float:
        """All, with retakes."""
        return self.job + self.retakes


@dataclass(frozen=True, slots=True)
class FilmAccount:
    """One film's areas, in mm²: pieces, retakes, waste and what is left add up to the stock.

    Attributes:
        stock_mm2: the sheets that are cut, all of each; of film to buy, what is bought.
        left_mm2: what stays on rolls, and offcuts worth keeping.
        cost: price of the film used: of all that is not left.
    """

    film: FilmId
    name: str
    stock_mm2: float
    pieces_mm2: float
    retakes_mm2: float
    waste_mm2: float
    left_mm2: float
    cost: float


@dataclass(frozen=True, slots=True)
class CostTable:
    """The costs of a plan.

    Attributes:
        rows: one a panel that has pieces, in the plan's order.
        total: all of it.
        films: areas of each film that is cut.
        tape_mm: cutting tape, all runs with their tails.
    """

    rows: tuple[CostRow, ...]
    total: CostRow
    films: tuple[FilmAccount, ...]
    tape_mm: float
    currency: str


def costs(plan: JobPlan, rolls: RollPlan) -> CostTable:
    """Return what the film and tape of a plan cost as its rolls are laid."""
    film: dict[CopyId, float] = defaultdict(float)
    waste: dict[CopyId, float] = defaultdict(float)
    retakes: dict[CopyId, float] = defaultdict(float)
    accounts = []
    for laid in rolls.films:
        if not any(s.placements for s in laid.sheets):
            continue
        own = _film_costs(plan.job, laid)
        accounts.append(own.account)
        for panel in own.film:
            film[panel] += own.film[panel]
            waste[panel] += own.waste[panel]
            retakes[panel] += own.retakes[panel]
    per_m = plan.job.settings.tape_price_per_m
    tape = tape_plan(plan)
    rows = tuple(
        CostRow(
            panel=p.id,
            name=p.name,
            film=film[p.id],
            waste=waste[p.id],
            retakes=retakes[p.id],
            tape=sum(run.total_mm for run in tape.of_panel(p.id)) / 1000.0 * per_m,
        )
        for p in plan.panels
        if p.pieces
    )
    return CostTable(rows, _sum(rows), tuple(accounts), tape.total_mm, plan.job.currency)


def film_remains(
    job: Job, rolls: FilmRolls, *, has_retakes: bool = True
) -> tuple[tuple[SheetPlan, Remains], ...]:
    """Return the sheets of a film that are cut, with what is left of each."""
    film = job.film(rolls.film)
    keep = job.settings.keep_from_mm
    found = []
    for sheet in rolls.sheets:
        if not any(has_retakes or p.item.attempt == 1 for p in sheet.placements):
            continue
        is_bought = sheet.sheet.id == BUY
        bought = bought_mm(film, sheet.used_length_mm) if is_bought else 0.0
        left = remains_of(sheet, keep, has_retakes=has_retakes, bought_mm=bought)
        found.append((sheet, left))
    return tuple(found)


def price_per_m2(film: Film, sheet: Sheet) -> float:
    """Return what a square metre of a sheet costs by the metre of a roll.

    A roll costs what the shop asks for its width; offcuts, and rolls of a width without a
    price, what the film's own width costs.
    """
    is_roll = sheet.kind == "roll"
    for offer in offers_of(film) if is_roll else ():
        if offer.price_per_m and abs(offer.width_mm - sheet.width_mm) < _SAME_WIDTH_MM:
            return offer.price_per_m / (offer.width_mm / 1000.0)
    return film.price_per_m / (film.roll_width_mm / 1000.0)


def film_account(job: Job, rolls: FilmRolls) -> FilmAccount:
    """Return what is used of a film, and what that costs."""
    return _film_costs(job, rolls).account


@dataclass(frozen=True, slots=True)
class _FilmCosts:
    account: FilmAccount
    film: dict[CopyId, float]
    waste: dict[CopyId, float]
    retakes: dict[CopyId, float]


_known: Memory[_FilmCosts] = Memory(64)


def _film_costs(job: Job, rolls: FilmRolls) -> _FilmCosts:
    keep = job.settings.keep_from_mm
    return _known.recall((job.film(rolls.film), rolls), keep, lambda: _worked_out(job, rolls))


def _worked_out(job: Job, rolls: FilmRolls) -> _FilmCosts:
    film = job.film(rolls.film)
    left = film_remains(job, rolls)
    own = [r for _, r in left]
    bare = film_remains(job, rolls, has_retakes=False)
    firsts: dict[CopyId, float] = defaultdict(float)
    again: dict[CopyId, float] = defaultdict(float)
    for sheet in rolls.sheets:
        per_mm2 = price_per_m2(film, sheet.sheet) / 1e6
        for item in (p.item for p in sheet.placements):
            amount = item.polygon.area * per_mm2
            (firsts if item.attempt == 1 else again)[item.panel] += amount
    waste = _money(film, bare, lambda r: r.waste_mm2)
    cost = _money(film, left, lambda r: r.consumed_mm2)
    more = cost - _money(film, bare, lambda r: r.consumed_mm2)
    panels = {*firsts, *again}
    account = FilmAccount(
        film=rolls.film,
        name=film.name,
        stock_mm2=sum(r.stock_mm2 for r in own),
        pieces_mm2=sum(r.pieces_mm2 for r in own),
        retakes_mm2=sum(r.retakes_mm2 for r in own),
        waste_mm2=sum(r.waste_mm2 for r in own),
        left_mm2=sum(r.kept_mm2 + r.roll_left_mm2 for r in own),
        cost=cost,
    )
    return _FilmCosts(
        account,
        film={p: firsts[p] for p in panels},
        waste=_shared(waste, firsts, panels),
        retakes=_shared(more, again, panels),
    )


def _money(
    film: Film,
    remains: tuple[tuple[SheetPlan, Remains], ...],
    area_mm2: Callable[[Remains], float],
) -> float:
    """Return what an area of each sheet costs, all together."""
    return sum(area_mm2(r) * price_per_m2(film, s.sheet) / 1e6 for s, r in remains)


def _shared(
    whole: float, areas: dict[CopyId, float], panels: set[CopyId]
) -> dict[CopyId, float]:
    """Share a sum out by what the pieces of each panel cost."""
    total = sum(areas[p] for p in panels)
    return {p: whole * areas[p] / total if total else 0.0 for p in panels}


def _sum(rows: tuple[CostRow, ...]) -> CostRow:
    return CostRow(
        panel=None,
        name="Whole job",
        film=sum(r.film for r in rows),
        waste=sum(r.waste for r in rows),
        retakes=sum(r.retakes for r in rows),
        tape=sum(r.tape for r in rows),
    )

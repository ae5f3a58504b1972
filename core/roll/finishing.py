"""What becomes of stock when a film is cut: shorter rolls, new offcuts, what is used up.

It is a list of changes for the shelf, to be shown and agreed to; nothing is changed here.
"""

from msgspec.structs import replace

from core.document.accepted_nest import FilmCut
from core.document.edits.accept import accept
from core.document.edits.nests import keep_nest
from core.document.film import DamagedStretch, Film, Offcut, Roll, Stock
from core.document.job import Job
from core.document.shelf import ShelfChange
from core.ids import FilmId
from core.plan.model import JobPlan
from core.roll.costs import film_remains
from core.roll.kept import kept_nests
from core.roll.model import FilmRolls, RollPlan, SheetPlan
from core.roll.problem import BUY
from core.roll.remainders import Remains, offcut_of
from core.roll.sheets import settled_problems
from core.roll.wording import length_on_hand, width_text
from core.units import Units


def changes_when_cut(
    plan: JobPlan, rolls: FilmRolls, *, has_retakes: bool = False
) -> tuple[ShelfChange, ...]:
    """Return what cutting a film does to the shelf.

    Rolls get shorter, offcuts that are cut are gone, and what is worth keeping comes anew: of
    offcuts, of film beside the pieces, and of rolls that were bought. Stock that the job did
    not take from the shelf comes onto it, too.

    Args:
        plan: whose film is cut.
        rolls: as the film is laid.
        has_retakes: whether the retakes were cut as well.
    """
    job = plan.job
    film = job.film(rolls.film)
    stock = {s.id: s for s in film.stock}
    changes: list[ShelfChange] = []
    for sheet, left in film_remains(job, rolls, has_retakes=has_retakes):
        changes += _of_sheet(film, stock.get(sheet.sheet.id), sheet, left, job)
    return tuple(changes)


def mark_cut(plan: JobPlan, rolls: RollPlan, film: FilmId, day: str) -> Job:
    """Return the job with the layout of a film kept, and the film marked as cut."""
    job = plan.job
    variant = plan.variant.id
    for nest in kept_nests(plan, rolls):
        if nest.film == film:
            job = keep_nest(job, nest)
    problem = next(p for p in settled_problems(plan) if p.film_id == film)
    cut = accept(FilmCut(variant=variant, film=film, fingerprint=problem.fingerprint, day=day))
    others = tuple(c for c in job.cuts if (c.variant, c.film) != (variant, film))
    return replace(job, cuts=(*others, cut))


def _of_sheet(
    film: Film, stock: Stock | None, sheet: SheetPlan, left: Remains, job: Job
) -> list[ShelfChange]:
    place = stock.shelf if stock is not None else None
    name = "the roll to buy" if sheet.sheet.id == BUY else f"{sheet.sheet.kind} {left.sheet}"
    found: list[ShelfChange] = []
    if left.roll_left_mm > 0:
        roll = _shorter(stock, sheet, left)
        whither = "" if place is not None else ", which comes onto the shelf"
        length = length_on_hand(left.roll_left_mm, job.units)
        text = f"{name}: {length} stay on it{whither}"
        found.append(ShelfChange(film, place, roll, text))
    elif place is not None:
        found.append(ShelfChange(film, place, None, f"{name}: used up"))
    for shape in left.kept:
        offcut = offcut_of(shape, "k1", f"from {job.name}"[:200])
        text = f"new on the shelf: {_size(offcut, job.units)} from {name}"
        found.append(ShelfChange(film, None, offcut, text))
    return found


def _size(offcut: Offcut, units: Units) -> str:
    length, width = (width_text(v, units) for v in (offcut.length_mm, offcut.width_mm))
    kind = "offcut" if offcut.outline is None else "shaped offcut"
    return f"{kind}, {length} × {width},"


def _shorter(stock: Stock | None, sheet: SheetPlan, left: Remains) -> Roll:
    """Return what stays on a roll, with the damage that is still to come."""
    width = sheet.sheet.width_mm
    if not isinstance(stock, Roll):
        return Roll(id="r1", length_mm=left.roll_left_mm, width_mm=width, is_opened=True)
    gone = stock.length_mm - left.roll_left_mm
    return replace(
        stock,
        length_mm=left.roll_left_mm,
        width_mm=width,
        is_opened=True,
        damaged=tuple(_moved(d, gone) for d in stock.damaged if d.end_mm > gone),
    )


def _moved(damage: DamagedStretch, by_mm: float) -> DamagedStretch:
    start = max(damage.start_mm - by_mm, 0.0)
    return replace(damage, start_mm=start, end_mm=damage.end_mm - by_mm)

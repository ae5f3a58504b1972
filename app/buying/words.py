"""How sums of money and lengths of film are said in the buying window."""

from app.money_text import money_text
from core.roll.buying import BuyingList, FilmBuying, WidthChoice
from core.roll.wording import length_on_hand, length_to_buy, told_mm
from core.units import Units, format_length
from core.write.wording import joined


def film_text(film: FilmBuying, units: Units) -> str:
    """Say in one line what a film's job takes, and what is there of it."""
    if film.current.has_failed:
        return "Its pieces could not be laid out: see Review"
    if not film.with_retakes_mm:
        return "From offcuts alone" if film.offcuts_used else "Nothing of it lies on a roll"
    taken = f"Job {length_to_buy(told_mm(film.job_lengths_mm, units), units)}"
    if film.with_retakes_mm > film.job_mm + 0.5:
        whole = told_mm(film.used_lengths_mm, units)
        taken += f"; with retakes {length_to_buy(whole, units)}"
    there = length_on_hand(film.on_shelf_mm, units)
    stock = f"{there} on rolls in stock" if film.on_shelf_mm else "no roll in stock"
    cut = f", {film.offcuts_used} offcuts used" if film.offcuts_used > 1 else ""
    cut = ", 1 offcut used" if film.offcuts_used == 1 else cut
    return f"{taken} · {stock}{cut}"


def width_text(choice: WidthChoice, units: Units) -> str:
    """Return a roll width as the shop says it."""
    return f"{format_length(choice.width_mm, units)} wide"


def choice_text(choice: WidthChoice, units: Units, *, is_mixed: bool = False) -> str:
    """Say what must be bought at one width, and what that leaves over.

    Where some widths were packed and others not, it says which one was.
    """
    if choice.has_failed:
        return "could not be laid out"
    if not choice.is_possible:
        return "too narrow for a piece"
    if not choice.bought_mm:
        return "nothing to buy"
    packed = ", packed" if is_mixed and choice.packed_price is not None else ""
    buy, left = length_to_buy(choice.bought_mm, units), length_on_hand(choice.left_mm, units)
    return f"buy {buy}, leaves {left}{packed}"


def comparison_text(film: FilmBuying) -> str:
    """Say how the widths of a film were compared."""
    if film.is_packed:
        return "Compared as each width was packed"
    if film.is_mixed:
        return "Compared as laid out at once: not every width was packed"
    return "Compared as laid out at once"


def sum_text(buying: BuyingList) -> str:
    """Say what is to be paid now; films that cannot be made as laid out are left out."""
    names = joined([f.name for f in buying.unmade])
    total = f"{money_text(buying.price, buying.currency)} to buy"
    return f"{total}, without {names}" if names else total


def total_text(buying: BuyingList, units: Units) -> str:
    """Say how much could be saved by taking other widths, or what stands in the way."""
    if not buying.films:
        return "No piece lies on a film yet"
    if buying.unmade:
        return " ".join(_way_out(f, units, buying.currency) for f in buying.unmade)
    saved = buying.price - buying.least_price
    if saved > 0.005:
        return f"{money_text(saved, buying.currency)} less at the cheapest widths"
    return "No other width on offer is cheaper"


def _way_out(film: FilmBuying, units: Units, currency: str) -> str:
    """Say what lets a film be made whose width is too narrow for a piece."""
    possible = [w for w in film.widths if w.is_possible]
    if film.current.has_failed:
        return f"{film.name}: its pieces could not be laid out, see Review."
    if not possible:
        return f"{film.name}: a piece fits on no width on offer."
    best = film.cheapest or possible[0]
    price = f" for {money_text(best.price, currency)}" if best.price_per_m else ""
    return f"{film.name}: {format_length(best.width_mm, units)} takes every piece{price}."

"""How sums of money and lengths of film are said in the buying window."""

from app.film_use import metres
from core.roll.buying import BuyingList, FilmBuying, WidthChoice
from core.units import Units, format_length


def money_text(amount: float, currency: str) -> str:
    """Return a sum of money.

    >>> money_text(53.755, "€")
    '53.76 €'
    """
    return f"{amount:,.2f} {currency}".strip()


def film_text(film: FilmBuying) -> str:
    """Say in one line what a film's job takes, and what is there of it."""
    if not film.with_retakes_mm:
        return "From offcuts alone" if film.offcuts_used else "Nothing of it lies on a roll"
    taken = f"Job {metres(film.job_mm)}"
    if film.with_retakes_mm > film.job_mm + 0.5:
        taken += f"; with retakes {metres(film.with_retakes_mm)}"
    there = metres_down(film.on_shelf_mm)
    stock = f"{there} on rolls in stock" if film.on_shelf_mm else "no roll in stock"
    cut = f", {film.offcuts_used} offcuts used" if film.offcuts_used > 1 else ""
    cut = ", 1 offcut used" if film.offcuts_used == 1 else cut
    return f"{taken} · {stock}{cut}"


def width_text(choice: WidthChoice, units: Units) -> str:
    """Return a roll width as the shop says it."""
    return f"{format_length(choice.width_mm, units)} wide"


def choice_text(choice: WidthChoice, *, is_mixed: bool = False) -> str:
    """Say what must be bought at one width, and what that leaves over.

    Where some widths were packed and others not, it says which one was.
    """
    if not choice.is_possible:
        return "too narrow for a piece"
    if not choice.bought_mm:
        return "nothing to buy"
    packed = ", packed" if is_mixed and choice.packed_price is not None else ""
    return f"buy {choice.bought_mm / 1000:g} m, leaves {metres_down(choice.left_mm)}{packed}"


def comparison_text(film: FilmBuying) -> str:
    """Say how the widths of a film were compared."""
    if film.is_packed:
        return "Compared as each width was packed"
    if film.is_mixed:
        return "Compared as laid out at once: not every width was packed"
    return "Compared as laid out at once"


def total_text(buying: BuyingList) -> str:
    """Say how much could be saved by taking other widths."""
    saved = buying.price - buying.least_price
    if not buying.films:
        return "No piece lies on a film yet"
    if saved > 0.005:
        return f"{money_text(saved, buying.currency)} less at the cheapest widths"
    return "No other width on offer is cheaper"


def metres_down(length_mm: float) -> str:
    """Return a length that is there, in metres: never more than there is."""
    return f"{int(length_mm / 10.0 + 1e-6) / 100.0:.2f} m"

"""How film is sold: in steps of length, at the widths on offer."""

import math

from core.document.film import Film, Offer

_HAIR_MM = 1e-6


def bought_mm(film: Film, needed_mm: float) -> float:
    """Return the length that the shop cuts for what is needed, in its steps.

    >>> film = Film(id="f1", name="Fjord", colour="#24507a")
    >>> bought_mm(film, 4210.0), bought_mm(film, 4500.0), bought_mm(film, 0.0)
    (4500.0, 4500.0, 0.0)
    """
    step = film.buy_step_mm
    return math.ceil((needed_mm - _HAIR_MM) / step) * step if needed_mm > 0 else 0.0


def offers_of(film: Film) -> tuple[Offer, ...]:
    """Return all widths that the film can be bought at, the film's own among them.

    Of several prices for one width the film's own counts, else the first.
    """
    own = Offer(width_mm=film.roll_width_mm, price_per_m=film.price_per_m)
    by_width = {o.width_mm: o for o in (*reversed(film.offers), own)}
    return tuple(by_width[width] for width in sorted(by_width))

"""Edits of films and their stock."""

from collections.abc import Iterator

from msgspec.structs import replace

from core.document.edits.accept import accept, refuse_repeats
from core.document.edits.ids import taken_ids
from core.document.film import Film, Offer, Stock
from core.document.job import Job
from core.document.lines import Inlay, Stripe, line_name
from core.errors import EditRefused


def add_film(job: Job, film: Film) -> Job:
    """Add a film at the end; EditRefused when an id of it is taken."""
    fresh = accept(film)
    refuse_repeats([*taken_ids(job), *_own_ids(fresh)], fresh.name)
    return replace(job, films=(*job.films, fresh))


def replace_film(job: Job, film: Film) -> Job:
    """Put a film in the place of the one of the same id.

    With other stock the film counts as not cut any more: what is there is to be cut from.
    """
    old = job.film(film.id)
    fresh = accept(film)
    others = taken_ids(job) - set(_own_ids(old))
    refuse_repeats([*others, *_own_ids(fresh)], fresh.name)
    films = tuple(fresh if f.id == fresh.id else f for f in job.films)
    if fresh.stock == old.stock:
        return replace(job, films=films)
    return replace(job, films=films, cuts=tuple(c for c in job.cuts if c.film != old.id))


def delete_film(job: Job, film: str) -> Job:
    """Delete a film with its stock and the nests kept for it; refused while it is used."""
    old = job.film(film)
    places = list(_iter_uses(job, old.id))
    if places:
        shown = "; ".join(places[:3])
        more = f" and {len(places) - 3} more" if len(places) > 3 else ""
        raise EditRefused(
            f"The film {old.name} is used: {shown}{more}.",
            mend="Give those another film first.",
        )
    return replace(
        job,
        films=tuple(f for f in job.films if f.id != old.id),
        nests=tuple(n for n in job.nests if n.film != old.id),
        cuts=tuple(c for c in job.cuts if c.film != old.id),
    )


def set_stock(job: Job, film: str, stock: tuple[Stock, ...]) -> Job:
    """Say what rolls and offcuts of a film there are."""
    return replace_film(job, replace(job.film(film), stock=stock))


def choose_width(job: Job, film: str, width_mm: float) -> Job:
    """Lay what is bought of a film out on another width that the shop has.

    The width so far stays on offer; rolls in stock stay as wide as they are.

    Raises:
        EditRefused: that width is not on offer.
    """
    old = job.film(film)
    if width_mm == old.roll_width_mm:
        return job
    offer = next((o for o in old.offers if o.width_mm == width_mm), None)
    if offer is None:
        raise EditRefused(
            f"{old.name} is not on offer at that width.", mend="Add the width to the film."
        )
    so_far = Offer(width_mm=old.roll_width_mm, price_per_m=old.price_per_m)
    others = [o for o in old.offers if o.width_mm not in {width_mm, so_far.width_mm}]
    fresh = replace(
        old,
        roll_width_mm=offer.width_mm,
        price_per_m=offer.price_per_m,
        offers=tuple(sorted((*others, so_far), key=lambda o: o.width_mm)),
        stock=tuple(_as_wide_as_now(s, old) for s in old.stock),
    )
    return replace_film(job, fresh)


def _as_wide_as_now(stock: Stock, film: Film) -> Stock:
    """Return stock with its width said, where it was the film's own."""
    if stock.width_mm is not None:
        return stock
    return replace(stock, width_mm=film.roll_width_mm)


def _own_ids(film: Film) -> list[str]:
    return [film.id, *(stock.id for stock in film.stock)]


def _iter_uses(job: Job, film: str) -> Iterator[str]:
    """Yield, in words, every place that has the film."""
    for panel in job.panels:
        if panel.base_film == film:
            yield f"base of {panel.name}"
    for variant in job.variants:
        for scheme in variant.schemes:
            place = f"on {job.panel(scheme.panel).name} ({variant.name})"
            for line in scheme.lines:
                if isinstance(line, Stripe | Inlay) and line.film == film:
                    yield f"{line_name(line)} {place}"
            if any(spot.film == film for spot in scheme.spots):
                yield f"a painted region {place}"

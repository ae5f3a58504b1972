"""The ids that a job uses, and free ones.

Ids of films, stock, panels, openings, marks, variants, photos, guides and dimensions are unique
in a job. Lines and spots are unique in their variant: a variant made like another shares its
lines, ids included.
"""

from collections.abc import Iterator

from core.document.job import Job
from core.document.variant import Variant
from core.ids import next_id


def iter_job_ids(job: Job) -> Iterator[str]:
    """Yield the ids of films, stock, panels, openings, marks and variants."""
    for film in job.films:
        yield film.id
        yield from (stock.id for stock in film.stock)
    for panel in job.panels:
        yield panel.id
        yield from (opening.id for opening in panel.openings)
        yield from (mark.id for mark in panel.marks)
    yield from (variant.id for variant in job.variants)
    yield from (photo.id for photo in job.photos)
    yield from (guide.id for guide in job.guides)
    yield from (dimension.id for dimension in job.dimensions)


def iter_variant_ids(variant: Variant) -> Iterator[str]:
    """Yield the ids of a variant's lines and spots."""
    for scheme in variant.schemes:
        yield from (line.id for line in scheme.lines)
        yield from (spot.id for spot in scheme.spots)


def taken_ids(job: Job) -> set[str]:
    """Return every id of a job but those of nodes; lines and spots of all variants."""
    return set(iter_job_ids(job)).union(*(iter_variant_ids(v) for v in job.variants))


def free_id(job: Job, prefix: str) -> str:
    """Return the first id with the prefix above all that the job uses, in any variant.

    Stock that is gone counts while a piece is tied to it or kept off it: another roll of its
    name would be taken for it.
    """
    return next_id(prefix, taken_ids(job) | stock_in_choices(job))


def stock_in_choices(job: Job) -> set[str]:
    """Return the ids of stock that pieces are tied to or kept off, there or not."""
    choices = [choice for variant in job.variants for choice in variant.pieces]
    pinned = {pin.stock for choice in choices for pin in choice.pins}
    return pinned.union(*(choice.forbidden for choice in choices))

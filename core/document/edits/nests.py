"""Edits of the nests that the user has accepted."""

from msgspec.structs import replace

from core.document.accepted_nest import AcceptedNest
from core.document.edits.accept import accept
from core.document.job import Job


def keep_nest(job: Job, nest: AcceptedNest) -> Job:
    """Keep a nest, in place of the one of the same variant and film."""
    job.variant(nest.variant)
    job.film(nest.film)
    others = _without(job, nest.variant, nest.film)
    return replace(job, nests=(*others, accept(nest)))


def drop_nest(job: Job, variant: str, film: str) -> Job:
    """Drop the nest kept for a film in a variant; nothing happens when there is none."""
    job.variant(variant)
    job.film(film)
    others = _without(job, variant, film)
    return job if len(others) == len(job.nests) else replace(job, nests=others)


def _without(job: Job, variant: str, film: str) -> tuple[AcceptedNest, ...]:
    return tuple(n for n in job.nests if (n.variant, n.film) != (variant, film))

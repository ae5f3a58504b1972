"""Free ids."""

from collections.abc import Iterator

from core.document.job import Job
from core.ids import next_id


def iter_ids(job: Job) -> Iterator[str]:
    """Yield every id of a job but those of nodes; lines and spots of all variants."""
    for film in job.films:
        yield film.id
        yield from (stock.id for stock in film.stock)
    for panel in job.panels:
        yield panel.id
        yield from (opening.id for opening in panel.openings)
        yield from (mark.id for mark in panel.marks)
    for variant in job.variants:
        yield variant.id
        for scheme in variant.schemes:
            yield from (line.id for line in scheme.lines)
            yield from (spot.id for spot in scheme.spots)


def free_id(job: Job, prefix: str) -> str:
    """Return the first id with the prefix above all that the job uses, in any variant."""
    return next_id(prefix, iter_ids(job))

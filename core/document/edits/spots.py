"""Edits of paint spots."""

from collections.abc import Collection

from msgspec.structs import replace

from core.document.edits.accept import accept
from core.document.edits.ids import free_id
from core.document.edits.variants import find_spot, replace_scheme
from core.document.job import Job
from core.document.lines import PaintSpot


def paint(
    job: Job,
    variant: str,
    panel: str,
    at: tuple[float, float],
    film: str,
    *,
    replacing: Collection[str] = (),
) -> Job:
    """Give the region around a point of the panel's frame a film.

    The spots named in ``replacing`` (those in the same region) are dropped.
    """
    job = delete_spots(job, variant, replacing)
    scheme = job.scheme(variant, job.panel(panel).id)
    spot = accept(PaintSpot(id=free_id(job, "c"), at=at, film=job.film(film).id))
    return replace_scheme(job, variant, replace(scheme, spots=(*scheme.spots, spot)))


def delete_spots(job: Job, variant: str, ids: Collection[str]) -> Job:
    """Delete paint spots; KeyError when one is not there."""
    wanted = set(ids)
    panels = {find_spot(job, variant, spot_id)[0].panel for spot_id in wanted}
    for panel in sorted(panels):
        scheme = job.scheme(variant, panel)
        kept = tuple(spot for spot in scheme.spots if spot.id not in wanted)
        job = replace_scheme(job, variant, replace(scheme, spots=kept))
    return job

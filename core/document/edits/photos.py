"""Edits of photos: pure functions from a job to a new job."""

from collections.abc import Collection

from msgspec.structs import replace

from core.document.edits.accept import accept, refuse_repeats
from core.document.edits.ids import taken_ids
from core.document.job import Job
from core.document.photo import Photo


def add_photo(job: Job, photo: Photo) -> Job:
    """Add a photo as the ground of its panel; one that the panel had is dropped.

    Raises:
        EditRefused: its id is taken, or a value is out of its limits.
        KeyError: its panel is not there.
    """
    fresh = accept(photo)
    job.panel(fresh.panel)
    refuse_repeats([*taken_ids(job), fresh.id], fresh.title or fresh.file)
    kept = tuple(p for p in job.photos if p.panel != fresh.panel)
    return replace(job, photos=(*kept, fresh))


def replace_photo(job: Job, photo: Photo) -> Job:
    """Put a photo in the place of the one of the same id. KeyError when there is none."""
    old = job.photo(photo.id)
    fresh = accept(photo)
    job.panel(fresh.panel)
    return replace(job, photos=tuple(fresh if p is old else p for p in job.photos))


def delete_photos(job: Job, ids: Collection[str]) -> Job:
    """Take photos away from under their panels."""
    gone = {job.photo(one).id for one in ids}
    return replace(job, photos=tuple(p for p in job.photos if p.id not in gone))


def photo_of(job: Job, panel: str) -> Photo | None:
    """Return the photo under a panel, or None."""
    return next((p for p in job.photos if p.panel == panel), None)

"""Edits of the job as a whole: its name, units and defaults."""

from msgspec.structs import replace

from core.document.edits.accept import accept
from core.document.job import Job, Settings, Units


def set_settings(job: Job, settings: Settings) -> Job:
    """Set the job's defaults."""
    return replace(job, settings=accept(settings))


def set_units(job: Job, units: Units) -> Job:
    """Set what lengths are shown in."""
    return replace(job, units=Units(units))


def rename_job(job: Job, name: str) -> Job:
    """Give the job another name."""
    bare = Job(name=name, films=(), variants=job.variants[:1])
    return replace(job, name=accept(bare).name)

"""Migrations: how a job written by an older Lapline is brought up to date.

Each is a pure function from the ``job`` object of one version to that of the next, on plain
dicts and lists, in a module of its own (``v001_to_v002``), and is never edited once released.
The register below is keyed by the version that a migration starts from. Version 1 is the first.
"""

import copy
from collections.abc import Callable, Mapping
from typing import Any

from core.errors import MigrationFailed

PlainJob = dict[str, Any]
Migration = Callable[[PlainJob], PlainJob]

MIGRATIONS: Mapping[int, Migration] = {}


def migrate(
    job: PlainJob, version: int, target: int, steps: Mapping[int, Migration] | None = None
) -> PlainJob:
    """Return the job as the target version writes it; the one passed in is left alone.

    Raises:
        MigrationFailed: a version has no migration, or one finds the job other than it must be.
    """
    steps = MIGRATIONS if steps is None else steps
    job = copy.deepcopy(job)
    for step in range(version, target):
        if step not in steps:
            raise MigrationFailed(
                f"It is of version {step}, which this Lapline cannot bring up to date.",
                mend="Open and save it in the Lapline that wrote it.",
            )
        try:
            job = steps[step](job)
        except (LookupError, TypeError, ValueError, AttributeError) as error:
            raise MigrationFailed(
                f"It does not hold together as a job of version {step} ({error}).",
                mend="Open and save it in the Lapline that wrote it.",
            ) from error
    return job

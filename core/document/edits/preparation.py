"""Edits of what is done to a panel before film is laid on it."""

from collections.abc import Iterable

from msgspec.structs import replace

from core.document.edits.panels import replace_panel
from core.document.job import Job


def set_preparation(job: Job, panel: str, tasks: Iterable[str] | None) -> Job:
    """Set what is to be done before film is laid on a panel, in order.

    Blank lines are left out, spaces in a row become one.

    Args:
        job: the job.
        panel: id of the panel.
        tasks: one line each; None takes the usual tasks.

    Raises:
        EditRefused: a task is too long, or there are too many.
        KeyError: no such panel.
    """
    own = job.panel(panel)
    plain = (
        None if tasks is None else tuple(t for t in (" ".join(x.split()) for x in tasks) if t)
    )
    return replace_panel(job, replace(own, preparation=plain))

"""Locked and hidden panels: what may not be changed, and what is not shown."""

from collections.abc import Collection

from msgspec.structs import replace

from core.document.edits.panels import replace_panel
from core.document.job import Job
from core.document.panel import Panel
from core.errors import EditRefused


def set_locked(job: Job, ids: Collection[str], *, locked: bool) -> Job:
    """Lock panels against every change, or unlock them."""
    for panel_id in ids:
        job = replace_panel(job, replace(job.panel(panel_id), is_locked=locked))
    return job


def set_hidden(job: Job, ids: Collection[str], *, hidden: bool) -> Job:
    """Leave panels out of the canvas, or show them; they are planned and cut all the same."""
    for panel_id in ids:
        job = replace_panel(job, replace(job.panel(panel_id), is_hidden=hidden))
    return job


def refuse_locked(before: Job, after: Job) -> None:
    """Refuse an edit that changes a locked panel, or what a variant draws on it.

    Locking, unlocking, hiding and showing are no such change.

    Raises:
        EditRefused: names the panel.
    """
    if before.panels is after.panels and before.variants is after.variants:
        return
    now = {panel.id: panel for panel in after.panels}
    for panel in before.panels:
        if panel.is_locked and _is_changed(panel, now.get(panel.id), before, after):
            raise EditRefused(
                f"{panel.name} is locked.", mend="Unlock it first: right click on it."
            )


def _is_changed(panel: Panel, fresh: Panel | None, before: Job, after: Job) -> bool:
    if fresh is None:
        return True
    if not fresh.is_locked:
        return False
    if fresh is not panel and replace(fresh, is_hidden=panel.is_hidden) != panel:
        return True
    kept = {v.id for v in after.variants}
    return any(
        after.scheme(v.id, panel.id) != before.scheme(v.id, panel.id)
        for v in before.variants
        if v.id in kept
    )

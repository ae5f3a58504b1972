"""What is done to a panel before film is laid: the user's own list, else the usual tasks.

The usual tasks are common practice, no source; they go by what is marked on the panel.
"""

from collections.abc import Iterator

from core.document.panel import MarkKind, Panel


def preparation_of(panel: Panel) -> tuple[str, ...]:
    """Return the tasks of a panel, in order."""
    return usual_tasks(panel) if panel.preparation is None else panel.preparation


def usual_tasks(panel: Panel) -> tuple[str, ...]:
    """Return the tasks of a panel for which the user has set none."""
    return tuple(_usual(panel))


def _usual(panel: Panel) -> Iterator[str]:
    kinds = {mark.kind for mark in panel.marks}
    yield "Take the part off the vehicle; if it cannot come off, fuel tank and battery first"
    if kinds & {MarkKind.BOLT, MarkKind.BADGE}:
        yield "Take off bolts, badges and other fittings; bag and label them"
    yield "Wash, rinse, let dry"
    if MarkKind.DAMAGE in kinds:
        yield "Mend the damage that is marked: look beneath, fill, let harden, sand level"
    yield "Sand down runs, chips and rust edges, wipe off the dust"
    yield "Degrease as the film's data sheet says; gloves, moving air, no flame"
    yield "Wipe edges and recesses once more; let all cleaner dry off"
    yield "Lay a hand-sized try on a hidden place and pull it off after an hour"

"""Copies of openings and marks: copied out with their panels, pasted where there is room.

On a panel of the same outline they land where they were, on another at the same place relative
to its bounding box, or about a place that is pointed at; those of one panel keep their
distances. Where an opening would lie across another, or a mark exactly on its like, the copies
stand beside that.
"""

from collections.abc import Collection, Iterator

from msgspec.structs import replace

from core.document.edits.belongings import (
    add_mark,
    add_opening,
    belongings_box,
    find_belonging,
    lies_on,
    moved_belonging,
)
from core.document.edits.carry import step_between
from core.document.edits.copies import BelongingsClip, Clip
from core.document.edits.ids import taken_ids
from core.document.job import Job
from core.document.panel import Mark, Opening, Panel
from core.document.path import Point
from core.errors import EditRefused
from core.ids import next_id

BESIDE_MM = 10.0
"""Between what was copied and its copy, where that stands beside it."""
_MOST_STEPS = 3


def copy_belongings(job: Job, ids: Collection[str]) -> Clip:
    """Return openings and marks, with their panels; KeyError when one is not there."""
    homes = dict.fromkeys(find_belonging(job, one)[0].id for one in ids)
    return Clip(
        films=(),
        belongings=tuple(
            BelongingsClip(
                panel=job.panel(home),
                openings=tuple(o for o in job.panel(home).openings if o.id in ids),
                marks=tuple(m for m in job.panel(home).marks if m.id in ids),
            )
            for home in homes
        ),
    )


def paste_belongings(
    job: Job, clip: Clip, panel: str, near: Point | None = None
) -> tuple[Job, tuple[str, ...]]:
    """Add a clip's openings and marks to a panel; returns the job and the new ids.

    Args:
        job: the job.
        clip: what was copied.
        panel: the panel that they are to lie on.
        near: a place in its frame; within its outline it becomes the middle of them all.

    Raises:
        EditRefused: there is no room for them.
        KeyError: no such panel.
    """
    target = job.panel(panel)
    things = list(_carried(clip, target))
    if not things:
        raise EditRefused("There is nothing to paste.", mend="Copy something first.")
    x0, y0, x1, y1 = belongings_box(things)
    base = (0.0, 0.0)
    if near is not None and lies_on(target, near):
        base = float(round(near[0] - (x0 + x1) / 2)), float(round(near[1] - (y0 + y1) / 2))
    refusals = []
    for dx, dy in _steps_beside(x1 - x0, y1 - y0):
        placed = [moved_belonging(one, base[0] + dx, base[1] + dy) for one in things]
        if any(_is_there(one, target) for one in placed):
            continue
        try:
            return _added(job, panel, placed)
        except EditRefused as refusal:
            refusals.append(refusal)
    raise refusals[0]


def _carried(clip: Clip, target: Panel) -> Iterator[Mark | Opening]:
    """Yield what was copied as it lies on another panel."""
    for source in clip.belongings:
        things: tuple[Mark | Opening, ...] = (*source.openings, *source.marks)
        if things:
            step = step_between(source.panel, target, belongings_box(things))
            yield from (moved_belonging(one, *step) for one in things)


def _steps_beside(width: float, height: float) -> Iterator[Point]:
    """Yield steps to where a copy may stand: on its own place, then beside it."""
    yield 0.0, 0.0
    for k in range(1, _MOST_STEPS + 1):
        across, up = k * (width + BESIDE_MM), k * (height + BESIDE_MM)
        yield from ((across, 0.0), (0.0, -up), (-across, 0.0), (0.0, up))


def _is_there(one: Mark | Opening, panel: Panel) -> bool:
    """Say whether a mark lies exactly on one that is like it."""
    return isinstance(one, Mark) and any(
        (one.kind, one.path) == (other.kind, other.path) for other in panel.marks
    )


def _added(
    job: Job, panel: str, things: Collection[Mark | Opening]
) -> tuple[Job, tuple[str, ...]]:
    made = []
    for one in things:
        fresh = next_id("m" if isinstance(one, Mark) else "o", taken_ids(job))
        if isinstance(one, Mark):
            job = add_mark(job, panel, replace(one, id=fresh))
        else:
            job = add_opening(job, panel, replace(one, id=fresh))
        made.append(fresh)
    return job, tuple(made)

"""What is done with all that is selected: copy, paste, repeat, lock, hide, link.

Each makes one undo step, or says why it cannot be done.
"""

from collections.abc import Callable

from app.canvas import clipboard, deeds
from app.canvas.gestures.base import Desk
from app.selection import NOTHING, Kind, Selection
from core.document.edits.belonging_copies import copy_belongings, paste_belongings
from core.document.edits.copies import (
    Clip,
    array_lines,
    array_panels,
    copy_lines,
    copy_panels,
    panels_left_flat,
    paste_lines,
    paste_panels,
    step_to,
)
from core.document.edits.drafting import delete_guides
from core.document.edits.lines import find_line
from core.document.edits.locks import set_hidden, set_locked
from core.document.edits.runs import line_up_run, unlink_run
from core.document.edits.surfaces import scan_files
from core.document.job import Job
from core.document.path import Point
from core.errors import InputError
from core.ids import PanelId
from core.plan.lookup import to_panel

WHOLE_KINDS = ("panel", "line", "opening", "mark")
"""What can be cut out and pasted elsewhere."""
SELECT_FIRST = "Select panels, lines, openings or marks first."
STEP_MM = (20.0, -20.0)
"""Where a copy of a panel comes to stand from the panel that was copied."""


def selected_panels(desk: Desk) -> tuple[str, ...]:
    """Return the panels that are selected, or the one on which something is."""
    selection = desk.session.selection
    if selection.kind == "panel":
        return selection.ids
    return (selection.panel,) if selection.panel is not None else ()


def select_all(desk: Desk) -> None:
    """Select all lines of a panel while one is selected, else all panels that are shown."""
    selection, job = desk.session.selection, desk.job
    if selection.kind == "line" and selection.ids:
        panel = find_line(job, desk.variant, selection.ids[0])[0]
        lines = tuple(line.id for line in job.scheme(desk.variant, panel).lines)
        desk.session.select(Selection("line", lines, panel))
        return
    ids = tuple(p.id for p in job.panels if not p.is_hidden)
    desk.session.select(Selection("panel", ids) if ids else NOTHING)


def _clip(desk: Desk) -> Clip | None:
    selection = desk.session.selection
    if selection.kind == "line":
        return copy_lines(desk.job, desk.variant, selection.ids)
    if selection.kind in ("opening", "mark"):
        return copy_belongings(desk.job, selection.ids)
    panels = selected_panels(desk)
    if panels:
        return copy_panels(desk.job, desk.variant, panels)
    desk.session.message(SELECT_FIRST)
    return None


def copy(desk: Desk) -> bool:
    """Copy the selected panels, lines, openings or marks to the clipboard."""
    clip = _clip(desk)
    if clip is None:
        return False
    clipboard.put(clip, desk.session)
    desk.session.message(f"Copied {_words(clip)}.")
    return True


def cut(desk: Desk) -> bool:
    """Copy what is selected, then delete it."""
    selection = desk.session.selection
    if selection.kind not in WHOLE_KINDS:
        desk.session.message(SELECT_FIRST)
        return False
    return copy(desk) and deeds.delete_selected(desk)


def paste(desk: Desk, at: Point | None) -> bool:
    """Paste what the clipboard holds: panels near a point, the rest on the selected panel.

    Lines, openings and marks go to the panel that is selected, else to the one they came from;
    openings and marks about the point, where it lies on that panel.
    """
    try:
        clip, scans = clipboard.take(desk.session)
    except InputError as refusal:
        desk.session.message(refusal.sentence())
        return False
    if clip.panels:
        step = step_to(clip, at) if at else STEP_MM
        return _paste_panels(desk, clip, step, "Paste", scans)
    if clip.belongings:
        return _paste_belongings(desk, clip, "Paste", at)
    return _paste_lines(desk, clip, "Paste")


def duplicate(desk: Desk) -> bool:
    """Put a copy beside what is selected; the clipboard is left alone."""
    clip = _clip(desk)
    if clip is None:
        return False
    if clip.panels:
        return _paste_panels(desk, clip, STEP_MM, "Duplicate", scan_files(desk.job))
    if clip.belongings:
        return _paste_belongings(desk, clip, "Duplicate", None, at_home=True)
    return _paste_lines(desk, clip, "Duplicate", at_home=True)


def _paste_panels(
    desk: Desk, clip: Clip, step: Point, verb: str, scans: frozenset[str]
) -> bool:
    made: list[str] = []
    flat = panels_left_flat(clip, scans)

    def edit() -> Job:
        job, ids = paste_panels(desk.job, desk.variant, clip, step, scans)
        made.extend(ids)
        return job

    done = desk.do(f"{verb} {_count(len(clip.panels), 'panel')}", edit)
    if done:
        only = PanelId(made[0]) if len(made) == 1 else None
        desk.session.select(Selection("panel", tuple(made), only))
        if flat:
            desk.session.message(f"The scan of {', '.join(flat)} did not come along: now flat.")
    return done


def _shares(desk: Desk, clip: Clip, *, at_home: bool) -> dict[str, Clip]:
    """Return what each panel gets: the selected ones all, else each its own back."""
    chosen = () if at_home else selected_panels(desk)
    if chosen:
        return dict.fromkeys(chosen, clip)
    known = {p.id for p in desk.job.panels}
    homes = [one.panel.id for one in clip.lines]
    homes += [one.panel.id for one in clip.belongings]
    return {
        home: Clip(
            films=clip.films,
            lines=tuple(one for one in clip.lines if one.panel.id == home),
            belongings=tuple(one for one in clip.belongings if one.panel.id == home),
        )
        for home in homes
        if home in known
    }


Paste = Callable[[Job, Clip, str], tuple[Job, tuple[str, ...]]]


def _paste_shares(
    desk: Desk, clip: Clip, shares: dict[str, Clip], kind: Kind, step: tuple[str, Paste]
) -> bool:
    """Paste each panel's share by a step with its verb, and select what was made."""
    verb, paste_on = step
    if not shares:
        desk.session.message(f"Select the panel on which the {kind}s are to go.")
        return False
    made: list[str] = []

    def edit() -> Job:
        job = desk.job
        for target, share in shares.items():
            job, ids = paste_on(job, share, target)
            made.extend(ids)
        return job

    done = desk.do(f"{verb} {_words(clip)}", edit)
    if done:
        only = PanelId(next(iter(shares))) if len(shares) == 1 else None
        desk.session.select(Selection(kind, tuple(made), only))
    return done


def _paste_belongings(
    desk: Desk, clip: Clip, verb: str, at: Point | None, *, at_home: bool = False
) -> bool:
    shares = _shares(desk, clip, at_home=at_home)

    def paste_on(job: Job, share: Clip, target: str) -> tuple[Job, tuple[str, ...]]:
        near = to_panel(job.panel(target), at) if at and len(shares) == 1 else None
        return paste_belongings(job, share, target, near)

    kind: Kind = "opening" if any(one.openings for one in clip.belongings) else "mark"
    return _paste_shares(desk, clip, shares, kind, (verb, paste_on))


def _paste_lines(desk: Desk, clip: Clip, verb: str, *, at_home: bool = False) -> bool:
    def paste_on(job: Job, share: Clip, target: str) -> tuple[Job, tuple[str, ...]]:
        return paste_lines(job, desk.variant, share, target)

    shares = _shares(desk, clip, at_home=at_home)
    return _paste_shares(desk, clip, shares, "line", (verb, paste_on))


def repeat(desk: Desk, counts: tuple[int, int], gaps: Point) -> bool:
    """Set what is selected out in rows and columns."""
    selection = desk.session.selection
    is_lines = selection.kind == "line"
    ids = selection.ids if is_lines else selected_panels(desk)
    made: list[str] = []

    def edit() -> Job:
        change = array_lines if is_lines else array_panels
        job, fresh = change(desk.job, desk.variant, ids, counts, gaps)
        made.extend((*ids, *fresh))
        return job

    done = desk.do(f"Repeat {_count(len(ids), 'line' if is_lines else 'panel')}", edit)
    if done:
        desk.session.select(Selection("line" if is_lines else "panel", tuple(made)))
    return done


def toggle_locked(desk: Desk) -> bool:
    """Lock the selected panels; unlock them when all are locked."""
    ids = selected_panels(desk)
    if not ids:
        desk.session.message("Select a panel first.")
        return False
    locked = not all(desk.job.panel(i).is_locked for i in ids)
    verb = "Lock" if locked else "Unlock"
    return desk.do(
        f"{verb} {_names(desk.job, ids)}", lambda: set_locked(desk.job, ids, locked=locked)
    )


def hide(desk: Desk) -> bool:
    """Leave the selected panels out of the canvas."""
    ids = selected_panels(desk)
    if not ids:
        desk.session.message("Select a panel first.")
        return False
    done = desk.do(
        f"Hide {_names(desk.job, ids)}", lambda: set_hidden(desk.job, ids, hidden=True)
    )
    if done:
        desk.session.select(NOTHING)
        desk.session.message("Hidden panels are planned and cut all the same.")
    return done


def show_hidden(desk: Desk) -> bool:
    """Show all panels again."""
    ids = tuple(p.id for p in desk.job.panels if p.is_hidden)
    if not ids:
        desk.session.message("No panel is hidden.")
        return False
    return desk.do("Show all panels", lambda: set_hidden(desk.job, ids, hidden=False))


def unlink(desk: Desk) -> bool:
    """Take the selected stripe's run apart; nothing moves."""
    return _change_run(desk, "Unlink a run of stripes", unlink_run)


def line_up(desk: Desk) -> bool:
    """Make one line again of the selected stripe's run, over its panels as they stand now."""
    return _change_run(desk, "Line up a run of stripes", line_up_run)


def _change_run(desk: Desk, sentence: str, change: Callable[[Job, str, str], Job]) -> bool:
    selection = desk.session.selection
    if selection.kind not in ("line", "node") or not selection.ids:
        desk.session.message("Select a stripe that runs over several panels first.")
        return False
    line_id = selection.ids[0]
    done = desk.do(sentence, lambda: change(desk.job, desk.variant, line_id))
    if done:
        desk.session.select(Selection("line", (line_id,), selection.panel))
    return done


def clear_guides(desk: Desk) -> bool:
    """Delete all guides."""
    ids = [guide.id for guide in desk.job.guides]
    if not ids:
        desk.session.message("There are no guides.")
        return False
    return desk.do("Delete all guides", lambda: delete_guides(desk.job, ids))


def _words(clip: Clip) -> str:
    """Return what was copied: "a panel", "3 lines", "an opening"."""
    openings = sum(len(one.openings) for one in clip.belongings)
    marks = sum(len(one.marks) for one in clip.belongings)
    counts = (
        (len(clip.panels), "panel"),
        (len(clip.lines), "line"),
        (openings, "opening"),
        (marks, "mark"),
    )
    return " and ".join(_count(count, word) for count, word in counts if count)


def _count(count: int, word: str) -> str:
    article = "an" if word[0] in "aeiou" else "a"
    return f"{article} {word}" if count == 1 else f"{count} {word}s"


def _names(job: Job, ids: tuple[str, ...]) -> str:
    return job.panel(ids[0]).name if len(ids) == 1 else f"{len(ids)} panels"

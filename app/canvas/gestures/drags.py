"""Gestures from press to release: moving nodes, handles, lines, panels, sides of stripes."""

from dataclasses import replace
from typing import Literal

from app.canvas.gestures.base import DRAG_PX, Desk, Gesture, Pointer
from app.canvas.gestures.snapper import Snapper
from app.canvas.owners import Grip, PathOwner, run_in_line, stripe_of
from app.selection import Selection
from core.document.edits.belongings import (
    find_belonging,
    middle_of,
    move_belongings,
    words_for,
)
from core.document.edits.lines import move_lines, set_stripe_widths
from core.document.edits.panels import move_panel
from core.document.edits.paths import move_handle, move_node
from core.document.edits.runs import find_run, set_run
from core.document.hit import (
    bearing_deg,
    distance_mm,
    moved_by,
    offset_between,
    previous_nodes,
    stripe_width_through,
)
from core.document.job import Job
from core.document.lines import Line, Stripe, line_name
from core.document.panel import Panel
from core.document.path import Point
from core.geometry.snapping import Guide, guide_from
from core.ids import NodeId, PanelId
from core.plan.neighbours import align, gaps_beside, gaps_from


class _Drag(Gesture):
    """A gesture that begins once the pointer has moved some pixels, and ends at release."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.start: Pointer | None = None
        self.has_begun = False
        self.last: Job | None = None

    def press(self, pointer: Pointer) -> None:
        """Remember where it starts."""
        self.start = pointer

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Preview, once it is a drag."""
        if self.start is None or not is_down:
            return
        if not self.has_begun:
            step = pointer.px - self.start.px
            if step.manhattanLength() < DRAG_PX:
                return
            self.has_begun = True
            self.begin()
        made: list[Job] = []

        def edit() -> Job:
            made.append(self.edit(pointer))
            return made[0]

        if self.desk.preview(edit):
            self.last = made[0]

    def release(self, pointer: Pointer) -> None:  # noqa: ARG002 - the last move counts
        """Make the one edit, or take it for a click."""
        if self.last is not None:
            job = self.last
            self.desk.do(self.sentence(), lambda: job)
        elif self.has_begun:
            self.desk.session.drop_preview()
        else:
            self.click()
        self.finish()

    def begin(self) -> None:
        """Prepare, now that it is a drag."""

    def edit(self, pointer: Pointer) -> Job:
        """Return the job with the thing moved to the pointer."""
        raise NotImplementedError

    def sentence(self) -> str:
        """Return what was done."""
        raise NotImplementedError

    def click(self) -> None:
        """It was a click and no drag."""


def snapper_for(desk: Desk, owner: PathOwner) -> Snapper:
    """Return what catches for a node of a path: everything but the path itself."""
    if owner.kind == "run":
        run = find_run(desk.job, desk.variant, owner.id)
        return Snapper(desk, None, run.lines if run else (), is_open=True)
    return Snapper(desk, desk.job.panel(owner.panel), (owner.id,))


class MoveNode(_Drag):
    """Moves one node of a line, an outline or an opening."""

    hint = "Alt: no snapping · Esc: leave it where it was"

    def __init__(self, desk: Desk, grip: Grip) -> None:
        super().__init__(desk)
        self.grip = grip
        self.owner = grip.owner
        self.snapper: Snapper | None = None
        self.guide: Guide | None = None

    def begin(self) -> None:
        """Gather what can be caught: everything but the path itself."""
        self.snapper = snapper_for(self.desk, self.owner)
        path, closed = self.owner.read(self.base, self.desk.variant)
        before = [n.at for n in previous_nodes(path, self.grip.node, closed=closed)]
        self.guide = guide_from(self.snapper.field, before)

    def edit(self, pointer: Pointer) -> Job:
        """Move the node to the pointer or to what it caught."""
        assert self.snapper is not None
        at, caught = self.snapper.catch(pointer, self.guide)
        self.snapper.show(at, caught)
        path, _ = self.owner.read(self.base, self.desk.variant)
        moved = move_node(path, self.grip.node, at)
        job = self.owner.write(self.base, self.desk.variant, moved)
        gaps = gaps_from(job, moved_by(at, self.snapper.frame))
        self.desk.scene.gaps.show_gaps(gaps, self.desk.scene.theme, self.desk.say_length)
        return job

    def sentence(self) -> str:
        """Return what was done."""
        return f"Move a node of {self.owner.name(self.base, self.desk.variant)}"

    def click(self) -> None:
        """Select the node."""
        self.desk.session.select(
            Selection("node", (self.owner.id,), self.owner.panel, NodeId(self.grip.node))
        )


class MoveHandle(_Drag):
    """Moves a node's handle, and with it the curve."""

    hint = "Alt: no snapping · Esc: leave it as it was"

    def __init__(self, desk: Desk, grip: Grip, which: Literal["before", "after"]) -> None:
        super().__init__(desk)
        self.grip = grip
        self.which = which
        self.snapper: Snapper | None = None

    def begin(self) -> None:
        """Handles catch directions only."""
        self.snapper = snapper_for(self.desk, self.grip.owner)

    def edit(self, pointer: Pointer) -> Job:
        """Turn and stretch the handle."""
        assert self.snapper is not None
        at = self.snapper.local(pointer)
        offset = offset_between(self.grip.anchor, at)
        length = self.desk.say_length(distance_mm(self.grip.anchor, at))
        angle = bearing_deg(self.grip.anchor, at)
        self.snapper.show(at, None, (f"{length}  {angle:.0f}°",))
        owner = self.grip.owner
        path, _ = owner.read(self.base, self.desk.variant)
        moved = move_handle(path, self.grip.node, self.which, offset)
        return owner.write(self.base, self.desk.variant, moved)

    def sentence(self) -> str:
        """Return what was done."""
        return f"Bend {self.grip.owner.name(self.base, self.desk.variant)}"


class StripeWidth(_Drag):
    """Sets the width of a stripe's end; with Shift that of both ends."""

    hint = "Shift: both ends · Esc: leave it as wide as it was"

    def __init__(self, desk: Desk, grip: Grip, end: Literal["start", "end"]) -> None:
        super().__init__(desk)
        self.grip = grip
        self.end = end

    def _stripe(self) -> Stripe:
        stripe = stripe_of(self.grip.owner, self.base, self.desk.variant)
        assert stripe is not None
        return stripe

    def edit(self, pointer: Pointer) -> Job:
        """Let the stripe's side run through the pointer."""
        stripe = self._stripe()
        at = self.grip.owner.local(self.base, pointer.at)
        width = stripe_width_through(stripe, self.end, at)
        start = width if self.end == "start" or pointer.is_shifted else stripe.start_width_mm
        end = width if self.end == "end" or pointer.is_shifted else stripe.end_width_mm
        owner, variant = self.grip.owner, self.desk.variant
        if owner.kind == "run":
            run = run_in_line(self.base, variant, owner.id)
            return set_run(self.base, variant, run, run.path, (start, end))
        return set_stripe_widths(self.base, variant, stripe.id, start, end)

    def sentence(self) -> str:
        """Return what was done."""
        return f"Set the width of {line_name(self._stripe())}"


class MoveLine(_Drag):
    """Moves lines as they are; a click selects the one under the pointer."""

    hint = "Esc: leave it where it was"

    def __init__(self, desk: Desk, panel: Panel, line: Line, group: tuple[str, ...]) -> None:
        super().__init__(desk)
        self.panel, self.line = panel, line
        self.group = group if line.id in group else (line.id,)

    def edit(self, pointer: Pointer) -> Job:
        """Move the line as far as the pointer has moved."""
        assert self.start is not None
        dx, dy = offset_between(self.start.at, pointer.at)
        return move_lines(self.base, self.desk.variant, self.group, dx, dy)

    def sentence(self) -> str:
        """Return what was done."""
        count = len(self.group)
        return f"Move {line_name(self.line)}" if count == 1 else f"Move {count} lines"

    def click(self) -> None:
        """Select the line."""
        panel = PanelId(self.panel.id)
        self.desk.session.select(Selection("line", (self.line.id,), panel))


class MoveBelongings(_Drag):
    """Moves openings or marks; one alone is caught by its middle. A click selects it."""

    hint = "Alt: no snapping · Esc: leave it where it was"

    def __init__(self, desk: Desk, clicked: Selection, group: tuple[str, ...]) -> None:
        super().__init__(desk)
        self.clicked = clicked
        self.group = group if clicked.ids[0] in group else clicked.ids
        self.panel, self.one = find_belonging(desk.job, clicked.ids[0])
        self.snapper: Snapper | None = None

    def begin(self) -> None:
        """Gather what can be caught: everything but what is moved."""
        self.snapper = Snapper(self.desk, self.panel, self.group)

    def edit(self, pointer: Pointer) -> Job:
        """Move as far as the pointer has moved, or to what the middle caught."""
        assert self.start is not None
        assert self.snapper is not None
        step, anchor = offset_between(self.start.at, pointer.at), middle_of(self.one)
        if len(self.group) > 1:
            return move_belongings(self.base, self.group, *step)
        meant = replace(pointer, at=moved_by(moved_by(anchor, self.panel.at), step))
        at, caught = self.snapper.catch(meant)
        self.snapper.show(at, caught)
        job = move_belongings(self.base, self.group, *offset_between(anchor, at))
        gaps = gaps_from(job, moved_by(at, self.snapper.frame))
        self.desk.scene.gaps.show_gaps(gaps, self.desk.scene.theme, self.desk.say_length)
        return job

    def sentence(self) -> str:
        """Return what was done."""
        count = len(self.group)
        return f"Move {words_for(self.one)}" if count == 1 else f"Move {count} {self._kinds}"

    @property
    def _kinds(self) -> str:
        return "openings" if self.clicked.kind == "opening" else "marks"

    def click(self) -> None:
        """Select it alone."""
        self.desk.session.select(self.clicked)


class MovePanel(_Drag):
    """Stands panels elsewhere on the canvas; a click selects what was under it."""

    hint = "Alt: no snapping, no whole millimetres · Esc: leave it where it was"

    def __init__(
        self, desk: Desk, panel: Panel, group: tuple[str, ...], clicked: Selection
    ) -> None:
        super().__init__(desk)
        self.panel, self.clicked = panel, clicked
        self.group = group if panel.id in group else (panel.id,)

    def edit(self, pointer: Pointer) -> Job:
        """Move the panels as far as the pointer has moved."""
        assert self.start is not None
        desk = self.desk
        step: Point = offset_between(self.start.at, pointer.at)
        words: tuple[str, ...] = ()
        if not pointer.is_free:
            step = (float(round(step[0])), float(round(step[1])))
            across, up = align(self.base, self.group, step, desk.reach_mm, desk.grid_mm)
            step = (across.step_mm, up.step_mm)
            words = tuple(dict.fromkeys(a.word for a in (across, up) if a.word))
        job = self.base
        for panel_id in self.group:
            job = move_panel(job, panel_id, moved_by(self.base.panel(panel_id).at, step))
        gaps = gaps_beside(job, self.group)
        desk.scene.gaps.show_gaps(gaps, desk.scene.theme, desk.say_length)
        where = moved_by(self.start.at, step)
        desk.scene.catch.show_catch(where, None, "\n".join(words), desk.scene.theme)
        return job

    def sentence(self) -> str:
        """Return what was done."""
        count = len(self.group)
        return f"Move {self.panel.name}" if count == 1 else f"Move {count} panels"

    def click(self) -> None:
        """Select what was clicked on."""
        assert self.start is not None
        self.desk.select(self.clicked, self.start)

"""Gestures on guides and dimensions."""

from typing import Literal

from msgspec.structs import replace

from app.canvas.gestures.base import DRAG_PX, Desk, Gesture, Pointer
from app.canvas.gestures.snapper import Snapper
from app.selection import NOTHING, Selection
from core.document.drafting import GuideLine
from core.document.edits.drafting import (
    add_guide,
    delete_guides,
    distance_to_line,
    ends_of,
    move_guide,
    offset_through,
    replace_dimension,
)
from core.document.edits.ids import free_id
from core.document.job import Job
from core.geometry.snapping import CatchKind

Way = Literal["upright", "level"]


def guide_under(desk: Desk, pointer: Pointer) -> str | None:
    """Return the guide that passes nearest within reach."""
    best, best_mm = None, desk.reach_mm
    for guide in desk.job.guides:
        away = abs(pointer.at[0 if guide.way == "upright" else 1] - guide.at_mm)
        if away < best_mm:
            best, best_mm = guide.id, away
    return best


def dimension_under(desk: Desk, pointer: Pointer) -> str | None:
    """Return the dimension whose line passes nearest within reach."""
    best, best_mm = None, desk.reach_mm
    for shown in desk.scene.dimensions.shown:
        away = distance_to_line(*shown.line, pointer.at)
        if away < best_mm:
            best, best_mm = shown.id, away
    return best


class MoveGuide(Gesture):
    """Moves a guide, or draws a new one out of a ruler; put back on a ruler it is gone."""

    hint = "Let go to place the guide, or on a ruler to delete it · Alt: no snapping"

    def __init__(self, desk: Desk, guide: str | None, way: Way = "upright") -> None:
        super().__init__(desk)
        self.guide = guide
        self.way: Way = desk.job.guide(guide).way if guide else way
        self.snapper = Snapper(desk, None, is_open=True)
        self.start: Pointer | None = None
        self.last: Job | None = None

    def press(self, pointer: Pointer) -> None:
        """Remember where it was taken hold of."""
        self.start = pointer

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Let the guide follow the pointer, or catch what it passes over."""
        if not is_down:
            return
        step = pointer.px - self.start.px if self.start else None
        if self.last is None and step and step.manhattanLength() < DRAG_PX:
            return
        at, caught = self.snapper.catch(pointer)
        value = at[0] if self.way == "upright" else at[1]
        is_alone = caught is None or (caught.kind is CatchKind.RULE and not caught.track)
        if is_alone and not pointer.is_free:
            caught, value = None, float(round(value))
        made = self._moved(value)
        self.last = made
        self.desk.preview(lambda: made)
        self.snapper.show(at, caught, (self.desk.say_length(value),))

    def _moved(self, at_mm: float) -> Job:
        if self.guide is not None:
            return move_guide(self.base, self.guide, at_mm)
        fresh = GuideLine(id=free_id(self.base, "h"), way=self.way, at_mm=at_mm)
        return add_guide(self.base, fresh)

    def release(self, pointer: Pointer) -> None:
        """Place it, delete it, or take the press for a click."""
        desk, guide, last = self.desk, self.guide, self.last
        if last is None:
            if guide is not None:
                desk.select(Selection("guide", (guide,)), pointer)
        elif pointer.is_outside and guide is None:
            desk.session.drop_preview()
        elif pointer.is_outside and guide is not None:
            desk.do("Delete a guide", lambda: delete_guides(self.base, [guide]))
            desk.session.select(NOTHING)
        else:
            desk.do("Move a guide" if guide else "Add a guide", lambda: last)
        self.finish()


class MoveDimension(Gesture):
    """Moves a dimension line nearer to what it measures or farther off; a click selects it."""

    hint = "Esc: leave it where it was"

    def __init__(self, desk: Desk, dimension: str) -> None:
        super().__init__(desk)
        self.dimension = desk.job.dimension(dimension)
        self.start: Pointer | None = None
        self.last: Job | None = None

    def press(self, pointer: Pointer) -> None:
        """Remember where it was taken hold of."""
        self.start = pointer

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Let the dimension line run through the pointer."""
        assert self.start is not None
        step = pointer.px - self.start.px
        if not is_down or (self.last is None and step.manhattanLength() < DRAG_PX):
            return
        ends = ends_of(self.base, self.variant, self.dimension)
        if ends is None:
            return
        offset = round(offset_through(*ends, pointer.at), 1)
        made = replace_dimension(self.base, replace(self.dimension, offset_mm=offset))
        self.last = made
        self.desk.preview(lambda: made)

    def release(self, pointer: Pointer) -> None:
        """Make the one edit, or take it for a click."""
        last = self.last
        if last is None:
            self.desk.select(Selection("dimension", (self.dimension.id,)), pointer)
        else:
            self.desk.do("Move a dimension", lambda: last)
        self.finish()

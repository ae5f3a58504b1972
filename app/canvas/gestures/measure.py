"""Measuring between two points, and keeping what was measured as a dimension."""

from PySide6.QtCore import Qt

from app.canvas.dimensions import shown_dimension
from app.canvas.gestures.base import Desk, Gesture, Pointer, Tool
from app.canvas.gestures.snapper import Snapper
from app.selection import Selection
from core.document.drafting import Dimension, DimensionEnd
from core.document.edits.drafting import add_dimension, measure, outer_offset
from core.document.edits.ids import free_id
from core.document.hit import offset_between
from core.document.path import Point
from core.geometry.snapping import Catch, guide_from
from core.plan.lookup import find_node_at
from core.plan.neighbours import box_of

OFFSET_PX = 36.0
"""How far a kept dimension stands off at first: clear of a panel's name."""


class Measure(Gesture):
    """Two clicks; then Enter keeps the size, and another click starts anew."""

    hint = "Click the second point · Alt: no snapping · Esc: drop"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.snapper = Snapper(desk, None, is_open=True)
        self.ends: list[DimensionEnd] = []
        self.places: list[Point] = []

    @property
    def is_measured(self) -> bool:
        """Whether both points are placed."""
        return len(self.ends) == 2

    def press(self, pointer: Pointer) -> None:
        """Place a point; after the second one, start anew."""
        at, caught = self._catch(pointer)
        if self.is_measured:
            self.ends, self.places = [], []
        self.places.append(at)
        self.ends.append(self._end(at, caught))
        self.hint = type(self).hint
        if self.is_measured:
            self.hint = "Enter: keep it as a dimension · click: measure anew · Esc: drop"
        self._show(at, caught)

    def move(self, pointer: Pointer, *, is_down: bool) -> None:  # noqa: ARG002 - clicks count
        """Show the size up to the pointer."""
        if not self.is_measured:
            self._show(*self._catch(pointer))

    def _catch(self, pointer: Pointer) -> tuple[Point, Catch | None]:
        guide = guide_from(self.snapper.field, self.places[:1])
        return self.snapper.catch(pointer, guide)

    def _end(self, at: Point, caught: Catch | None) -> DimensionEnd:
        """Return the end at a place: a node of a panel where one was caught."""
        panel = self.snapper.caught_on if caught and caught.track else None
        if caught is None or caught.track is None or panel is None:
            return DimensionEnd(at=at)
        local = offset_between(panel.at, at)
        scheme = self.desk.job.scheme(self.desk.variant, panel.id)
        owner, node = find_node_at(panel, scheme, local) or (None, None)
        return DimensionEnd(at=local, panel=panel.id, owner=owner, node=node)

    def _show(self, at: Point, caught: Catch | None) -> None:
        desk, scene = self.desk, self.desk.scene
        points = (self.places[0], self.places[1] if self.is_measured else at)
        if points[0] == points[1]:
            self.snapper.show(at, caught)
            return
        scene.measure.show_dimensions(
            (shown_dimension(desk.job, "", points, 0.0),), (), scene.theme
        )
        self.snapper.show(at, caught, size_words(desk, *points))

    def key(self, key: Qt.Key) -> bool:
        """Enter keeps what was measured."""
        if key not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            return False
        if not self.is_measured:
            self.desk.session.message("Click the second point first.")
            return True
        fresh = Dimension(
            id=free_id(self.base, "d"),
            start=self.ends[0],
            end=self.ends[1],
            offset_mm=self._offset(),
        )
        if self.desk.do("Keep a dimension", lambda: add_dimension(self.base, fresh)):
            self.desk.session.select(Selection("dimension", (fresh.id,)))
        self.finish()
        return True

    def _offset(self) -> float:
        """Stand off on the outer side of the panels that are measured."""
        names = {end.panel for end in self.ends}
        box = box_of(p for p in self.base.panels if p.id in names)
        middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2) if box else self.places[0]
        away = round(OFFSET_PX * self.desk.px_mm, 1)
        return outer_offset(self.places[0], self.places[1], middle, away)

    def finish(self) -> None:
        """Take the size away."""
        self.desk.scene.measure.clear()
        super().finish()


def size_words(desk: Desk, a: Point, b: Point) -> tuple[str, ...]:
    """Return length, direction and parts, as they are shown beside the pointer."""
    found = measure(a, b)
    say = desk.say_length
    return (
        f"{say(found.length_mm)}  {found.angle_deg:.1f}°",
        f"dx {say(found.dx_mm)}  dy {say(found.dy_mm)}",
    )


class MeasureTool(Tool):
    """Measures from the first click to the second."""

    name = "measure"
    hint = "Click two points to measure between them"
    cursor = Qt.CursorShape.CrossCursor

    def begin(self, pointer: Pointer) -> Gesture | None:  # noqa: ARG002 - anywhere will do
        """Start measuring anywhere."""
        return Measure(self.desk)

    def hover(self, pointer: Pointer) -> None:
        """Show what a first click would catch."""
        snapper = Snapper(self.desk, None, is_open=True)
        snapper.show(*snapper.catch(pointer))

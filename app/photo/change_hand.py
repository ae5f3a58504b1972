"""The tool that changes what was traced: moves it, adds and deletes nodes, deletes it."""

import math
from dataclasses import replace

from PySide6.QtCore import Qt

from app.photo.desk import PhotoDesk
from app.photo.hand import DRAG_PX, REACH_PX, Hand, Place, Touch
from core.document.edits.paths import insert_node, move_handle, move_node, set_smooth
from core.read.photo_trace import (
    OUTLINE,
    MarkSpot,
    Spot,
    Tracing,
    find_mark,
    find_opening,
    find_segment,
    find_spot,
    moved_ring,
    ring_at,
    with_ring,
)


class ChangeHand(Hand):
    """Moves nodes, handles, openings and marks; inserts nodes; deletes what is chosen."""

    hint = (
        "Drag nodes, handles, openings, marks · double-click a line: new node · C: corner or "
        "smooth · Del"
    )

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._spot: Spot | None = None
        self._mark: MarkSpot | None = None
        self._ring: int | None = None
        self._from: Place = (0.0, 0.0)
        self._has_moved = False

    @property
    def is_busy(self) -> bool:
        """Whether something is being dragged."""
        return not (self._spot is None and self._mark is None and self._ring is None)

    def press(self, touch: Touch) -> None:
        """Take hold of a node, a handle, a mark or an opening, in this order."""
        reach = REACH_PX * touch.unit
        tracing, look = self.desk.tracing, self.desk.overlay
        self._let_go()
        self._spot = find_spot(tracing, touch.at, reach, look.chosen)
        if self._spot is None:
            self._mark = find_mark(tracing, touch.at, reach)
        if not self.is_busy:
            self._ring = self._ring_at(touch.at, reach)
        self._from = touch.at
        chosen = Spot(self._spot.ring, self._spot.node, "node") if self._spot else None
        mark = None if self._mark is None else self._mark.mark
        self.desk.show(replace(look, chosen=chosen, chosen_mark=mark, chosen_ring=self._ring))

    def _ring_at(self, at: Place, reach_mm: float) -> int | None:
        tracing = self.desk.tracing
        on_line = find_segment(tracing, at, reach_mm)
        return on_line[0] if on_line else find_opening(tracing, at)

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Drag it."""
        if not is_down or not self.is_busy or self._ring == OUTLINE:
            return
        if not self._has_moved and math.dist(self._from, touch.at) < DRAG_PX * touch.unit:
            return
        self._has_moved = True
        tracing, caught = self._moved(touch)
        look = self.desk.overlay
        self.desk.show(replace(look, tracing=tracing, caught=caught))

    def release(self, touch: Touch) -> None:
        """Let go: one step."""
        if self.is_busy and self._has_moved:
            tracing, _ = self._moved(touch)
            words = self._part()
            self._let_go()
            self.desk.trace(f"Move {words}", tracing)
        self._let_go()

    def _part(self) -> str:
        if self._mark is not None:
            return "a mark"
        if self._spot is None:
            return "an opening"
        return "a node" if self._spot.part == "node" else "a handle"

    def _moved(self, touch: Touch) -> tuple[Tracing, Place | None]:
        tracing = self.desk.tracing
        by = (touch.at[0] - self._from[0], touch.at[1] - self._from[1])
        if self._mark is not None:
            marks = list(tracing.marks)
            which, point = self._mark
            marks[which] = marks[which].moved(point, by)
            return replace(tracing, marks=tuple(marks)), None
        if self._ring is not None:
            return moved_ring(tracing, self._ring, by), None
        spot = self._spot
        assert spot is not None
        path = ring_at(tracing, spot.ring)
        if spot.part == "node":
            reach = REACH_PX * touch.unit
            caught = self.desk.caught(touch.at, reach, is_free=touch.is_free)
            return with_ring(
                tracing, spot.ring, move_node(path, spot.node, caught or touch.at)
            ), caught
        node = next(n for n in path if n.id == spot.node)
        offset = (touch.at[0] - node.at[0], touch.at[1] - node.at[1])
        moved = move_handle(
            path, spot.node, "before" if spot.part == "before" else "after", offset
        )
        return with_ring(tracing, spot.ring, moved), None

    def double_click(self, touch: Touch) -> None:
        """Insert a node on a line."""
        tracing = self.desk.tracing
        found = find_segment(tracing, touch.at, REACH_PX * touch.unit)
        if found is None or find_spot(tracing, touch.at, REACH_PX * touch.unit, None):
            return
        ring, node, share = found
        path = insert_node(ring_at(tracing, ring), node, share, closed=True)
        self._let_go()
        self.desk.trace("Insert a node", with_ring(tracing, ring, path))

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:  # noqa: ARG002
        """Delete what is chosen; C makes a node a corner or smooth."""
        if self.is_busy:
            return False
        if key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            return self.desk.delete_chosen()
        spot = self.desk.overlay.chosen
        if key != Qt.Key.Key_C or spot is None:
            return False
        tracing = self.desk.tracing
        path = ring_at(tracing, spot.ring)
        node = next(n for n in path if n.id == spot.node)
        changed = set_smooth(path, spot.node, not node.smooth, closed=True)
        words = "Make a node a corner" if node.smooth else "Make a node smooth"
        self.desk.trace(words, with_ring(tracing, spot.ring, changed))
        return True

    def cancel(self) -> None:
        """Drop the drag."""
        self._let_go()
        super().cancel()

    def _let_go(self) -> None:
        self._spot = self._mark = self._ring = None
        self._has_moved = False

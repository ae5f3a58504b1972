"""The tools of the photo window: each turns presses, moves and keys into steps of the draft.

Places are the scene's, y up: pixels of the photo while it is put to scale (with y negative),
millimetres while it is traced.
"""

import math
from dataclasses import dataclass, replace

from PySide6.QtCore import Qt

from app.photo.desk import PhotoDesk
from core.document.edits.paths import (
    delete_node,
    insert_node,
    move_handle,
    move_node,
    set_smooth,
)
from core.document.path import Node
from core.errors import LaplineError
from core.ids import NodeId
from core.read.photo_scale import Method
from core.read.photo_trace import (
    Spot,
    TracedMark,
    Tracing,
    drawn_ring,
    find_mark,
    find_segment,
    find_spot,
    pulled_node,
    ring_at,
    round_ring,
    with_ring,
)

Place = tuple[float, float]
REACH_PX = 11.0
DRAG_PX = 4.0
NUDGES = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


@dataclass(frozen=True, slots=True)
class Touch:
    """Where the pointer is.

    Attributes:
        at: in the scene.
        unit: how much of the scene a screen pixel shows.
        is_free: whether catching is held off (Alt).
    """

    at: Place
    unit: float
    is_free: bool = False


class Hand:
    """A tool; nothing happens until a kind of tool says so."""

    hint = "Drag with the middle button or Space to move, turn the wheel to zoom."
    cursor = Qt.CursorShape.ArrowCursor
    magnifies = False

    def __init__(self, desk: PhotoDesk) -> None:
        self.desk = desk

    @property
    def is_busy(self) -> bool:
        """Whether something is being drawn or dragged."""
        return False

    def press(self, touch: Touch) -> None:
        """The left button went down."""

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """The pointer moved."""

    def release(self, touch: Touch) -> None:
        """The left button was let go."""

    def double_click(self, touch: Touch) -> None:
        """The second press of a double click."""

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:  # noqa: ARG002
        """A key; tell whether it was used."""
        return False

    def cancel(self) -> None:
        """Leave no trace of what was begun."""
        self.desk.show(self.desk.resting_overlay())

    def _refuse(self, error: LaplineError) -> None:
        self.desk.refused.emit(error)
        self.cancel()


class PlacesHand(Hand):
    """Drags the corners of the rectangle, or the ends of the length, on the photo."""

    hint = (
        "Drag each mark onto its place · arrow keys move it by a pixel, with Shift by a tenth"
    )
    cursor = Qt.CursorShape.CrossCursor
    magnifies = True

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._held: int | None = None
        self._off: Place = (0.0, 0.0)
        self._at: Place = (0.0, 0.0)

    @property
    def is_busy(self) -> bool:
        """Whether a mark is being dragged."""
        return self._held is not None

    def _places(self) -> tuple[Place, ...]:
        draft = self.desk.draft
        return draft.corners if draft.method is Method.RECTANGLE else draft.ends

    def press(self, touch: Touch) -> None:
        """Take hold of the nearest mark within reach."""
        places = [(x, -y) for x, y in self._places()]
        away = [math.dist(p, touch.at) for p in places]
        nearest = min(range(len(places)), key=away.__getitem__)
        if away[nearest] > 2 * REACH_PX * touch.unit:
            return
        self._held = nearest
        x, y = places[nearest]
        self._off = (x - touch.at[0], y - touch.at[1])
        self._show(touch)

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Drag it."""
        if is_down and self._held is not None:
            self._show(touch)

    def release(self, touch: Touch) -> None:
        """Let go: one step."""
        if self._held is None:
            return
        held, self._held = self._held, None
        self._put(held, (touch.at[0] + self._off[0], touch.at[1] + self._off[1]))

    def _show(self, touch: Touch) -> None:
        assert self._held is not None
        at = (touch.at[0] + self._off[0], touch.at[1] + self._off[1])
        look = self.desk.overlay
        corners = tuple(at if i == self._held else p for i, p in enumerate(look.corners))
        self.desk.show(replace(look, corners=corners, active=self._held))

    def _put(self, which: int, at: Place) -> None:
        w, h = self.desk.picture.size_px
        spot = (min(max(at[0], 0.0), float(w)), min(max(-at[1], 0.0), float(h)))
        places = tuple(spot if i == which else p for i, p in enumerate(self._places()))
        draft = self.desk.draft
        self.desk.show(replace(self.desk.overlay, active=which))
        if draft.method is Method.RECTANGLE:
            self.desk.do("Move a corner", replace(draft, corners=places))
        else:
            self.desk.do("Move an end", replace(draft, ends=places))

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:
        """Nudge the mark that was moved last."""
        if key not in NUDGES or self.is_busy:
            return False
        which = self.desk.overlay.active or 0
        step = 0.1 if is_fine else 1.0
        x, y = self._places()[which]
        dx, dy = NUDGES[key]
        self._put(which, (x + dx * step, -y + dy * step))
        return True

    def cancel(self) -> None:
        """Drop the drag."""
        self._held = None
        super().cancel()


class BoxHand(Hand):
    """Draws a rough rectangle around the part, in which its outline is looked for."""

    hint = "Drag a rectangle around the whole part, a little larger than it"
    cursor = Qt.CursorShape.CrossCursor

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._from: Place | None = None

    @property
    def is_busy(self) -> bool:
        """Whether the rectangle is being drawn."""
        return self._from is not None

    def press(self, touch: Touch) -> None:
        """Begin at a corner."""
        if not self.desk.is_busy:
            self._from = touch.at

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Stretch it."""
        if is_down and self._from is not None:
            look = self.desk.resting_overlay()
            self.desk.show(replace(look, box=(self._from, touch.at)))

    def release(self, touch: Touch) -> None:
        """Look for the outline in it."""
        if self._from is None:
            return
        (ax, ay), (bx, by) = self._from, touch.at
        self._from = None
        self.desk.show(self.desk.resting_overlay())
        if min(abs(ax - bx), abs(ay - by)) < 6 * touch.unit:
            self.desk.said.emit("Drag from one corner to the other.")
            return
        self.desk.find_outline((min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)))

    def cancel(self) -> None:
        """Drop the rectangle."""
        self._from = None
        super().cancel()


class RingHand(Hand):
    """Draws a ring node by node: the outline, or an opening."""

    hint = (
        "Click for corners, drag for curves · Enter or the first node closes · Backspace: one "
        "back · Alt: catch nothing"
    )
    cursor = Qt.CursorShape.CrossCursor
    magnifies = True

    def __init__(self, desk: PhotoDesk, *, is_opening: bool) -> None:
        super().__init__(desk)
        self.is_opening = is_opening
        self._nodes: list[Node] = []
        self._is_down = False

    @property
    def is_busy(self) -> bool:
        """Whether a ring is begun."""
        return bool(self._nodes)

    def press(self, touch: Touch) -> None:
        """Place a node, or close on the first."""
        reach = REACH_PX * touch.unit
        if len(self._nodes) >= 3 and math.dist(self._nodes[0].at, touch.at) <= reach:
            self._close()
            return
        at = self._caught(touch) or touch.at
        self._nodes.append(pulled_node(f"n{len(self._nodes) + 1}", at, None))
        self._is_down = True
        self._show(touch)

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Pull the new node smooth, or let the next stretch dangle."""
        if is_down and self._is_down and self._nodes:
            last = self._nodes[-1]
            is_pulled = math.dist(last.at, touch.at) > DRAG_PX * touch.unit
            self._nodes[-1] = pulled_node(last.id, last.at, touch.at if is_pulled else None)
        self._show(touch)

    def release(self, touch: Touch) -> None:
        """The node is as it shall be."""
        self._is_down = False
        self._show(touch)

    def double_click(self, touch: Touch) -> None:  # noqa: ARG002 - its first click placed it
        """Close with the node that the first click has placed."""
        self._close()

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:  # noqa: ARG002
        """Enter closes, Backspace takes back a node."""
        if not self._nodes:
            return False
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._close()
            return True
        if key == Qt.Key.Key_Backspace:
            self._nodes.pop()
            self.desk.show(replace(self.desk.resting_overlay(), draft=tuple(self._nodes)))
            return True
        return False

    def cancel(self) -> None:
        """Drop the ring."""
        self._nodes.clear()
        self._is_down = False
        super().cancel()

    def _caught(self, touch: Touch) -> Place | None:
        return self.desk.caught(touch.at, REACH_PX * touch.unit, is_free=touch.is_free)

    def _show(self, touch: Touch) -> None:
        caught = None if self._is_down else self._caught(touch)
        tip = Node(id=NodeId("n0"), at=caught or touch.at)
        dangling = (self._nodes[-1], tip) if self._nodes and not self._is_down else ()
        look = self.desk.resting_overlay()
        self.desk.show(
            replace(look, draft=tuple(self._nodes), dangling=dangling, caught=caught)
        )

    def _close(self) -> None:
        try:
            ring = drawn_ring(self._nodes)
        except LaplineError as error:
            self._is_down = False
            self.desk.refused.emit(error)
            return
        self._nodes.clear()
        self._is_down = False
        tracing = self.desk.tracing
        if self.is_opening:
            self.desk.trace(
                "Draw an opening", replace(tracing, openings=(*tracing.openings, ring))
            )
        else:
            self.desk.trace("Draw the outline", replace(tracing, outline=ring))
            self.desk.set_tool("edit")


class RoundHand(Hand):
    """Draws a round opening from its middle outwards."""

    hint = "Drag from the middle of the hole to its rim"
    cursor = Qt.CursorShape.CrossCursor
    magnifies = True

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._middle: Place | None = None

    @property
    def is_busy(self) -> bool:
        """Whether a circle is begun."""
        return self._middle is not None

    def press(self, touch: Touch) -> None:
        """Begin at the middle."""
        self._middle = touch.at

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Stretch it; its rim catches edges."""
        if not is_down or self._middle is None:
            return
        rim = self._rim(touch)
        look = self.desk.resting_overlay()
        circle = self._middle, math.dist(self._middle, rim)
        self.desk.show(replace(look, circle=circle, caught=rim if rim != touch.at else None))

    def release(self, touch: Touch) -> None:
        """Make the opening."""
        if self._middle is None:
            return
        middle, self._middle = self._middle, None
        radius = math.dist(middle, self._caught_from(middle, touch))
        tracing = self.desk.tracing
        try:
            ring = round_ring(middle, radius)
        except LaplineError as error:
            self._refuse(error)
            return
        self.desk.trace(
            "Draw a round opening", replace(tracing, openings=(*tracing.openings, ring))
        )

    def cancel(self) -> None:
        """Drop the circle."""
        self._middle = None
        super().cancel()

    def _rim(self, touch: Touch) -> Place:
        assert self._middle is not None
        return self._caught_from(self._middle, touch)

    def _caught_from(self, middle: Place, touch: Touch) -> Place:
        reach = REACH_PX * touch.unit
        if math.dist(middle, touch.at) <= reach:
            return touch.at
        return self.desk.caught(touch.at, reach, is_free=touch.is_free) or touch.at


class MarkHand(Hand):
    """Places marks: bolts, recesses, damage, badges, ridges."""

    hint = "Click to place a mark of the chosen kind"
    cursor = Qt.CursorShape.CrossCursor
    magnifies = True

    def press(self, touch: Touch) -> None:
        """Place it."""
        mark = TracedMark(self.desk.mark_kind, touch.at, self.desk.mark_radius_mm)
        tracing = self.desk.tracing
        self.desk.trace(
            f"Place a {mark.kind.value}", replace(tracing, marks=(*tracing.marks, mark))
        )


class EditHand(Hand):
    """Moves nodes, handles and marks; inserts and deletes nodes."""

    hint = "Drag nodes and handles · double-click a line: new node · C: corner or smooth · Del"

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._spot: Spot | None = None
        self._mark: int | None = None
        self._from: Place = (0.0, 0.0)
        self._has_moved = False

    @property
    def is_busy(self) -> bool:
        """Whether something is being dragged."""
        return self._spot is not None or self._mark is not None

    def press(self, touch: Touch) -> None:
        """Take hold of a node, a handle or a mark."""
        reach = REACH_PX * touch.unit
        tracing, look = self.desk.tracing, self.desk.overlay
        self._spot = find_spot(tracing, touch.at, reach, look.chosen)
        self._mark = None if self._spot else find_mark(tracing, touch.at, reach)
        self._from, self._has_moved = touch.at, False
        chosen = Spot(self._spot.ring, self._spot.node, "node") if self._spot else None
        self.desk.show(replace(look, chosen=chosen, chosen_mark=self._mark))

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Drag it."""
        if not is_down or not self.is_busy:
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
            words = "mark" if self._mark is not None else self._part()
            self._spot = self._mark = None
            self.desk.trace(f"Move a {words}", tracing)
        self._spot = self._mark = None

    def _part(self) -> str:
        return "node" if self._spot is None or self._spot.part == "node" else "handle"

    def _moved(self, touch: Touch) -> tuple[Tracing, Place | None]:
        tracing = self.desk.tracing
        if self._mark is not None:
            marks = list(tracing.marks)
            marks[self._mark] = replace(marks[self._mark], at=touch.at)
            return replace(tracing, marks=tuple(marks)), None
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
        which = "before" if spot.part == "before" else "after"
        moved = move_handle(path, spot.node, which, offset)  # type: ignore[arg-type]
        return with_ring(tracing, spot.ring, moved), None

    def double_click(self, touch: Touch) -> None:
        """Insert a node on a line."""
        tracing = self.desk.tracing
        found = find_segment(tracing, touch.at, REACH_PX * touch.unit)
        if found is None or find_spot(tracing, touch.at, REACH_PX * touch.unit, None):
            return
        ring, node, share = found
        path = insert_node(ring_at(tracing, ring), node, share, closed=True)
        self._spot = None
        self.desk.trace("Insert a node", with_ring(tracing, ring, path))

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:  # noqa: ARG002
        """Delete what is chosen; C makes a node a corner or smooth."""
        look, tracing = self.desk.overlay, self.desk.tracing
        if self.is_busy:
            return False
        if look.chosen_mark is not None and key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            kept = tuple(m for i, m in enumerate(tracing.marks) if i != look.chosen_mark)
            self.desk.show(replace(look, chosen_mark=None))
            self.desk.trace("Delete a mark", replace(tracing, marks=kept))
            return True
        spot = look.chosen
        if spot is None:
            return False
        path = ring_at(tracing, spot.ring)
        if key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            if len(path) <= 3:
                self.desk.trace("Delete a ring", with_ring(tracing, spot.ring, None))
            else:
                shorter = delete_node(path, spot.node, closed=True)
                self.desk.trace("Delete a node", with_ring(tracing, spot.ring, shorter))
            return True
        if key == Qt.Key.Key_C:
            node = next(n for n in path if n.id == spot.node)
            changed = set_smooth(path, spot.node, not node.smooth, closed=True)
            words = "Make a node a corner" if node.smooth else "Make a node smooth"
            self.desk.trace(words, with_ring(tracing, spot.ring, changed))
            return True
        return False

    def cancel(self) -> None:
        """Drop the drag."""
        self._spot = self._mark = None
        self._has_moved = False
        super().cancel()


def hands_of(desk: PhotoDesk) -> dict[str, Hand]:
    """Return every tool by its name; "" only looks."""
    return {
        "": Hand(desk),
        "places": PlacesHand(desk),
        "find": BoxHand(desk),
        "outline": RingHand(desk, is_opening=False),
        "opening": RingHand(desk, is_opening=True),
        "round": RoundHand(desk),
        "mark": MarkHand(desk),
        "edit": EditHand(desk),
    }

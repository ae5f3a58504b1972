"""The tools that draw on the flat photo: rings node by node, round openings, marks."""

import math
from dataclasses import replace

from PySide6.QtCore import Qt

from app.photo.desk import PhotoDesk
from app.photo.hand import DRAG_PX, REACH_PX, Hand, Place, Touch
from core.document.panel import MarkKind
from core.document.path import Node
from core.document.plain_rings import round_ring
from core.errors import LaplineError
from core.ids import NodeId
from core.read.photo_trace import TracedMark, drawn_ring, pulled_node


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
            self.refuse(error)
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
    """Places marks: bolts, recesses, damage and badges as spots, ridges as lines too."""

    hint = "Click to place a mark · a ridge: drag along it, or click points and press Enter"
    cursor = Qt.CursorShape.CrossCursor
    magnifies = True

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._points: list[Place] = []
        self._pressed: Place | None = None

    @property
    def is_busy(self) -> bool:
        """Whether a ridge is begun."""
        return bool(self._points)

    def press(self, touch: Touch) -> None:
        """Place a spot, or the next point of a ridge."""
        if self.desk.mark_kind is not MarkKind.RIDGE:
            self._points.clear()
            self._place(self.desk.mark_kind, (touch.at,))
            return
        self._points.append(self._caught(touch) or touch.at)
        self._pressed = touch.at
        self._show(touch)

    def move(self, touch: Touch, *, is_down: bool) -> None:  # noqa: ARG002 - both alike
        """Let the next stretch dangle."""
        if self.desk.mark_kind is MarkKind.RIDGE:
            self._show(touch)

    def release(self, touch: Touch) -> None:
        """A ridge that was dragged is whole; one that was clicked goes on."""
        pressed, self._pressed = self._pressed, None
        if pressed is None or len(self._points) != 1:
            return
        if math.dist(pressed, touch.at) > 2 * DRAG_PX * touch.unit:
            self._points.append(self._caught(touch) or touch.at)
            self._finish()

    def double_click(self, touch: Touch) -> None:  # noqa: ARG002 - its first click placed it
        """End the ridge with the point that the first click has placed."""
        self._finish()

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:  # noqa: ARG002
        """Enter ends a ridge, Backspace takes back a point."""
        if not self._points:
            return False
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._finish()
            return True
        if key == Qt.Key.Key_Backspace:
            self._points.pop()
            self.desk.show(replace(self.desk.resting_overlay(), draft=self._draft()))
            return True
        return False

    def cancel(self) -> None:
        """Drop the ridge."""
        self._points.clear()
        self._pressed = None
        super().cancel()

    def _caught(self, touch: Touch) -> Place | None:
        return self.desk.caught(touch.at, REACH_PX * touch.unit, is_free=touch.is_free)

    def _draft(self) -> tuple[Node, ...]:
        return tuple(Node(id=NodeId(f"n{i}"), at=p) for i, p in enumerate(self._points, 1))

    def _show(self, touch: Touch) -> None:
        caught, nodes = self._caught(touch), self._draft()
        tip = Node(id=NodeId("n0"), at=caught or touch.at)
        self.desk.show(
            replace(
                self.desk.resting_overlay(),
                draft=nodes,
                dangling=(nodes[-1], tip) if nodes else (),
                caught=caught,
            )
        )

    def _finish(self) -> None:
        if self._points:
            points, self._points = tuple(self._points), []
            self._place(MarkKind.RIDGE, points)

    def _place(self, kind: MarkKind, points: tuple[Place, ...]) -> None:
        mark = TracedMark(kind, points, self.desk.mark_radius_mm)
        tracing = self.desk.tracing
        marks = (*tracing.marks, mark)
        self.desk.trace(f"Place a {kind.value}", replace(tracing, marks=marks))

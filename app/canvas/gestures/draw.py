"""Drawing paths, one click for each node: seams and inlays, and what else has a path."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt

from app.canvas.gestures.base import DRAG_PX, Desk, Gesture, Pointer, Tool
from app.canvas.gestures.snapper import Snapper
from app.selection import Selection
from core.document.edits.ids import free_id
from core.document.edits.lines import add_line
from core.document.hit import (
    bearing_deg,
    distance_mm,
    drawn_node,
    drawn_path,
    moved_by,
    point_from,
)
from core.document.job import Job
from core.document.lines import Inlay, Line, Relief, Seam, line_name
from core.document.panel import Panel
from core.document.path import Node, Path, Point
from core.geometry.snapping import Catch, CatchKind, guide_from, on_track
from core.ids import PanelId
from core.plan.lookup import to_panel
from core.tolerance import REACH_MM

DRAW_KEYS = (
    "Drag: curve · digits: length · X: across and up · Backspace: one back"
    " · Enter: done · Esc: drop"
)


class DrawPath(Gesture):
    """Places the nodes of a path on one panel; kinds of line say when it is whole."""

    hint = DRAW_KEYS
    closes = False
    least = 2
    is_open = False
    """Whether places on other panels are caught too."""

    def __init__(self, desk: Desk, panel: Panel) -> None:
        super().__init__(desk)
        self.panel = panel
        self.snapper = Snapper(desk, panel, is_open=self.is_open)
        self.nodes: list[Node] = []
        self.caught: list[Catch | None] = []
        self.pressed: Pointer | None = None
        self.at: Point = (0.0, 0.0)

    # What a kind of path decides

    def adding(self, path: Path) -> Callable[[], Job]:
        """Return the edit that adds what a path gives."""
        raise NotImplementedError

    def complete(self) -> None:
        """The path is whole: make the edit."""
        raise NotImplementedError

    def is_end(self, caught: Catch | None) -> bool:
        """Whether a node so caught ends the path: on a rim or line, away from the start."""
        return (
            len(self.nodes) >= self.least
            and caught is not None
            and caught.track is not None
            and distance_mm(self.nodes[0].at, caught.at) > self.desk.reach_mm
        )

    # From the first click to the last

    def press(self, pointer: Pointer) -> None:
        """Place a node."""
        at, caught = self._catch(pointer)
        self.pressed = pointer
        self._place(at, caught)
        self._show(at, caught)

    def _place(self, at: Point, caught: Catch | None) -> None:
        self.nodes.append(drawn_node(f"n{len(self.nodes) + 1}", at))
        self.caught.append(caught)

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Let the rest dangle; with the button down pull the new node smooth."""
        if is_down and self.pressed is not None:
            if (pointer.px - self.pressed.px).manhattanLength() >= DRAG_PX:
                pulled = to_panel(self.panel, pointer.at)
                last = self.nodes[-1]
                self.nodes[-1] = drawn_node(last.id, last.at, pulled)
            self._show(self.nodes[-1].at, self.caught[-1])
            return
        at, caught = self._catch(pointer)
        self._show(at, caught)

    def release(self, pointer: Pointer) -> None:  # noqa: ARG002 - the press placed it
        """The node is as it shall be; it may have been the last."""
        self.pressed = None
        if self.is_end(self.caught[-1]):
            self.complete()

    def double_click(self, pointer: Pointer) -> None:  # noqa: ARG002 - its first click placed it
        """Finish with the node that the first click has placed."""
        self._try_complete()

    def key(self, key: Qt.Key) -> bool:
        """Enter finishes, Backspace takes back the last node."""
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._try_complete()
            return True
        if key == Qt.Key.Key_Backspace:
            self.nodes.pop()
            self.caught.pop()
            if self.nodes:
                self._show(self.at, None)
            else:
                self.cancel()
            return True
        return False

    def _try_complete(self) -> None:
        if len(self.nodes) >= self.least:
            self.complete()
        else:
            self.desk.session.message("Place another point first.")

    def asks(self) -> tuple[str, ...]:
        """Length and direction of the next stretch can be typed."""
        return ("length", "angle") if self.nodes and self.pressed is None else ()

    def typed(self, sizes: Sequence[float | None]) -> None:
        """Place a node at a typed length and direction; the pointer gives what is not typed."""
        self._place_at(self._polar(sizes))

    def step_typed(self, step: Sequence[float | None]) -> None:
        """Place a node a typed step across and up from the last; nothing typed is 0."""
        self._place_at(self._stepped(step))

    def show_typed(self, sizes: Sequence[float | None]) -> None:
        """Let the rest dangle to where the typed length and direction lead."""
        at = self._polar(sizes)
        self._show(at, on_track(self.snapper.field, at, REACH_MM))

    def show_step(self, step: Sequence[float | None]) -> None:
        """Let the rest dangle to where the typed step leads."""
        at = self._stepped(step)
        self._show(at, on_track(self.snapper.field, at, REACH_MM))

    def _polar(self, sizes: Sequence[float | None]) -> Point:
        length, angle = sizes
        last = self.nodes[-1].at
        length = distance_mm(last, self.at) if length is None else length
        angle = bearing_deg(last, self.at) if angle is None else angle
        return point_from(last, length, angle)

    def _stepped(self, step: Sequence[float | None]) -> Point:
        return moved_by(self.nodes[-1].at, (step[0] or 0.0, step[1] or 0.0))

    def _place_at(self, at: Point) -> None:
        caught = on_track(self.snapper.field, at, REACH_MM)
        self._place(at, caught)
        self._show(at, caught)
        if self.is_end(caught):
            self.complete()

    def path(self, *extra: Node) -> Path:
        """Return the nodes placed so far as a path."""
        return drawn_path([*self.nodes, *extra], closed=self.closes)

    def _catch(self, pointer: Pointer) -> tuple[Point, Catch | None]:
        guide = guide_from(self.snapper.field, [n.at for n in self.nodes])
        at, caught = self.snapper.catch(pointer, guide)
        self.at = at
        return at, caught

    def _show(self, at: Point, caught: Catch | None) -> None:
        """Show what is placed and what dangles, with its sizes."""
        rest = (self.nodes[-1], drawn_node("n0", at)) if self.nodes else ()
        if rest and self.pressed is not None:
            rest = ()
        sizes: tuple[str, ...] = ()
        if rest:
            length = self.desk.say_length(distance_mm(rest[0].at, at))
            sizes = (f"{length}  {bearing_deg(rest[0].at, at):.0f}°",)
        scene = self.desk.scene
        scene.draft.show_draft(self.path(), rest, scene.theme, self.panel.at)
        self.snapper.show(at, caught, sizes)
        self._preview(at, caught)

    def _preview(self, at: Point, caught: Catch | None) -> None:
        """Plan what is drawn live while it would be whole."""
        last = self.nodes[-1].at if self.nodes else None
        if last is not None and self.is_whole(at, caught):
            is_shown = self.desk.preview(self.adding(self.path(*self.next_node(at))))
        else:
            is_shown = False
        if not is_shown:
            self.desk.session.drop_preview()

    def next_node(self, at: Point) -> tuple[Node, ...]:
        """Return the node that a click would place; none where it would place no other one."""
        return () if self.nodes[-1].at == at else (drawn_node("n0", at),)

    def is_whole(self, at: Point, caught: Catch | None) -> bool:
        """Whether the line would be whole if it ended here."""
        is_far = distance_mm(self.nodes[0].at, at) > self.desk.reach_mm
        starts_on = self.caught[0] is not None and self.caught[0].track is not None
        return starts_on and is_far and caught is not None and caught.track is not None


class DrawLine(DrawPath):
    """Draws a line of the variant.

    Attributes:
        starts_on: where the first click goes, in words.
    """

    starts_on = "a panel"

    def line(self, path: Path) -> Line:
        """Return the line that a path gives."""
        raise NotImplementedError

    def adding(self, path: Path) -> Callable[[], Job]:
        """Return the edit that adds the line."""
        line = self.line(path)
        return lambda: add_line(self.base, self.desk.variant, self.panel.id, line)

    def complete(self) -> None:
        """The path is whole: make the edit."""
        path = self.path()
        line = self.line(path)
        if self.desk.do(f"Draw {line_name(line)}", self.adding(path)):
            select = Selection("line", (line.id,), PanelId(self.panel.id))
            self.desk.session.select(select)
        self.finish()


class DrawSeam(DrawLine):
    """Draws a seam; both sides keep the film they have until they are painted."""

    def line(self, path: Path) -> Line:
        """Return the seam."""
        return Seam(id=free_id(self.base, "s"), nodes=path)


class DrawRelief(DrawLine):
    """Draws a relief cut: from a rim to its inner end, two clicks."""

    hint = "Click where the cut ends inside · digits: length · Esc: drop"
    starts_on = "a panel's rim"

    def start_of(self, pointer: Pointer) -> tuple[Point, Catch] | None:
        """Return where on a rim, an opening or a line a cut starts; None away from them all."""
        at, caught = self.snapper.catch(pointer)
        if caught is None or caught.track is None:
            caught = on_track(self.snapper.field, at, self.desk.reach_mm)
        return None if caught is None else (caught.at, caught)

    def _catch(self, pointer: Pointer) -> tuple[Point, Catch | None]:
        start = None if self.nodes else self.start_of(pointer)
        return start or super()._catch(pointer)

    def line(self, path: Path) -> Line:
        """Return the relief cut."""
        return Relief(id=free_id(self.base, "e"), nodes=path)

    def is_end(self, caught: Catch | None) -> bool:  # noqa: ARG002 - the second node ends it
        """The second node ends it; more are inserted later."""
        ends = self.nodes[0].at, self.nodes[-1].at
        return len(self.nodes) >= self.least and distance_mm(*ends) > self.desk.reach_mm

    def is_whole(self, at: Point, caught: Catch | None) -> bool:  # noqa: ARG002
        """From two nodes on it can be shown."""
        return distance_mm(self.nodes[0].at, at) > self.desk.reach_mm


class DrawClosed(DrawPath):
    """Draws a closed shape; a click on its first node closes it."""

    hint = "Click the first point or press Enter to close · " + DRAW_KEYS
    closes = True
    least = 3

    def _is_closing(self, at: Point) -> bool:
        near = distance_mm(self.nodes[0].at, at) <= self.desk.reach_mm if self.nodes else False
        return near and len(self.nodes) >= self.least

    def press(self, pointer: Pointer) -> None:
        """Place a node, or close the shape."""
        if self._is_closing(to_panel(self.panel, pointer.at)):
            self.complete()
        else:
            super().press(pointer)

    def release(self, pointer: Pointer) -> None:
        """Nothing ends the shape but its first node."""
        self.pressed = None
        self.move(pointer, is_down=False)

    def _catch(self, pointer: Pointer) -> tuple[Point, Catch | None]:
        if self._is_closing(to_panel(self.panel, pointer.at)):
            self.at = self.nodes[0].at
            return self.at, Catch(self.at, CatchKind.NODE, None, 0.0)
        return super()._catch(pointer)

    def is_end(self, caught: Catch | None) -> bool:  # noqa: ARG002 - only the first node ends it
        """Nothing that is caught ends the shape."""
        return False

    def next_node(self, at: Point) -> tuple[Node, ...]:
        """A click on the first node places none."""
        return () if self._is_closing(at) else super().next_node(at)

    def is_whole(self, at: Point, caught: Catch | None) -> bool:  # noqa: ARG002
        """From three nodes on it can be shown."""
        return len(self.nodes) + len(self.next_node(at)) >= self.least


class DrawInlay(DrawClosed, DrawLine):
    """Draws an inlay in the current film."""

    def __init__(self, desk: Desk, panel: Panel) -> None:
        super().__init__(desk, panel)
        self.film = desk.film_for(panel)

    def line(self, path: Path) -> Line:
        """Return the inlay."""
        return Inlay(id=free_id(self.base, "i"), nodes=path, film=self.film)


class PlacingTool(Tool):
    """A tool whose gestures start on a panel, at a place that may be caught.

    Attributes:
        article: what starts there, with its article.
    """

    cursor = Qt.CursorShape.CrossCursor
    article = ""

    def begin(self, pointer: Pointer) -> Gesture | None:
        """Start on the panel under the pointer."""
        panel = self.desk.panel_under(pointer)
        if panel is None:
            self.desk.session.message(f"{self.article} starts on a panel.")
            return None
        self.desk.scene.catch.clear()
        return self.gesture_on(panel)

    def gesture_on(self, panel: Panel) -> Gesture:
        """Return the gesture that starts on a panel."""
        raise NotImplementedError

    def hover(self, pointer: Pointer) -> None:
        """Show what a first click would catch."""
        panel = self.desk.panel_under(pointer)
        if panel is None:
            self.desk.scene.catch.clear()
            return
        snapper = Snapper(self.desk, panel)
        at, caught = snapper.catch(pointer)
        snapper.show(at, caught)


class DrawTool(PlacingTool):
    """Starts a line where one clicks on a panel."""

    def __init__(self, desk: Desk, name: str, kind: type[DrawLine], words: str = "") -> None:
        super().__init__(desk)
        self.name = name
        self.kind = kind
        self.article = f"A {words or name}"
        self.hint = f"Click on {kind.starts_on} to start the {words or name}"

    def gesture_on(self, panel: Panel) -> Gesture:
        """Return the drawing of a line on a panel."""
        return self.kind(self.desk, panel)


class ReliefTool(DrawTool):
    """Starts relief cuts, where one clicks on a rim, an opening or a line."""

    def begin(self, pointer: Pointer) -> Gesture | None:
        """Start at what is caught; away from all of it say where to click."""
        gesture = super().begin(pointer)
        if isinstance(gesture, DrawRelief) and gesture.start_of(pointer) is None:
            words = (
                "A relief cut starts on the rim, an opening or a line: click on one of them."
            )
            self.desk.session.message(words)
            return None
        return gesture

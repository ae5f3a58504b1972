"""Placing openings and marks: what is drawn on a panel itself, for all variants alike."""

import math
from collections.abc import Callable, Sequence

from app.canvas.gestures.base import DRAG_PX, Desk, Gesture, OpeningShape, Pointer
from app.canvas.gestures.draw import DRAW_KEYS, DrawClosed, DrawPath, PlacingTool
from app.canvas.gestures.snapper import Snapper
from app.selection import Selection
from core.document.edits.belongings import add_mark, add_opening
from core.document.edits.ids import free_id
from core.document.hit import distance_mm, moved_by, offset_between
from core.document.job import Job
from core.document.panel import Mark, MarkKind, Opening, Panel
from core.document.path import Path, Point
from core.document.plain_rings import rectangle_ring, round_ring
from core.geometry.snapping import Catch
from core.ids import PanelId
from core.plan.lookup import to_panel


class _SizedOpening(Gesture):
    """Draws an opening of a plain shape from one point to another, by a drag or two clicks."""

    sizes: tuple[str, ...] = ()

    def __init__(self, desk: Desk, panel: Panel) -> None:
        super().__init__(desk)
        self.panel = panel
        self.snapper = Snapper(desk, panel)
        self.first: Point | None = None
        self.at: Point = (0.0, 0.0)
        self.pressed: Pointer | None = None

    # What a shape decides

    def ring(self, at: Point) -> Path:
        """Return the shape that reaches to a point. EditRefused when it has no size."""
        raise NotImplementedError

    def sized(self, sizes: Sequence[float | None]) -> Point:
        """Return the point that gives the shape these sizes."""
        raise NotImplementedError

    def words(self, at: Point) -> str:
        """Return the sizes of the shape that reaches to a point."""
        raise NotImplementedError

    def rounded(self, at: Point) -> Point:
        """Return a place near a point that gives whole millimetres."""
        raise NotImplementedError

    # From the press to the release, or to the second click

    def press(self, pointer: Pointer) -> None:
        """Settle the first point, or the size."""
        if self.first is None:
            self.first, _ = self.snapper.catch(pointer)
            self.at, self.pressed = self.first, pointer
        else:
            self._reach(pointer)
            self._complete(self.at)

    def move(self, pointer: Pointer, *, is_down: bool) -> None:  # noqa: ARG002 - both alike
        """Let the shape reach to the pointer."""
        self._reach(pointer)

    def release(self, pointer: Pointer) -> None:
        """After a drag the shape stands; after a click it goes on to the next one."""
        pressed, self.pressed = self.pressed, None
        if pressed and (pointer.px - pressed.px).manhattanLength() >= DRAG_PX:
            self._complete(self.at)

    def asks(self) -> tuple[str, ...]:
        """The sizes can be typed once the first point stands."""
        return self.sizes if self.first is not None else ()

    def typed(self, sizes: Sequence[float | None]) -> None:
        """Take typed sizes; the pointer gives what is not typed."""
        self._complete(self.sized(sizes))

    def show_typed(self, sizes: Sequence[float | None]) -> None:
        """Show the shape in the sizes typed so far."""
        self._show(self.sized(sizes), None)

    def _reach(self, pointer: Pointer) -> None:
        at, caught = self.snapper.catch(pointer)
        self.at = at if caught or pointer.is_free else self.rounded(at)
        self._show(self.at, caught)

    def _show(self, at: Point, caught: Catch | None) -> None:
        self.snapper.show(at, caught, (self.words(at),))
        if not self.desk.preview(lambda: self._job(at)):
            self.desk.session.drop_preview()

    def _opening(self, at: Point) -> Opening:
        return Opening(id=free_id(self.base, "o"), nodes=self.ring(at))

    def _job(self, at: Point) -> Job:
        return add_opening(self.base, self.panel.id, self._opening(at))

    def _complete(self, at: Point) -> None:
        """Make the edit; where it is refused go on, so that another size may do."""
        sentence = f"Draw an opening in {self.panel.name}"
        if self.desk.do(sentence, lambda: self._job(at)):
            _select_opening(self.desk, self.panel, self._opening(at))
            self.finish()


class RoundOpening(_SizedOpening):
    """Draws a round opening from its middle out."""

    hint = "Drag or click: radius · digits: radius · Alt: no snapping · Esc: drop"
    sizes = ("radius",)

    def ring(self, at: Point) -> Path:
        """Return the circle through a point."""
        return round_ring(self._middle, distance_mm(self._middle, at))

    def sized(self, sizes: Sequence[float | None]) -> Point:
        """Return a point of a circle of that radius."""
        return self.at if sizes[0] is None else moved_by(self._middle, (sizes[0], 0.0))

    def words(self, at: Point) -> str:
        """Return the radius."""
        return f"radius {self.desk.say_length(distance_mm(self._middle, at))}"

    def rounded(self, at: Point) -> Point:
        """Return a point at whole millimetres from the middle."""
        return moved_by(self._middle, (float(round(distance_mm(self._middle, at))), 0.0))

    @property
    def _middle(self) -> Point:
        assert self.first is not None
        return self.first


class RectangleOpening(_SizedOpening):
    """Draws a rectangular opening from corner to corner."""

    hint = "Drag or click: the other corner · digits: width, Tab: height · Esc: drop"
    sizes = ("width", "height")

    def ring(self, at: Point) -> Path:
        """Return the rectangle with a corner at a point."""
        return rectangle_ring(self._corner, at)

    def sized(self, sizes: Sequence[float | None]) -> Point:
        """Return the other corner, on the side where the pointer is."""
        step = offset_between(self._corner, self.at)
        across, up = (
            way if size is None else math.copysign(size, way)
            for way, size in zip(step, sizes, strict=True)
        )
        return moved_by(self._corner, (across, up))

    def words(self, at: Point) -> str:
        """Return width and height."""
        width, height = (abs(way) for way in offset_between(self._corner, at))
        return f"{self.desk.say_length(width)} × {self.desk.say_length(height)}"

    def rounded(self, at: Point) -> Point:
        """Return a corner at whole millimetres across and up."""
        across, up = offset_between(self._corner, at)
        return moved_by(self._corner, (float(round(across)), float(round(up))))

    @property
    def _corner(self) -> Point:
        assert self.first is not None
        return self.first


class DrawOpening(DrawClosed):
    """Draws an opening node by node."""

    def adding(self, path: Path) -> Callable[[], Job]:
        """Return the edit that cuts the opening."""
        return lambda: add_opening(self.base, self.panel.id, self._opening(path))

    def complete(self) -> None:
        """Make the edit; where it is refused go on, so that a node can be taken back."""
        path = self.path()
        if self.desk.do(f"Draw an opening in {self.panel.name}", self.adding(path)):
            _select_opening(self.desk, self.panel, self._opening(path))
            self.finish()

    def _opening(self, path: Path) -> Opening:
        return Opening(id=free_id(self.base, "o"), nodes=path)


def _select_opening(desk: Desk, panel: Panel, opening: Opening) -> None:
    desk.session.select(Selection("opening", (opening.id,), PanelId(panel.id)))


class PlaceSpot(Gesture):
    """Places a mark at a spot; a drag gives it its radius."""

    hint = "Drag: radius · Alt: no snapping · Esc: drop"

    def __init__(self, desk: Desk, panel: Panel) -> None:
        super().__init__(desk)
        self.panel = panel
        self.snapper = Snapper(desk, panel)
        self.at: Point = (0.0, 0.0)
        self.pressed: Pointer | None = None
        self.radius_mm = desk.mark_radius_mm

    def press(self, pointer: Pointer) -> None:
        """Show the mark where it will be."""
        self.pressed = pointer
        self.at, caught = self.snapper.catch(pointer)
        self._show(caught)

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Let the mark's ring run through the pointer."""
        if not is_down or self.pressed is None:
            return
        if (pointer.px - self.pressed.px).manhattanLength() >= DRAG_PX:
            radius = distance_mm(self.at, to_panel(self.panel, pointer.at))
            self.radius_mm = radius if pointer.is_free else max(float(round(radius)), 1.0)
        self._show(None)

    def release(self, pointer: Pointer) -> None:  # noqa: ARG002 - the last move counts
        """Make the edit."""
        _place(self.desk, self.panel, self._mark(), self._job)
        self.finish()

    def _show(self, caught: Catch | None) -> None:
        self.snapper.show(self.at, caught, (f"radius {self.desk.say_length(self.radius_mm)}",))
        if not self.desk.preview(self._job):
            self.desk.session.drop_preview()

    def _mark(self) -> Mark:
        return Mark(
            id=free_id(self.base, "m"),
            kind=self.desk.mark_kind,
            path=(self.at,),
            radius_mm=self.radius_mm,
        )

    def _job(self) -> Job:
        return add_mark(self.base, self.panel.id, self._mark())


class DrawRidge(DrawPath):
    """Draws a ridge by a drag, or by clicks and Enter; it is straight between its points."""

    hint = "Drag, or click point by point · " + DRAW_KEYS.removeprefix("Drag: curve · ")
    is_dragged = False

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Let the rest dangle; a drag from the first point draws the whole ridge."""
        if is_down and self.pressed is not None:
            step = pointer.px - self.pressed.px
            if len(self.nodes) > 1 or step.manhattanLength() < DRAG_PX:
                return
            self.is_dragged, self.pressed = True, None
        super().move(pointer, is_down=False)

    def release(self, pointer: Pointer) -> None:
        """After a drag the ridge is whole."""
        if not self.is_dragged:
            super().release(pointer)
            return
        self._place(*self._catch(pointer))
        self.complete()

    def is_end(self, caught: Catch | None) -> bool:  # noqa: ARG002 - Enter ends it
        """Nothing that is caught ends a ridge."""
        return False

    def is_whole(self, at: Point, caught: Catch | None) -> bool:  # noqa: ARG002
        """From two points on it can be shown."""
        return len(self.nodes) + len(self.next_node(at)) >= self.least

    def adding(self, path: Path) -> Callable[[], Job]:
        """Return the edit that adds the ridge."""
        return lambda: add_mark(self.base, self.panel.id, self._mark(path))

    def complete(self) -> None:
        """The path is whole: make the edit."""
        path = self.path()
        _place(self.desk, self.panel, self._mark(path), self.adding(path))
        self.finish()

    def _mark(self, path: Path) -> Mark:
        return Mark(
            id=free_id(self.base, "m"),
            kind=MarkKind.RIDGE,
            path=tuple(node.at for node in path),
            radius_mm=self.desk.mark_radius_mm,
        )


_A = {kind: f"a {kind.value}" for kind in MarkKind} | {MarkKind.DAMAGE: "damage"}
"""Kinds of marks with their article."""


def _place(desk: Desk, panel: Panel, mark: Mark, edit: Callable[[], Job]) -> None:
    if desk.do(f"Mark {_A[mark.kind]} on {panel.name}", edit):
        desk.session.select(Selection("mark", (mark.id,), PanelId(panel.id)))


class OpeningTool(PlacingTool):
    """Cuts openings of the shape that is chosen in the strip of tools."""

    name = "opening"
    article = "An opening"

    def follow_choices(self) -> None:
        """Say what starts an opening of the chosen shape."""
        self.hint = _OPENINGS[self.desk.opening_shape][0]

    def gesture_on(self, panel: Panel) -> Gesture:
        """Return the drawing of an opening of the chosen shape."""
        return _OPENINGS[self.desk.opening_shape][1](self.desk, panel)


_OPENINGS: dict[OpeningShape, tuple[str, Callable[[Desk, Panel], Gesture]]] = {
    "round": ("Drag from the middle of the opening out, or click it", RoundOpening),
    "rectangle": ("Drag from corner to corner of the opening, or click", RectangleOpening),
    "points": ("Click on a panel to start the opening", DrawOpening),
}


class MarkTool(PlacingTool):
    """Places marks of the kind and radius that are chosen in the strip of tools."""

    name = "mark"
    article = "A mark"

    def follow_choices(self) -> None:
        """Say what places a mark of the chosen kind."""
        kind = self.desk.mark_kind
        if kind is MarkKind.RIDGE:
            self.hint = "Drag along the ridge, or click point by point · digits: half its width"
        else:
            self.hint = f"Click to mark {_A[kind]} · digits: radius"

    def gesture_on(self, panel: Panel) -> Gesture:
        """Return the placing of a mark of the chosen kind."""
        is_ridge = self.desk.mark_kind is MarkKind.RIDGE
        return DrawRidge(self.desk, panel) if is_ridge else PlaceSpot(self.desk, panel)

    def asks(self) -> tuple[str, ...]:
        """Before a mark is placed its radius can be typed."""
        if self.gesture is not None:
            return super().asks()
        return ("half-width",) if self.desk.mark_kind is MarkKind.RIDGE else ("radius",)

    def typed(self, sizes: Sequence[float | None], *, is_step: bool = False) -> None:
        """Take a typed radius for the marks to come."""
        if self.gesture is not None:
            super().typed(sizes, is_step=is_step)
        elif sizes[0] is not None:
            self.desk.choose_mark(self.desk.mark_kind, sizes[0])

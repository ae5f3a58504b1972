"""What gestures and tools have in common.

A *tool* stands for what the pointer does now and lives as long as the view. A *gesture* is one
action from press to release, or from the first click to the last: it works from the job as it
was when it started, previews each step through the session, and ends in one edit or without a
trace.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QPointF, Qt

from app.canvas.scene import CanvasScene
from app.selection import NOTHING, Selection
from app.session import Session
from core.document.job import Job
from core.document.panel import MarkKind, Panel
from core.document.path import Point
from core.errors import LaplineError
from core.geometry.snapping import Rules, SnapField
from core.ids import PanelId
from core.plan.lookup import drawn_plans, find_panel_at, snap_field
from core.plan.model import PanelPlan
from core.units import format_length

REACH_PX = 9.0
"""How near the pointer must be to take hold of something or to be caught."""
DRAG_PX = 4.0
"""A press that moves less than this is a click."""


@dataclass(frozen=True, slots=True)
class Pointer:
    """Where the pointer is.

    Attributes:
        at: in the canvas's frame, mm, y up.
        px: in the viewport.
        is_free: snapping is suspended (Alt held).
        is_shifted: Shift held.
        is_band: Ctrl held: a press starts a band wherever it is.
        is_outside: not over the drawing, as on a ruler.
    """

    at: Point
    px: QPointF
    is_free: bool = False
    is_shifted: bool = False
    is_band: bool = False
    is_outside: bool = False


OpeningShape = Literal["round", "rectangle", "points"]
"""How an opening is drawn: from its middle, from corner to corner, or point by point."""


@dataclass
class Desk:
    """What gestures work on and with.

    Attributes:
        px_mm: how many millimetres a screen pixel shows.
        film: the film that stripes, inlays and paint take; None before one is chosen.
        opening_shape: how openings are drawn.
        mark_kind: what the next mark is.
        mark_radius_mm: its radius; of a ridge half its width.
        chosen: called when another of these was chosen.
        has_grid: the grid is shown and caught.
        is_doing: an edit of a gesture is being made.
        say_hint: shows what can be done next.
        ended: called when a gesture has ended, however it did.
    """

    session: Session
    scene: CanvasScene
    px_mm: float = 1.0
    film: str | None = None
    say_hint: Callable[[str], None] = lambda _: None
    ended: Callable[[], None] = lambda: None
    opening_shape: OpeningShape = "round"
    mark_kind: MarkKind = MarkKind.BOLT
    mark_radius_mm: float = 5.0
    chosen: Callable[[], None] = lambda: None
    has_grid: bool = False
    is_doing: bool = False
    _field: tuple[tuple[object, ...], SnapField] | None = None

    @property
    def reach_mm(self) -> float:
        """The reach of the pointer in millimetres."""
        return REACH_PX * self.px_mm

    @property
    def job(self) -> Job:
        """The job without any preview."""
        return self.session.committed_job

    @property
    def grid_mm(self) -> float | None:
        """The spacing of the grid; None while there is none."""
        return self.job.settings.grid_mm if self.has_grid else None

    def choose_opening(self, shape: OpeningShape) -> None:
        """Draw openings so from now on."""
        self.opening_shape = shape
        self.chosen()

    def choose_mark(self, kind: MarkKind, radius_mm: float) -> None:
        """Place marks of that kind and radius from now on."""
        self.mark_kind, self.mark_radius_mm = kind, radius_mm
        self.chosen()

    def rules_from(self, origin: Point) -> Rules:
        """Return guides and grid in a frame that has its origin there on the canvas."""
        x, y = origin
        return Rules(
            tuple(g.at_mm - x for g in self.job.guides if g.way == "upright"),
            tuple(g.at_mm - y for g in self.job.guides if g.way == "level"),
            self.grid_mm,
            (-x, -y),
        )

    @property
    def variant(self) -> str:
        """The variant that is shown."""
        return self.session.variant

    def say_length(self, mm: float) -> str:
        """Return a length in the job's units."""
        return format_length(mm, self.job.units)

    def select(self, found: Selection, pointer: Pointer) -> None:
        """Select something; with Shift add it to what is selected of its kind, or drop it."""
        now = self.session.selection
        if pointer.is_shifted and now.kind == found.kind and now.kind != "none":
            both = dict.fromkeys((*now.ids, *found.ids))
            ids = tuple(i for i in both if not (i in now.ids and i in found.ids))
            found = Selection(found.kind, ids, found.panel) if ids else NOTHING
        self.session.select(found)

    def panel_under(self, pointer: Pointer) -> Panel | None:
        """Return the panel at the pointer, within reach of its rim."""
        return find_panel_at(self.session.plan, pointer.at, self.reach_mm)

    def plan_of(self, panel: Panel) -> PanelPlan | None:
        """Return what is planned for a panel as drawn."""
        return drawn_plans(self.session.plan).get(PanelId(panel.id))

    def field_of(self, panel: Panel, without: Collection[str] = ()) -> SnapField:
        """Return what can be caught on a panel; the last answer is kept while it holds."""
        scheme = self.job.scheme(self.variant, panel.id)
        plan = self.plan_of(panel)
        key = (panel, scheme, plan, frozenset(without))
        if self._field is None or not _is_same(self._field[0], key):
            self._field = key, snap_field(panel, scheme, plan, without)
        return self._field[1]

    def film_for(self, panel: Panel) -> str:
        """Return the current film; without one, the first that the panel is not covered in."""
        known = [f.id for f in self.job.films]
        if self.film in known:
            return str(self.film)
        others = [f for f in known if f != panel.base_film]
        return others[0] if others else panel.base_film

    def preview(self, edit: Callable[[], Job]) -> bool:
        """Show the job that an edit gives; say why where it is refused."""
        try:
            self.session.preview(edit())
        except LaplineError as refusal:
            self.session.message(refusal.sentence())
            return False
        return True

    def do(self, sentence: str, edit: Callable[[], Job], *, merge: str | None = None) -> bool:
        """Make an edit one undo step; where it is refused say why and change nothing."""
        self.is_doing = True
        try:
            self.session.do(sentence, edit(), merge=merge)
        except LaplineError as refusal:
            self.session.drop_preview()
            self.session.message(refusal.sentence())
            return False
        finally:
            self.is_doing = False
        return True


def _is_same(old: tuple[object, ...], new: tuple[object, ...]) -> bool:
    """Whether both hold the same objects, and the same set at the end."""
    return old[-1] == new[-1] and all(a is b for a, b in zip(old[:-1], new[:-1], strict=True))


class Gesture(ABC):
    """One action. ``is_over`` once it has made its edit or was cancelled."""

    hint = ""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.base = desk.job
        self.variant = desk.variant
        self.is_over = False

    def press(self, pointer: Pointer) -> None:  # noqa: B027 - a hook
        """The button goes down; the first press is where the gesture starts."""

    @abstractmethod
    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """The pointer has moved."""

    def release(self, pointer: Pointer) -> None:  # noqa: B027 - a hook
        """The button goes up."""

    def double_click(self, pointer: Pointer) -> None:  # noqa: B027 - a hook
        """The second press of a double click, in place of a press."""

    def key(self, key: Qt.Key) -> bool:  # noqa: ARG002 - for those that take keys
        """Take a key; whether it was taken."""
        return False

    def asks(self) -> tuple[str, ...]:
        """Return the names of the sizes that can be typed now; none when nothing can."""
        return ()

    def typed(self, sizes: Sequence[float | None]) -> None:  # noqa: B027 - a hook
        """Take typed sizes, in the order of ``asks``; None where nothing was typed."""

    def show_typed(self, sizes: Sequence[float | None]) -> None:  # noqa: B027 - a hook
        """Show what the sizes typed so far would give; None where nothing usable stands."""

    def step_typed(self, step: Sequence[float | None]) -> None:  # noqa: B027 - a hook
        """Take a typed step across and up, in place of length and angle."""

    def show_step(self, step: Sequence[float | None]) -> None:  # noqa: B027 - a hook
        """Show what the step typed so far would give."""

    def cancel(self) -> None:
        """End without a trace."""
        self.desk.session.drop_preview()
        self.finish()

    def finish(self) -> None:
        """Clear what the gesture has shown."""
        self.is_over = True
        self.desk.scene.draft.clear()
        self.desk.scene.catch.clear()
        self.desk.scene.gaps.clear()
        self.desk.ended()


class Tool(ABC):
    """What the pointer does now."""

    name = ""
    hint = ""
    cursor = Qt.CursorShape.ArrowCursor

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.gesture: Gesture | None = None
        self.follow_choices()

    def follow_choices(self) -> None:  # noqa: B027 - a hook
        """Another shape or kind was chosen for what the tool makes."""

    @property
    def is_busy(self) -> bool:
        """Whether a gesture is going on."""
        return self.gesture is not None

    @abstractmethod
    def begin(self, pointer: Pointer) -> Gesture | None:
        """Return the gesture that a press here starts, or None when the press did it all."""

    def hover(self, pointer: Pointer) -> None:  # noqa: B027 - a hook
        """The pointer moves without a gesture."""

    def press(self, pointer: Pointer) -> None:
        """The main button goes down."""
        if self.gesture is None:
            self.desk.session.hover(None)
            self.gesture = self.begin(pointer)
        if self.gesture is not None:
            self.gesture.press(pointer)
        self._settle()

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """The pointer has moved."""
        if self.gesture is None:
            self.hover(pointer)
        else:
            self.gesture.move(pointer, is_down=is_down)
        self._settle()

    def release(self, pointer: Pointer) -> None:
        """The main button goes up."""
        if self.gesture is not None:
            self.gesture.release(pointer)
        self._settle()

    def double_click(self, pointer: Pointer) -> None:
        """The second press of a double click."""
        if self.gesture is not None:
            self.gesture.double_click(pointer)
        self._settle()

    def key(self, key: Qt.Key) -> bool:
        """Take a key; whether it was taken."""
        if self.gesture is None:
            return False
        if key == Qt.Key.Key_Escape:
            self.cancel()
            return True
        is_taken = self.gesture.key(key)
        self._settle()
        return is_taken

    def asks(self) -> tuple[str, ...]:
        """Return the names of the sizes that can be typed now."""
        return self.gesture.asks() if self.gesture else ()

    def typed(self, sizes: Sequence[float | None], *, is_step: bool = False) -> None:
        """Take typed sizes, or a typed step across and up."""
        if self.gesture is not None:
            take = self.gesture.step_typed if is_step else self.gesture.typed
            take(sizes)
        self._settle()

    def show_typed(self, sizes: Sequence[float | None], *, is_step: bool = False) -> None:
        """Show what the sizes typed so far would give."""
        if self.gesture is not None:
            show = self.gesture.show_step if is_step else self.gesture.show_typed
            show(sizes)

    def start(self, gesture: Gesture) -> None:
        """Go on with a gesture that began elsewhere, as on a ruler."""
        self.cancel()
        self.gesture = gesture
        self._settle()

    def cancel(self) -> None:
        """End the gesture without a trace."""
        if self.gesture is not None:
            self.gesture.cancel()
        self._settle()

    def follow_job(self) -> None:
        """Drop a gesture whose ground has changed, as by undo or another variant meanwhile."""
        gesture, desk = self.gesture, self.desk
        if gesture is None or gesture.is_over or desk.is_doing:
            return
        if gesture.base is not desk.job or gesture.variant != desk.variant:
            self.gesture = None
            gesture.finish()
            self._settle()

    def _settle(self) -> None:
        if self.gesture is not None and self.gesture.is_over:
            self.gesture = None
        self.desk.say_hint(self.gesture.hint if self.gesture else self.hint)

"""The desk of the photo window: photo, draft, its undo steps, and background work.

Tools and pages talk to the desk; the view and the pages follow its signals. It has no widgets.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from app.jobs import Control, Work
from app.photo.draft import Draft, DraftHistory, first_draft
from app.photo.overlay import Overlay
from app.photo.pyramid import pyramid_of
from core.document.edits.paths import delete_node
from core.document.panel import MarkKind
from core.errors import LaplineError
from core.progress import Step
from core.read.photo import Picture
from core.read.photo_edges import edge_near_place
from core.read.photo_flat import Bounds, FlatPhoto, make_flat
from core.read.photo_methods import scale_by_board, scale_by_length, scale_by_rectangle
from core.read.photo_outline import find_shape
from core.read.photo_scale import Method, PhotoScale
from core.read.photo_trace import (
    DEFAULT_TOLERANCE_MM,
    OUTLINE,
    Tracing,
    fitted_tracing,
    ring_at,
    with_ring,
)

Place = tuple[float, float]
Levels = tuple[QImage, ...]
T = TypeVar("T")


class PhotoDesk(QObject):
    """One photo that is being worked on."""

    changed = Signal()
    """The draft, or which stage is shown."""
    overlay_changed = Signal()
    tool_changed = Signal(str)
    said = Signal(str)
    refused = Signal(object)
    """A LaplineError, to be shown beside what was asked for."""
    busy_changed = Signal(str)
    """What is going on in the background, or ""."""
    progressed = Signal(object)
    """How far that is: a Step."""

    def __init__(self, picture: Picture, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.picture = picture
        self.history = DraftHistory(first_draft(picture))
        self.tolerance_mm = DEFAULT_TOLERANCE_MM
        self.catches_edges = True
        self.mark_kind = MarkKind.BOLT
        self.mark_radius_mm = 5.0
        self.is_tracing = False
        self.tool = ""
        self.overlay = Overlay()
        self._levels = pyramid_of(picture.pixels)
        self._flat_levels: tuple[FlatPhoto | None, Levels] = None, ()
        self._work: Work | None = None

    @property
    def draft(self) -> Draft:
        """What stands."""
        return self.history.draft

    @property
    def tracing(self) -> Tracing:
        """What was traced."""
        return self.history.draft.tracing

    @property
    def levels(self) -> Levels:
        """The photo as it was taken, at several sizes."""
        return self._levels

    @property
    def flat_levels(self) -> Levels:
        """The flat photo at several sizes; nothing before it is put to scale."""
        flat = self.draft.flat
        if flat is not None and self._flat_levels[0] is not flat:
            self._flat_levels = flat, pyramid_of(flat.pixels)
        return self._flat_levels[1] if flat is not None else ()

    @property
    def is_busy(self) -> bool:
        """Whether something goes on in the background."""
        return self._work is not None

    # Steps

    def do(self, sentence: str, draft: Draft) -> None:
        """Make a draft the current one, as one undo step."""
        if draft is not self.draft:
            self.history.do(sentence, draft)
            self._settle()

    def trace(self, sentence: str, tracing: Tracing) -> None:
        """Make a tracing the current one, as one undo step."""
        self.do(sentence, self.draft.with_tracing(tracing))

    def delete_chosen(self) -> bool:
        """Delete the mark, the ring or the node that is chosen; tell whether there was one.

        With a node of three the whole ring goes.
        """
        look, tracing = self.overlay, self.tracing
        spot, ring = look.chosen, look.chosen_ring
        if not look.has_choice:
            return False
        self.show(replace(look, chosen=None, chosen_mark=None, chosen_ring=None))
        if look.chosen_mark is not None:
            kept = tuple(m for i, m in enumerate(tracing.marks) if i != look.chosen_mark)
            self.trace("Delete a mark", replace(tracing, marks=kept))
            return True
        if spot is not None:
            path = ring_at(tracing, spot.ring)
            if len(path) > 3:
                shorter = delete_node(path, spot.node, closed=True)
                self.trace("Delete a node", with_ring(tracing, spot.ring, shorter))
                return True
            ring = spot.ring
        assert ring is not None
        words = "the outline" if ring == OUTLINE else "an opening"
        self.trace(f"Delete {words}", with_ring(tracing, ring, None))
        return True

    def undo(self) -> None:
        """Take back the last step."""
        if not self.is_busy and self.history.undo():
            self._settle()

    def redo(self) -> None:
        """Do the last undone step again."""
        if not self.is_busy and self.history.redo():
            self._settle()

    def set_stage(self, *, is_tracing: bool) -> None:
        """Show the photo as taken, or the flat one to trace on."""
        if is_tracing != self.is_tracing:
            self.is_tracing = is_tracing
            self._settle()

    def set_tool(self, tool: str) -> None:
        """Take a tool in hand."""
        if tool != self.tool:
            self.tool = tool
            self._settle()
            self.tool_changed.emit(tool)

    def set_method(self, method: Method) -> None:
        """Choose a way of scaling; it is no step of its own."""
        if method is not self.draft.method:
            self.history.draft = replace(self.draft, method=method)
            self._settle()

    def _settle(self) -> None:
        if self.is_tracing and self.draft.flat is None:
            self.is_tracing = False
        self.show(self.resting_overlay())
        self.changed.emit()

    # What is drawn over the photo

    def show(self, overlay: Overlay) -> None:
        """Draw something else over the photo."""
        self.overlay = overlay
        self.overlay_changed.emit()

    def resting_overlay(self, draft: Draft | None = None) -> Overlay:
        """Return what is drawn while nothing is being dragged."""
        draft = draft or self.draft
        if not self.is_tracing:
            return self._scale_overlay(draft)
        tracing = draft.tracing
        if self.tool != "edit":
            return Overlay(tracing=tracing, has_nodes=False)
        old = self.overlay
        chosen = old.chosen
        if chosen is not None and not _has(tracing, chosen.ring, chosen.node):
            chosen = None
        mark, ring = old.chosen_mark, old.chosen_ring
        if mark is not None and mark >= len(tracing.marks):
            mark = None
        if ring is not None and ring >= len(tracing.openings):
            ring = None
        return Overlay(
            tracing=tracing,
            chosen=chosen,
            chosen_mark=mark,
            chosen_ring=ring,
        )

    def _scale_overlay(self, draft: Draft) -> Overlay:
        active = self.overlay.active
        if draft.method is Method.BOARD:
            scale = draft.scale
            if scale is None or scale.method is not Method.BOARD:
                return Overlay()
            rings = (scale.to_px(area) for area in scale.clutter)
            return Overlay(
                sheets=tuple(tuple((float(x), -float(y)) for x, y in r) for r in rings)
            )
        places = draft.corners if draft.method is Method.RECTANGLE else draft.ends
        shown = tuple((x, -y) for x, y in places)
        return Overlay(corners=shown, active=active if active is not None else 0)

    def caught(self, at: Place, reach_mm: float, *, is_free: bool) -> Place | None:
        """Return the edge near a place of the flat photo, when edges are to be caught."""
        flat = self.draft.flat
        if not self.catches_edges or is_free or flat is None:
            return None
        return edge_near_place(flat, at, reach_mm)

    # Work in the background

    def scale_by_board(self, check_line_mm: float) -> None:
        """Look for marker sheets and put the photo to scale by them."""
        picture = self.picture
        self._scale(
            "Looking for the marker board…",
            "Scale by the marker board",
            lambda: scale_by_board(picture, check_line_mm=check_line_mm),
        )

    def scale_by_rectangle(self, width_mm: float, height_mm: float) -> None:
        """Put the photo to scale by the four corners."""
        picture, corners = self.picture, self.draft.corners
        self._scale(
            "Making the photo flat…",
            "Scale by four corners",
            lambda: scale_by_rectangle(picture, corners, width_mm, height_mm),
        )

    def scale_by_length(self, length_mm: float) -> None:
        """Put the photo to scale by one length."""
        picture, (a, b) = self.picture, self.draft.ends
        self._scale(
            "Making the photo flat…",
            "Scale by one length",
            lambda: scale_by_length(picture, a, b, length_mm),
        )

    def find_outline(self, around: Bounds) -> None:
        """Look for the part within a rough rectangle, and trace it."""
        flat, scale, tolerance = self.draft.flat, self.draft.scale, self.tolerance_mm
        if flat is None or scale is None:
            return

        def find(control: Control) -> Tracing:
            shape = find_shape(flat, around, scale.clutter, control)
            control.tell(Step("Fitting few nodes…", 0.95))
            return fitted_tracing(shape, tolerance)

        def take(tracing: Tracing) -> None:
            self.trace("Find outline", replace(tracing, marks=self.tracing.marks))
            nodes = len(tracing.outline)
            self.said.emit(f"Found an outline of {nodes} nodes and {_openings(tracing)}.")
            self.set_tool("edit")

        self._start("Finding the outline…", find, take)

    def stop(self) -> None:
        """Stop what goes on in the background."""
        if self._work is not None:
            self._work.cancel()

    def _scale(self, words: str, sentence: str, task: Callable[[], PhotoScale]) -> None:
        picture = self.picture

        def scale(_: Control) -> tuple[PhotoScale, FlatPhoto, Levels]:
            found = task()
            flat = make_flat(picture, found)
            return found, flat, pyramid_of(flat.pixels)

        def take(answer: tuple[PhotoScale, FlatPhoto, Levels]) -> None:
            found, flat, levels = answer
            self._flat_levels = flat, levels
            # What was traced at another scale lies elsewhere now.
            self.do(sentence, replace(self.draft, scale=found, flat=flat, tracing=Tracing()))

        self._start(words, scale, take)

    def _start(
        self, words: str, task: Callable[[Control], T], take: Callable[[T], None]
    ) -> None:
        if self._work is not None:
            return
        self._work = Work(task)
        self._work.done.connect(take)
        self._work.failed.connect(self._on_failed)
        self._work.progressed.connect(self.progressed)
        self._work.ended.connect(self._on_ended)
        self.busy_changed.emit(words)
        self._work.start()

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, LaplineError):
            raise error
        self.refused.emit(error)

    def _on_ended(self) -> None:
        self._work = None
        self.busy_changed.emit("")


def _has(tracing: Tracing, ring: int, node: str) -> bool:
    if ring >= len(tracing.openings) or (ring < 0 and not tracing.outline):
        return False
    path = tracing.outline if ring < 0 else tracing.openings[ring]
    return any(n.id == node for n in path)


def _openings(tracing: Tracing) -> str:
    count = len(tracing.openings)
    return "no opening" if not count else "1 opening" if count == 1 else f"{count} openings"

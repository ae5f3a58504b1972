"""Catching places while one draws, and naming them beside the pointer."""

from collections.abc import Collection, Sequence
from dataclasses import replace

from app.canvas.gestures.base import Desk, Pointer
from core.document.hit import moved_by, offset_between
from core.document.panel import Panel
from core.document.path import Point
from core.geometry.snapping import Catch, CatchKind, Guide, SnapField, build_field, find_catch
from core.plan.lookup import name_of_track

CATCH_WORDS = {
    CatchKind.NODE: "node",
    CatchKind.MIDDLE: "middle",
    CatchKind.CROSSING: "crossing",
    CatchKind.SQUARE: "right angle",
    CatchKind.ALONG: "45° step",
    CatchKind.ON: "",
    CatchKind.TANGENT: "tangent",
    CatchKind.RULE: "guide",
    CatchKind.GRID: "grid",
}
_NOTHING = build_field([])


class Snapper:
    """Catches places and shows what was caught.

    Attributes:
        frame: where the origin of the places it returns is on the canvas.
        caught_on: the panel on which the last place was caught.
    """

    def __init__(
        self,
        desk: Desk,
        panel: Panel | None,
        without: Collection[str] = (),
        *,
        is_open: bool = False,
    ) -> None:
        """Take a panel whose places are caught; an open one also catches on all others.

        Without a panel places are the canvas's, else the panel's.
        """
        self.desk = desk
        self.panel = panel
        self.frame: Point = panel.at if panel else (0.0, 0.0)
        self.caught_on = panel
        self._without = without
        self._is_open = is_open
        self._fields: dict[str, SnapField] = {}
        if panel is not None:
            self._field_on(panel)

    @property
    def field(self) -> SnapField:
        """What can be caught on the snapper's own panel."""
        return self._field_on(self.panel)

    def _field_on(self, panel: Panel | None) -> SnapField:
        if panel is None:
            return _NOTHING
        if panel.id not in self._fields:
            self._fields[panel.id] = self.desk.field_of(panel, self._without)
        return self._fields[panel.id]

    def local(self, pointer: Pointer) -> Point:
        """Return where the pointer is in the snapper's frame."""
        return offset_between(self.frame, pointer.at)

    def catch(self, pointer: Pointer, guide: Guide | None = None) -> tuple[Point, Catch | None]:
        """Return the place meant, in the snapper's frame, and what was caught there."""
        if pointer.is_free:
            return self.local(pointer), None
        panel = (self._is_open and self.desk.panel_under(pointer)) or self.panel
        self.caught_on = panel
        base: Point = panel.at if panel else (0.0, 0.0)
        step = offset_between(base, self.frame)
        if guide is not None and panel is not self.panel:
            guide = replace(guide, origin=moved_by(guide.origin, step))
        at = offset_between(base, pointer.at)
        rules = self.desk.rules_from(base)
        caught = find_catch(self._field_on(panel), at, self.desk.reach_mm, guide, rules)
        if caught is None:
            return self.local(pointer), None
        if panel is not self.panel:
            caught = replace(caught, at=offset_between(step, caught.at))
        return caught.at, caught

    def show(self, at: Point, caught: Catch | None, sizes: Sequence[str] = ()) -> None:
        """Show a symbol on the place, and its name with live sizes beside it."""
        words = [self.words(caught)] if caught else []
        lines = "\n".join([*words, *sizes])
        kind = caught.kind if caught else None
        scene = self.desk.scene
        scene.catch.show_catch(moved_by(at, self.frame), kind, lines, scene.theme)

    def words(self, caught: Catch) -> str:
        """Return what a catch is called."""
        what = CATCH_WORDS[caught.kind]
        panel = self.caught_on
        if caught.track is None or panel is None:
            return what
        scheme = self.desk.job.scheme(self.desk.variant, panel.id)
        track = name_of_track(caught.track, panel, scheme)
        return f"{what}, {track}" if what else f"on {track}"

"""The tool that selects and moves: grips first, then lines and rims, then what lies there."""

from PySide6.QtCore import Qt

from app.canvas import deeds
from app.canvas.gestures.band import Band
from app.canvas.gestures.base import REACH_PX, Desk, Gesture, Pointer, Tool
from app.canvas.gestures.drafting import (
    MoveDimension,
    MoveGuide,
    dimension_under,
    guide_under,
)
from app.canvas.gestures.drags import (
    MoveBelongings,
    MoveHandle,
    MoveLine,
    MoveNode,
    MovePanel,
    StripeWidth,
)
from app.canvas.owners import Grip, PathOwner, grips_of, owners_of
from app.selection import NOTHING, Selection
from core.document.edits.belongings import mark_at, opening_at
from core.document.edits.lines import find_line
from core.document.hit import distance_mm, find_line_near, nearest_on_path
from core.document.lines import Line
from core.document.panel import Panel
from core.document.path import Point
from core.ids import PanelId
from core.plan.lookup import find_region_at, find_stretch_near, is_on_rim, to_panel

_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


def line_under(desk: Desk, panel: Panel, pointer: Pointer) -> Line | None:
    """Return the line at the pointer: by its borders, else by the path that was drawn."""
    at = to_panel(panel, pointer.at)
    plan = desk.plan_of(panel)
    stretch = find_stretch_near(plan, at, desk.reach_mm) if plan else None
    if stretch is not None:
        return find_line(desk.job, desk.variant, stretch.line)[1]
    scheme = desk.job.scheme(desk.variant, panel.id)
    return find_line_near(scheme, at, desk.reach_mm)


def thing_under(desk: Desk, pointer: Pointer) -> Selection:
    """Return what a click at the pointer selects.

    The middle of a mark, else a line, all of a mark, a panel by its rim, an opening, a region.
    """
    panel = desk.panel_under(pointer)
    if panel is None:
        return NOTHING
    panel_id, at = PanelId(panel.id), to_panel(panel, pointer.at)
    mark = mark_at(panel, at, desk.reach_mm / 2, is_close=True)
    line = None if mark else line_under(desk, panel, pointer)
    if line is not None:
        return Selection("line", (line.id,), panel_id)
    mark = mark or mark_at(panel, at, desk.reach_mm)
    if mark is not None:
        return Selection("mark", (mark.id,), panel_id)
    return _ground_under(desk, panel, at)


def _ground_under(desk: Desk, panel: Panel, at: Point) -> Selection:
    """Return what lies at a place of a panel beneath its lines and marks."""
    panel_id, plan = PanelId(panel.id), desk.plan_of(panel)
    if plan is not None and not is_on_rim(plan, at, desk.reach_mm):
        region = find_region_at(plan, at)
        if region is not None:
            return Selection("region", (region.id,), panel_id)
        opening = opening_at(panel, at)
        if opening is not None:
            return Selection("opening", (opening.id,), panel_id)
    return Selection("panel", (panel.id,), panel_id)


class SelectTool(Tool):
    """Selects by a click, moves by a drag."""

    name = "select"
    hint = "Click to select, Shift for more · drag to move, on empty ground to select"

    def begin(self, pointer: Pointer) -> Gesture | None:
        """Take hold of a grip, a line or a panel."""
        grip = self.grip_under(pointer)
        if grip is not None:
            return _grip_gesture(self.desk, grip)
        found = thing_under(self.desk, pointer)
        other = self._off_panels(found, pointer)
        if other is not None or found.panel is None:
            return other
        panel = self.desk.job.panel(found.panel)
        if found.kind in ("line", "mark", "opening"):
            return self._on_panel(panel, found, pointer)
        selection = self.desk.session.selection
        group = selection.ids if selection.kind == "panel" else ()
        return MovePanel(self.desk, panel, group, found)

    def _on_panel(self, panel: Panel, found: Selection, pointer: Pointer) -> Gesture | None:
        """Select what is drawn on a panel; move it where it is selected already."""
        if pointer.is_shifted or not self._is_selected(found):
            self.desk.select(found, pointer)
            return None
        group = self.desk.session.selection.ids
        if found.kind != "line":
            return MoveBelongings(self.desk, found, group)
        line = find_line(self.desk.job, self.desk.variant, found.ids[0])[1]
        return MoveLine(self.desk, panel, line, group)

    def _off_panels(self, found: Selection, pointer: Pointer) -> Gesture | None:
        """Return what begins with a band, a dimension, a guide, or on empty ground."""
        if pointer.is_band:
            return Band(self.desk)
        dimension = dimension_under(self.desk, pointer)
        if dimension is not None:
            return MoveDimension(self.desk, dimension)
        guide = guide_under(self.desk, pointer) if found.kind in ("none", "region") else None
        if guide is not None:
            return MoveGuide(self.desk, guide)
        if found.panel is not None:
            return None
        owner = self.owner_under(pointer)
        if owner is not None and owner.kind == "run":
            panel, line = find_line(self.desk.job, self.desk.variant, owner.id)
            return MoveLine(self.desk, self.desk.job.panel(panel), line, ())
        return Band(self.desk)

    def _is_selected(self, found: Selection) -> bool:
        selection = self.desk.session.selection
        return selection.kind == found.kind and found.ids[0] in selection.ids

    def grip_under(self, pointer: Pointer) -> Grip | None:
        """Return the nearest grip of the selection within reach; handles win over nodes."""
        selection = self.desk.session.selection
        best, best_mm = None, self.desk.reach_mm
        for grip in grips_of(selection, self.desk.job, self.desk.variant):
            if not grip.has_room(self.desk.px_mm):
                continue
            away = distance_mm(grip.at, grip.owner.local(self.desk.job, pointer.at))
            if away < best_mm:
                best, best_mm = grip, away
        return best

    def hover(self, pointer: Pointer) -> None:
        """Point at what a click would select."""
        if self.grip_under(pointer) is not None:
            self.desk.session.hover(None)
            return
        found = thing_under(self.desk, pointer)
        self.desk.session.hover(found.ids[0] if found.ids else None)

    def double_click(self, pointer: Pointer) -> None:
        """Insert a node into what is selected, where it passes the pointer."""
        if self.gesture is not None:
            self.cancel()
        owner = self.owner_under(pointer)
        if owner is not None and self.grip_under(pointer) is None:
            deeds.insert_at(self.desk, owner, owner.local(self.desk.job, pointer.at))
        self._settle()

    def owner_under(self, pointer: Pointer) -> PathOwner | None:
        """Return the selected path that passes nearest within reach."""
        job, variant = self.desk.job, self.desk.variant
        best, best_mm = None, REACH_PX * self.desk.px_mm
        for owner in owners_of(self.desk.session.selection, job, variant):
            path, closed = owner.read(job, variant)
            at = owner.local(job, pointer.at)
            hit = nearest_on_path(path, at, closed=closed)
            if hit is not None and hit.distance_mm <= best_mm:
                best, best_mm = owner, hit.distance_mm
        return best

    def key(self, key: Qt.Key) -> bool:
        """Escape, arrows, X (flip), C (corner or smooth), Insert and Delete."""
        if self.gesture is not None:
            return super().key(key)
        selection = self.desk.session.selection
        if key == Qt.Key.Key_Escape:
            self.desk.session.select(NOTHING)
        elif key in _ARROWS:
            return deeds.nudge(self.desk, *_ARROWS[key])
        elif key == Qt.Key.Key_X and selection.kind == "line":
            deeds.flip_line(self.desk, selection.ids[0])
        elif key == Qt.Key.Key_C and selection.kind == "node":
            deeds.toggle_smooth(self.desk)
        elif key == Qt.Key.Key_Insert and selection.kind == "node":
            deeds.insert_after_selected(self.desk)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            return deeds.delete_selected(self.desk)
        else:
            return False
        return True


def _grip_gesture(desk: Desk, grip: Grip) -> Gesture:
    match grip.kind:
        case "node":
            return MoveNode(desk, grip)
        case "before" | "after":
            return MoveHandle(desk, grip, grip.kind)
        case "start" | "end":
            return StripeWidth(desk, grip, grip.kind)

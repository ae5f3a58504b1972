"""Tools whose whole gesture is a click: giving film to a region, flipping what lies on top."""

from PySide6.QtCore import Qt

from app.canvas import deeds
from app.canvas.gestures.base import Gesture, Pointer, Tool
from app.canvas.gestures.select import line_under
from core.plan.lookup import find_region_at, find_stretch_near, to_panel


class PaintTool(Tool):
    """Gives the region that is clicked on the current film."""

    name = "paint"
    hint = "Click a region to give it the current film"
    cursor = Qt.CursorShape.PointingHandCursor

    def begin(self, pointer: Pointer) -> Gesture | None:
        """Colour the region at the pointer."""
        panel = self.desk.panel_under(pointer)
        plan = self.desk.plan_of(panel) if panel else None
        if panel is None or plan is None:
            return None
        at = to_panel(panel, pointer.at)
        region = find_region_at(plan, at)
        if region is None:
            return None
        film = self.desk.film_for(panel)
        if region.film == film:
            name = self.desk.job.film(film).name
            self.desk.session.message(f"This region is in {name} already.")
            return None
        deeds.colour_region(self.desk, panel, region, at, film)
        return None

    def hover(self, pointer: Pointer) -> None:
        """Point at the region."""
        panel = self.desk.panel_under(pointer)
        plan = self.desk.plan_of(panel) if panel else None
        region = find_region_at(plan, to_panel(panel, pointer.at)) if panel and plan else None
        self.desk.session.hover(region.id if region else None)


class FlipTool(Tool):
    """Puts the other film on top along the line that is clicked on."""

    name = "flip"
    hint = "Click a line to put the other film on top"
    cursor = Qt.CursorShape.PointingHandCursor

    def begin(self, pointer: Pointer) -> Gesture | None:
        """Flip the line at the pointer."""
        panel = self.desk.panel_under(pointer)
        line = line_under(self.desk, panel, pointer) if panel else None
        if panel is None or line is None:
            return None
        plan = self.desk.plan_of(panel)
        at = to_panel(panel, pointer.at)
        stretch = find_stretch_near(plan, at, self.desk.reach_mm) if plan else None
        deeds.flip_line(self.desk, line.id, stretch.id if stretch else None)
        return None

    def hover(self, pointer: Pointer) -> None:
        """Point at the line."""
        panel = self.desk.panel_under(pointer)
        line = line_under(self.desk, panel, pointer) if panel else None
        self.desk.session.hover(line.id if line else None)

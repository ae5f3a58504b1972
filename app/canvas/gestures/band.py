"""The band: a rectangle drawn with the pointer selects what lies wholly in it."""

from app.canvas.gestures.base import DRAG_PX, Gesture, Pointer
from app.selection import NOTHING, Selection
from core.plan.neighbours import lines_within, panels_within


class Band(Gesture):
    """Selects panels, or lines where no panel lies wholly in it; a click selects nothing."""

    hint = "Let go to select what lies wholly in the band · Shift: add to what is selected"

    def press(self, pointer: Pointer) -> None:
        """Remember the first corner."""
        self.start = pointer
        self.has_begun = False

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Show the band, once it is one."""
        if not is_down:
            return
        step = pointer.px - self.start.px
        self.has_begun = self.has_begun or step.manhattanLength() >= DRAG_PX
        if self.has_begun:
            scene = self.desk.scene
            scene.band.show_band(self.start.at, pointer.at, scene.theme)

    def release(self, pointer: Pointer) -> None:
        """Select what lies in the band."""
        session = self.desk.session
        if self.has_begun:
            (x0, y0), (x1, y1) = self.start.at, pointer.at
            box = (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
            panels = panels_within(self.desk.job, box)
            lines = () if panels else lines_within(self.desk.job, self.desk.variant, box)
            found = Selection("panel", panels) if panels else Selection("line", lines)
            now = session.selection
            if pointer.is_shifted and now.kind == found.kind:
                ids = tuple(dict.fromkeys((*now.ids, *found.ids)))
                found = Selection(found.kind, ids)
            if found.ids or not pointer.is_shifted:
                session.select(found if found.ids else NOTHING)
        elif not pointer.is_shifted:
            session.select(NOTHING)
        self.finish()

    def finish(self) -> None:
        """Take the band away."""
        self.desk.scene.band.hide()
        super().finish()

"""Drawing stripes: a centre line, over one panel or several, then the width."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt

from app.canvas.gestures.base import Desk, Pointer
from app.canvas.gestures.draw import DRAW_KEYS, DrawLine
from core.document.edits.ids import free_id
from core.document.edits.paths import translate_path
from core.document.edits.runs import add_run, panels_along
from core.document.hit import width_through
from core.document.job import Job
from core.document.lines import Stripe
from core.document.panel import Panel
from core.document.path import Path
from core.plan.lookup import to_panel

_START_WIDTH_MM = 20.0


class DrawStripe(DrawLine):
    """Draws a stripe's centre line, then its width; over several panels it becomes a run."""

    is_open = True

    def __init__(self, desk: Desk, panel: Panel) -> None:
        super().__init__(desk, panel)
        self.is_widening = False
        self.widths = (_START_WIDTH_MM, _START_WIDTH_MM)
        self.film = desk.film_for(panel)

    def line(self, path: Path) -> Stripe:
        """Return the stripe as wide as it is now."""
        return Stripe(
            id=free_id(self.base, "t"),
            nodes=path,
            start_width_mm=self.widths[0],
            end_width_mm=self.widths[1],
            film=self.film,
        )

    def adding(self, path: Path) -> Callable[[], Job]:
        """Return the edit that adds the stripe: one a panel where it goes over several."""
        line = self.line(path)
        whole = translate_path(path, *self.panel.at)
        panels = panels_along(self.base, whole)
        if len(panels) < 2:
            return super().adding(path)
        return lambda: add_run(self.base, self.desk.variant, whole, panels, line)[0]

    def complete(self) -> None:
        """The centre line stands; the width comes next."""
        if self.is_widening:
            super().complete()
            return
        self.is_widening = True
        self.hint = "Move and click: width · digits: width at the start, Tab: at the end"
        scene = self.desk.scene
        scene.draft.show_draft(self.path(), (), scene.theme, self.panel.at)
        self.desk.preview(self.adding(self.path()))

    def press(self, pointer: Pointer) -> None:
        """Place a node, or settle the width."""
        if self.is_widening:
            self._widen(pointer)
            self.complete()
        else:
            super().press(pointer)

    def move(self, pointer: Pointer, *, is_down: bool) -> None:
        """Let the side run through the pointer once the centre line stands."""
        if self.is_widening:
            self._widen(pointer)
        else:
            super().move(pointer, is_down=is_down)

    def release(self, pointer: Pointer) -> None:
        """A press while widening has ended it already."""
        if not self.is_widening:
            super().release(pointer)

    def double_click(self, pointer: Pointer) -> None:
        """Finish the centre line, or settle the width."""
        if self.is_widening:
            self.press(pointer)
        else:
            super().double_click(pointer)

    def key(self, key: Qt.Key) -> bool:
        """Backspace takes the centre line up again."""
        if self.is_widening and key == Qt.Key.Key_Backspace:
            self.is_widening = False
            self.hint = DRAW_KEYS
        return super().key(key)

    def asks(self) -> tuple[str, ...]:
        """While widening the two widths can be typed."""
        return ("width", "at the end") if self.is_widening else super().asks()

    def typed(self, sizes: Sequence[float | None]) -> None:
        """Take typed widths and finish; one alone holds for both ends."""
        if not self.is_widening:
            super().typed(sizes)
            return
        start = self.widths[0] if sizes[0] is None else sizes[0]
        self.widths = (start, start if sizes[1] is None else sizes[1])
        self.complete()

    def show_typed(self, sizes: Sequence[float | None]) -> None:
        """Show the stripe as wide as what is typed so far."""
        if not self.is_widening:
            super().show_typed(sizes)
            return
        start = self.widths[0] if sizes[0] is None else sizes[0]
        end = start if sizes[1] is None else sizes[1]
        if max(start, end) > 0 <= min(start, end):
            kept, self.widths = self.widths, (start, end)
            self.desk.preview(self.adding(self.path()))
            self.widths = kept

    def _widen(self, pointer: Pointer) -> None:
        at = to_panel(self.panel, pointer.at)
        width = max(width_through(self.path(), at), 1.0)
        if not pointer.is_free:
            width = float(round(width))
        self.widths = (width, width)
        self.snapper.show(at, None, (f"width {self.desk.say_length(width)}",))
        self.desk.preview(self.adding(self.path()))

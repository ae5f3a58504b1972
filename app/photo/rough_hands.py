"""The tools that mark rough places: corners and ends to scale by, a rectangle to look in."""

import math
from dataclasses import replace

from PySide6.QtCore import Qt

from app.photo.desk import PhotoDesk
from app.photo.hand import REACH_PX, Hand, Place, Touch
from core.read.photo_scale import Method

NUDGES = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


class PlacesHand(Hand):
    """Drags the corners of the rectangle, or the ends of the length, on the photo."""

    hint = (
        "Drag each mark onto its place · arrow keys move it by a pixel, with Shift by a tenth"
    )
    cursor = Qt.CursorShape.CrossCursor
    magnifies = True

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._held: int | None = None
        self._off: Place = (0.0, 0.0)
        self._at: Place = (0.0, 0.0)

    @property
    def is_busy(self) -> bool:
        """Whether a mark is being dragged."""
        return self._held is not None

    def _places(self) -> tuple[Place, ...]:
        draft = self.desk.draft
        return draft.corners if draft.method is Method.RECTANGLE else draft.ends

    def press(self, touch: Touch) -> None:
        """Take hold of the nearest mark within reach."""
        places = [(x, -y) for x, y in self._places()]
        away = [math.dist(p, touch.at) for p in places]
        nearest = min(range(len(places)), key=away.__getitem__)
        if away[nearest] > 2 * REACH_PX * touch.unit:
            return
        self._held = nearest
        x, y = places[nearest]
        self._off = (x - touch.at[0], y - touch.at[1])
        self._show(touch)

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Drag it."""
        if is_down and self._held is not None:
            self._show(touch)

    def release(self, touch: Touch) -> None:
        """Let go: one step."""
        if self._held is None:
            return
        held, self._held = self._held, None
        self._put(held, (touch.at[0] + self._off[0], touch.at[1] + self._off[1]))

    def _show(self, touch: Touch) -> None:
        assert self._held is not None
        at = (touch.at[0] + self._off[0], touch.at[1] + self._off[1])
        look = self.desk.overlay
        corners = tuple(at if i == self._held else p for i, p in enumerate(look.corners))
        self.desk.show(replace(look, corners=corners, active=self._held))

    def _put(self, which: int, at: Place) -> None:
        w, h = self.desk.picture.size_px
        spot = (min(max(at[0], 0.0), float(w)), min(max(-at[1], 0.0), float(h)))
        places = tuple(spot if i == which else p for i, p in enumerate(self._places()))
        draft = self.desk.draft
        self.desk.show(replace(self.desk.overlay, active=which))
        if draft.method is Method.RECTANGLE:
            self.desk.do("Move a corner", replace(draft, corners=places))
        else:
            self.desk.do("Move an end", replace(draft, ends=places))

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:
        """Nudge the mark that was moved last."""
        if key not in NUDGES or self.is_busy:
            return False
        which = self.desk.overlay.active or 0
        step = 0.1 if is_fine else 1.0
        x, y = self._places()[which]
        dx, dy = NUDGES[key]
        self._put(which, (x + dx * step, -y + dy * step))
        return True

    def cancel(self) -> None:
        """Drop the drag."""
        self._held = None
        super().cancel()


class BoxHand(Hand):
    """Draws a rough rectangle around the part, in which its outline is looked for."""

    hint = "Drag a rectangle around the whole part, a little larger than it"
    cursor = Qt.CursorShape.CrossCursor

    def __init__(self, desk: PhotoDesk) -> None:
        super().__init__(desk)
        self._from: Place | None = None

    @property
    def is_busy(self) -> bool:
        """Whether the rectangle is being drawn."""
        return self._from is not None

    def press(self, touch: Touch) -> None:
        """Begin at a corner."""
        if not self.desk.is_busy:
            self._from = touch.at

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """Stretch it."""
        if is_down and self._from is not None:
            look = self.desk.resting_overlay()
            self.desk.show(replace(look, box=(self._from, touch.at)))

    def release(self, touch: Touch) -> None:
        """Look for the outline in it."""
        if self._from is None:
            return
        (ax, ay), (bx, by) = self._from, touch.at
        self._from = None
        self.desk.show(self.desk.resting_overlay())
        if min(abs(ax - bx), abs(ay - by)) < 6 * touch.unit:
            self.desk.said.emit("Drag from one corner to the other.")
            return
        self.desk.find_outline((min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)))

    def cancel(self) -> None:
        """Drop the rectangle."""
        self._from = None
        super().cancel()

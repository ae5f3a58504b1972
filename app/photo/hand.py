"""What the tools of the photo window have in common: presses, moves and keys.

Places are the scene's, y up: pixels of the photo while it is put to scale (with y negative),
millimetres while it is traced.
"""

from dataclasses import dataclass

from PySide6.QtCore import Qt

from app.photo.desk import PhotoDesk
from core.errors import LaplineError

Place = tuple[float, float]
REACH_PX = 11.0
DRAG_PX = 4.0


@dataclass(frozen=True, slots=True)
class Touch:
    """Where the pointer is.

    Attributes:
        at: in the scene.
        unit: how much of the scene a screen pixel shows.
        is_free: whether catching is held off (Alt).
    """

    at: Place
    unit: float
    is_free: bool = False


class Hand:
    """A tool; nothing happens until a kind of tool says so."""

    hint = "Drag with the middle button or Space to move, turn the wheel to zoom."
    cursor = Qt.CursorShape.ArrowCursor
    magnifies = False

    def __init__(self, desk: PhotoDesk) -> None:
        self.desk = desk

    @property
    def is_busy(self) -> bool:
        """Whether something is being drawn or dragged."""
        return False

    def press(self, touch: Touch) -> None:
        """The left button went down."""

    def move(self, touch: Touch, *, is_down: bool) -> None:
        """The pointer moved."""

    def release(self, touch: Touch) -> None:
        """The left button was let go."""

    def double_click(self, touch: Touch) -> None:
        """The second press of a double click."""

    def key(self, key: Qt.Key, *, is_fine: bool = False) -> bool:  # noqa: ARG002
        """A key; tell whether it was used."""
        return False

    def cancel(self) -> None:
        """Leave no trace of what was begun."""
        self.desk.show(self.desk.resting_overlay())

    def refuse(self, error: LaplineError) -> None:
        """Say what is wrong, and leave no trace."""
        self.desk.refused.emit(error)
        self.cancel()

"""What stands in the photo window, as one frozen value, and its undo steps."""

from dataclasses import dataclass, field, replace

from core.read.photo import Picture
from core.read.photo_flat import FlatPhoto
from core.read.photo_scale import Method, PhotoScale
from core.read.photo_trace import EMPTY, Tracing

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Draft:
    """All that a person decided so far about one photo.

    Attributes:
        method: the way of scaling that is chosen.
        corners: four corners of a rectangle in the photo, px, counter-clockwise from the lower
            left.
        ends: both ends of a known length in the photo, px.
        scale, flat: once the photo is put to scale.
    """

    method: Method = Method.BOARD
    corners: tuple[Place, ...] = ()
    ends: tuple[Place, ...] = ()
    scale: PhotoScale | None = field(default=None, compare=False)
    flat: FlatPhoto | None = field(default=None, compare=False)
    tracing: Tracing = EMPTY

    def with_tracing(self, tracing: Tracing) -> "Draft":
        """Return the draft with another tracing."""
        return replace(self, tracing=tracing)


def first_draft(picture: Picture) -> Draft:
    """Return the draft that a photo starts with: corners and ends well inside it."""
    w, h = picture.size_px
    left, right, top, low = 0.25 * w, 0.75 * w, 0.25 * h, 0.75 * h
    return Draft(
        corners=((left, low), (right, low), (right, top), (left, top)),
        ends=((left, 0.5 * h), (right, 0.5 * h)),
    )


@dataclass(frozen=True, slots=True)
class _Step:
    sentence: str
    before: Draft
    after: Draft


class DraftHistory:
    """The draft with the steps that led to it."""

    def __init__(self, start: Draft) -> None:
        self.draft = start
        self._done: list[_Step] = []
        self._undone: list[_Step] = []

    @property
    def undo_text(self) -> str:
        """What undo takes back, or ""."""
        return self._done[-1].sentence if self._done else ""

    @property
    def redo_text(self) -> str:
        """What redo does again, or ""."""
        return self._undone[-1].sentence if self._undone else ""

    def do(self, sentence: str, draft: Draft) -> None:
        """Make a draft the current one, as one step."""
        self._done.append(_Step(sentence, self.draft, draft))
        self._undone.clear()
        self.draft = draft

    def undo(self) -> bool:
        """Take back the last step; tell whether there was one."""
        if not self._done:
            return False
        step = self._done.pop()
        self._undone.append(step)
        self.draft = step.before
        return True

    def redo(self) -> bool:
        """Do the last undone step again; tell whether there was one."""
        if not self._undone:
            return False
        step = self._undone.pop()
        self._done.append(step)
        self.draft = step.after
        return True

"""A file that would be written: its name is known at once, its content is made on demand.

So a window can list all files and show any of them before anything is written.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from core.progress import Part, Progress, Silent
from core.write.drawing import Drawing

_DRAWN = 0.75
"""What of the work on a file is done when it is drawn, about."""


class FileKind(StrEnum):
    """What a file is for."""

    PLOTTER = "plotter file"
    TEMPLATE = "template"
    BENCH = "bench sheet"
    PICTURE = "picture"
    TABLE = "table"


def no_drawings(_: Progress) -> tuple[Drawing, ...]:
    """Return nothing: for tables and texts, which are not drawn."""
    return ()


@dataclass(frozen=True, eq=False)
class PlannedFile:
    """One file of a set.

    What makes it is handed a Progress: long files tell their pages and stop when cancelled.

    Attributes:
        name: relative to the folder that is written to; it may lead into a folder of its own.
        make_data: turns the drawings into the file's bytes; the same plan, the same bytes.
        make_drawings: makes what is drawn in it: a section of a roll, the pages of a template.
        is_numbered: whether its name ends in a number, as another of the set would have the
            same one.
    """

    name: str
    kind: FileKind
    make_data: Callable[[tuple[Drawing, ...], Progress], bytes]
    make_drawings: Callable[[Progress], tuple[Drawing, ...]] = no_drawings
    is_numbered: bool = False
    _drawn: list[tuple[Drawing, ...]] = field(default_factory=list, init=False, repr=False)

    @property
    def drawings(self) -> tuple[Drawing, ...]:
        """What is drawn in it, in order; empty for tables and texts."""
        return self.draw(Silent())

    def draw(self, progress: Progress) -> tuple[Drawing, ...]:
        """Return ``drawings``, made if need be; Cancelled when that was stopped."""
        if not self._drawn:
            self._drawn.append(self.make_drawings(progress))
        return self._drawn[0]

    def data(self, progress: Progress | None = None) -> bytes:
        """Return the file's content.

        Raises:
            Cancelled: when it was stopped on the way.
        """
        listener = progress or Silent()
        drawings = self.draw(Part(listener, "", 0.0, _DRAWN))
        return self.make_data(drawings, Part(listener, "", _DRAWN, 1.0))

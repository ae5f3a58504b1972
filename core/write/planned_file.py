"""A file that would be written: its name is known at once, its content is made on demand.

So a window can list all files and show any of them before anything is written.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from core.write.drawing import Drawing


class FileKind(StrEnum):
    """What a file is for."""

    PLOTTER = "plotter file"
    TEMPLATE = "template"
    BENCH = "bench sheet"
    PICTURE = "picture"
    TABLE = "table"


def no_drawings() -> tuple[Drawing, ...]:
    """Return nothing: for tables and texts, which are not drawn."""
    return ()


@dataclass(frozen=True, eq=False)
class PlannedFile:
    """One file of a set.

    Attributes:
        name: relative to the folder that is written to; it may lead into a folder of its own.
        make_data: turns the drawings into the file's bytes; the same plan, the same bytes.
        make_drawings: makes what is drawn in it: a section of a roll, the pages of a template.
    """

    name: str
    kind: FileKind
    make_data: Callable[[tuple[Drawing, ...]], bytes]
    make_drawings: Callable[[], tuple[Drawing, ...]] = no_drawings

    @cached_property
    def drawings(self) -> tuple[Drawing, ...]:
        """What is drawn in it, in order; empty for tables and texts."""
        return self.make_drawings()

    def data(self) -> bytes:
        """Return the file's content."""
        return self.make_data(self.drawings)

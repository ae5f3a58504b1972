"""How much an imported file may hold; beyond it is refused before it fills the memory.

Each limit is far above what panels need and low enough that reading ends within a minute or so
(own choice, no source).
"""

from core.errors import ImportFailed
from core.progress import Progress, stop_if_cancelled

BROKEN = (
    ArithmeticError,
    LookupError,
    ValueError,
    TypeError,
    AttributeError,
    AssertionError,
)
"""What libraries raise on files that are not as they should be; some raise more."""

MAX_FILE_BYTES = 128 * 2**20
MAX_TEXT_BYTES = 64 * 2**20
"""Of an SVG after unpacking."""
MAX_ENTITIES = 100_000
"""After all blocks and references are put in place."""
MAX_POINTS = 1_000_000
MAX_DEPTH = 64
"""Of blocks, groups and references in one another."""
MAX_LOOPS = 4_000
MAX_SPAN_MM = 1_000_000.0
MAX_NAME = 80
_CHECK_EVERY = 256


class Budget:
    """Counts what a file expands to, and stops the reading when it is too much."""

    def __init__(self, where: str, progress: Progress) -> None:
        self._where, self._progress = where, progress
        self.entities = 0
        self.points = 0

    def spend(self, *, entities: int = 1, points: int = 0) -> None:
        """Count an entity, or several, with its points.

        Raises:
            ImportFailed: the file expands to more than can be a set of panels.
            Cancelled: the user stopped it.
        """
        self.entities += entities
        self.points += points
        if self.entities > MAX_ENTITIES:
            self._refuse(f"more than {MAX_ENTITIES:,} lines and curves")
        if self.points > MAX_POINTS:
            self._refuse(f"more than {MAX_POINTS:,} points")
        if self.entities % _CHECK_EVERY < entities:
            stop_if_cancelled(self._progress)

    def check_depth(self, depth: int) -> None:
        """Refuse what is nested too deeply."""
        if depth > MAX_DEPTH:
            self._refuse(f"blocks or groups nested more than {MAX_DEPTH} deep")

    def _refuse(self, what: str) -> None:
        raise ImportFailed(
            f"It holds {what}.",
            where=self._where,
            mend="Save the panels alone in a file of their own.",
        )

"""What long work sees of the outside: a way to tell how far it is, and whether to stop.

Work in core takes a ``Progress`` and never knows who listens: a window's worker, a command
line, or nobody.
"""

from dataclasses import dataclass
from typing import Protocol

from core.errors import Cancelled


@dataclass(frozen=True, slots=True)
class Step:
    """How far some work is.

    Attributes:
        words: what is being done, as shown to the user.
        share: from 0 to 1; None where it cannot be told.
    """

    words: str
    share: float | None = None


class Progress(Protocol):
    """The outside, as running work sees it."""

    def tell(self, progress: object, /) -> None:
        """Report something on the way, such as a Step."""

    def is_cancelled(self) -> bool:
        """Whether the work should stop."""


class Silent:
    """Nobody listens, nobody cancels."""

    def tell(self, progress: object, /) -> None:
        """Let it pass."""

    def is_cancelled(self) -> bool:
        """Return False."""
        return False


def stop_if_cancelled(progress: Progress) -> None:
    """Raise Cancelled when the work should stop."""
    if progress.is_cancelled():
        raise Cancelled("It was stopped.")

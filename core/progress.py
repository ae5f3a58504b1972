"""What long work sees of the outside: a way to tell how far it is, and whether to stop.

Work in core takes a ``Progress`` and never knows who listens: a window's worker, a command
line, or nobody.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

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


@dataclass(frozen=True, slots=True)
class Part:
    """A part of longer work, whose steps are told as steps of the whole.

    Attributes:
        whole: who listens to all of it.
        words: said before those of the part; "" leaves them alone.
        start: the whole's share when the part begins.
        end: the same when it ends.
    """

    whole: Progress
    words: str
    start: float
    end: float

    def tell(self, progress: object, /) -> None:
        """Report a step of the part; anything else is handed on as it is."""
        if isinstance(progress, Step):
            share = self.start + (self.end - self.start) * (progress.share or 0.0)
            words = f"{self.words}: {progress.words}" if self.words else progress.words
            progress = Step(words, share)
        self.whole.tell(progress)

    def is_cancelled(self) -> bool:
        """Whether the whole should stop."""
        return self.whole.is_cancelled()


def tell_or_stop(progress: Progress, words: str, done: int, count: int) -> None:
    """Tell that the next of some alike steps begins; raise Cancelled when work should stop."""
    stop_if_cancelled(progress)
    progress.tell(Step(f"{words} {done + 1} of {count}", done / count))


T = TypeVar("T")


def watched(items: Sequence[T], words: str, progress: Progress | None) -> Iterator[T]:
    """Yield some items, each after telling that its turn has come.

    Args:
        items: worked on one after the other.
        words: what one of them is.
        progress: who listens; None for nobody.

    Raises:
        Cancelled: when the work should stop.
    """
    for number, item in enumerate(items):
        if progress is not None:
            tell_or_stop(progress, words, number, len(items))
        yield item


def stop_if_cancelled(progress: Progress) -> None:
    """Raise Cancelled when the work should stop."""
    if progress.is_cancelled():
        raise Cancelled("It was stopped.")

"""Undo as a list of Jobs: every step keeps what was before, what came after, and a sentence."""

from dataclasses import dataclass, replace

from core.document.job import Job


@dataclass(frozen=True, slots=True)
class Step:
    """One undo step.

    Attributes:
        sentence: what was done, as the menu says it: "Move Seam 2".
        merge: steps in a row with one key are one step; None is never merged.
    """

    sentence: str
    before: Job
    after: Job
    merge: str | None = None


class History:
    """The steps done so far and those that were undone."""

    def __init__(self) -> None:
        self._done: list[Step] = []
        self._undone: list[Step] = []

    @property
    def last(self) -> Step | None:
        """The step that undo would take back."""
        return self._done[-1] if self._done else None

    @property
    def next(self) -> Step | None:
        """The step that redo would do again."""
        return self._undone[-1] if self._undone else None

    def push(self, step: Step) -> None:
        """Add a step, or widen the last one when both have the same merge key."""
        last = self.last
        if last and step.merge is not None and last.merge == step.merge and not self._undone:
            self._done[-1] = replace(last, sentence=step.sentence, after=step.after)
        else:
            self._done.append(step)
        self._undone.clear()

    def undo(self) -> Job | None:
        """Step back; None when there is nothing to undo."""
        if not self._done:
            return None
        step = self._done.pop()
        self._undone.append(step)
        return step.before

    def redo(self) -> Job | None:
        """Step forward again; None when there is nothing to redo."""
        if not self._undone:
            return None
        step = self._undone.pop()
        self._done.append(step)
        return step.after

    def seal(self) -> None:
        """Let nothing merge into the last step any more."""
        if self._done:
            self._done[-1] = replace(self._done[-1], merge=None)

    def clear(self) -> None:
        """Forget everything."""
        self._done.clear()
        self._undone.clear()

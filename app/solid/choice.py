"""Which triangles of a scan are chosen, with the steps to take back."""

import numpy as np

from core.shape.model import Points, Triangles
from core.shape.picking import Mask, boundary_loops


class Choice:
    """A growing and shrinking choice of triangles, and which of its loops is the rim."""

    def __init__(self, points: Points, triangles: Triangles) -> None:
        self._points, self._triangles = points, triangles
        self._steps: list[tuple[Mask, int]] = [(np.ones(len(triangles), dtype=np.bool_), 0)]
        self._loops: list[Triangles] | None = None

    @property
    def mask(self) -> Mask:
        """The chosen triangles."""
        return self._steps[-1][0]

    @property
    def rim(self) -> int:
        """Which of the loops is the rim."""
        return self._steps[-1][1]

    @property
    def loops(self) -> list[Triangles]:
        """The loops that bound the choice, as vertex numbers, the longest way round first."""
        if self._loops is None:
            found = boundary_loops(self._triangles[self.mask])
            self._loops = sorted(found, key=self._length, reverse=True)
        return self._loops

    @property
    def can_go_back(self) -> bool:
        """Whether there is a step to take back."""
        return len(self._steps) > 1

    def add(self, mask: Mask, *, starts_anew: bool) -> None:
        """Choose more; or instead of what was chosen."""
        self._step(mask if starts_anew else self.mask | mask, 0)

    def take(self, mask: Mask) -> None:
        """Choose less."""
        self._step(self.mask & ~mask, 0)

    def set_rim(self, loop: int) -> None:
        """Say which of the loops is the rim; the others are openings."""
        self._step(self.mask, loop)

    def go_back(self) -> None:
        """Take back the last step."""
        if self.can_go_back:
            self._steps.pop()
            self._loops = None

    def _step(self, mask: Mask, rim: int) -> None:
        self._steps.append((mask, rim))
        self._loops = None

    def _length(self, loop: Triangles) -> float:
        points = self._points[loop]
        return float(np.linalg.norm(points - np.roll(points, -1, axis=0), axis=1).sum())

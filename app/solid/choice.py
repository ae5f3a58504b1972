"""Which triangles of a scan are chosen, with the steps to take back."""

import numpy as np
from numpy.typing import NDArray

from core.read.scan import ScanMesh
from core.read.scan_part import Chosen, loops_of


class Choice:
    """A growing and shrinking choice of triangles; at first all of them."""

    def __init__(self, mesh: ScanMesh) -> None:
        self._mesh = mesh
        self._steps: list[Chosen] = [np.ones(len(mesh.triangles), dtype=np.bool_)]
        self._loops: list[NDArray[np.int64]] | None = None

    @property
    def mask(self) -> Chosen:
        """The chosen triangles."""
        return self._steps[-1]

    @property
    def loops(self) -> list[NDArray[np.int64]]:
        """The loops that bound the choice, as vertex numbers, the longest way round first."""
        if self._loops is None:
            chosen = ScanMesh(self._mesh.vertices, self._mesh.triangles[self.mask])
            self._loops = loops_of(chosen) if self.mask.any() else []
        return self._loops

    @property
    def can_go_back(self) -> bool:
        """Whether there is a step to take back."""
        return len(self._steps) > 1

    def start_with(self, mask: Chosen) -> None:
        """Choose this instead of what was chosen."""
        self._step(mask)

    def add(self, mask: Chosen) -> None:
        """Choose more; the first time it says what is wanted, later it adds to that."""
        self._step(self.mask | mask if self.can_go_back else mask)

    def take(self, mask: Chosen) -> None:
        """Choose less."""
        self._step(self.mask & ~mask)

    def change_last(self, mask: Chosen, *, takes: bool) -> None:
        """Do the last step again with another choice."""
        if self.can_go_back:
            self._steps.pop()
        if takes:
            self.take(mask)
        else:
            self.add(mask)

    def go_back(self) -> None:
        """Take back the last step."""
        if self.can_go_back:
            self._steps.pop()
            self._loops = None

    def grow_to(self, mesh: ScanMesh) -> None:
        """Go on with a scan that has more triangles, last; they follow those beside them."""
        old, fresh = self._mesh, mesh.triangles[len(self._mesh.triangles) :]
        for number, mask in enumerate(self._steps):
            held = np.zeros(len(mesh.vertices), dtype=np.bool_)
            held[old.triangles[mask]] = True
            held[len(old.vertices) :] = True
            more = held[fresh].all(axis=1) & mask.any()
            self._steps[number] = np.concatenate((mask, more))
        self.turn_to(mesh)

    def turn_to(self, mesh: ScanMesh) -> None:
        """Go on with the same triangles seen from their other side."""
        self._mesh = mesh
        self._loops = None

    def _step(self, mask: Chosen) -> None:
        self._steps.append(mask)
        self._loops = None

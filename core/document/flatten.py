"""A path's polyline, rounded once to the house's quantum; every computation starts from it."""

import numpy as np
from numpy.typing import NDArray

from core.document.path import Path
from core.geometry.curves import flatten_path, without_doubles
from core.tolerance import FLATTEN_MM, QUANTUM_MM

Points = NDArray[np.float64]


def flatten(path: Path, *, closed: bool) -> Points:
    """Return the path's polyline, shape (n, 2), mm; a closed one does not repeat its start."""
    return flatten_owned(path, closed=closed)[0]


def flatten_owned(path: Path, *, closed: bool) -> tuple[Points, NDArray[np.intp]]:
    """Return the polyline and, for each of its points, the node its segment starts from."""
    points = np.array([node.at for node in path], dtype=np.float64)
    line, owner = flatten_path(
        points,
        [node.before for node in path],
        [node.after for node in path],
        closed=closed,
        tolerance=FLATTEN_MM - QUANTUM_MM,
    )
    line = np.round(line / QUANTUM_MM) * QUANTUM_MM
    line, owner = without_doubles(line, owner, closed=closed)
    line.setflags(write=False)
    return line, owner

"""Small openings of a scan are closed: pinholes by themselves, larger ones where it is wished.

How large an opening is is told by the way round it: across is what a round one would measure.
The way round each shell is its rim, and is never closed.
"""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from core.read.scan import ScanMesh
from core.shape.topology import rim_loops, shell_of_each

Loop = NDArray[np.int64]


def openings_closed(mesh: ScanMesh, across_mm: float) -> tuple[ScanMesh, int]:
    """Close openings with triangles round their middles.

    Args:
        mesh: the scan; its triangles come first in what is returned, as they are.
        across_mm: larger openings are left.

    Returns:
        The scan, and how many openings were closed.
    """
    vertices, triangles = [mesh.vertices], [mesh.triangles]
    closed, size = 0, len(mesh.vertices)
    for loop in _openings(mesh):
        ring = mesh.vertices[loop]
        if _way_round(ring) > math.pi * across_mm:
            continue
        closed += 1
        if len(loop) == 3:
            triangles.append(loop[None, ::-1])
            continue
        onwards = np.roll(loop, -1)
        vertices.append(ring.mean(axis=0)[None])
        triangles.append(np.column_stack((onwards, loop, np.full(len(loop), size))))
        size += 1
    return ScanMesh(np.vstack(vertices), np.vstack(triangles)), closed


def _openings(mesh: ScanMesh) -> Iterator[Loop]:
    """Give the loops that pass each vertex once, without the longest of each shell."""
    loops = rim_loops(mesh.triangles)
    if not loops:
        return
    shell_at = np.empty(len(mesh.vertices), dtype=np.int64)
    shell_at[mesh.triangles] = shell_of_each(mesh.triangles)[:, None]
    rims: dict[int, tuple[float, int]] = {}
    for number, loop in enumerate(loops):
        shell, way = int(shell_at[loop[0]]), _way_round(mesh.vertices[loop])
        rims[shell] = max(rims.get(shell, (0.0, number)), (way, number))
    outer = {number for _, number in rims.values()}
    for number, loop in enumerate(loops):
        if number not in outer:
            yield from _parted(loop)


def _parted(loop: Loop) -> Iterator[Loop]:
    """Part a loop where it passes a vertex again, so that each part passes it once."""
    way: list[int] = []
    place: dict[int, int] = {}
    for at in loop.tolist():
        if at in place:
            start = place[at]
            part, way = way[start:], way[:start]
            for v in part:
                del place[v]
            if len(part) > 2:
                yield np.array(part, dtype=np.int64)
        place[at] = len(way)
        way.append(at)
    if len(way) > 2:
        yield np.array(way, dtype=np.int64)


def _way_round(ring: NDArray[np.float64]) -> float:
    return float(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).sum())

"""Fewer triangles for a scan, no farther from it than said; how far is measured, not believed.

The triangles are thinned by the fast_simplification package (MIT licence), which collapses
sides by quadric error: Garland & Heckbert, Surface simplification using quadric error metrics,
SIGGRAPH 1997.
"""

from dataclasses import dataclass

import fast_simplification
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from core.errors import ImportFailed
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.read.scan import ScanMesh

WORKING_TRIANGLES = 40_000
_MEASURED = 100_000
"""At about so many points the deviation is measured; the rest lie between them."""
_CANDIDATES = 6


@dataclass(frozen=True, eq=False)
class ThinnedScan:
    """A scan of fewer triangles, and how far it lies from the scan at most."""

    mesh: ScanMesh
    deviation_mm: float


def thinned(
    mesh: ScanMesh,
    *,
    most_mm: float,
    triangles: int = WORKING_TRIANGLES,
    progress: Progress | None = None,
) -> ThinnedScan:
    """Thin a scan to about so many triangles, more where it would deviate too much.

    Args:
        mesh: as mended.
        most_mm: how far the result may lie from the scan.
        triangles: how many to aim at.
        progress: told and asked between the steps.

    Raises:
        ImportFailed: four times as many triangles still deviate more.
        Cancelled: the user stopped it.
    """
    if len(mesh.triangles) <= triangles:
        return ThinnedScan(mesh, 0.0)
    progress = progress or Silent()
    near = _Nearby.of(mesh)
    best = np.inf
    for target in (triangles, 2 * triangles, 4 * triangles):
        if target >= len(mesh.triangles):
            return ThinnedScan(mesh, 0.0)
        progress.tell(Step(f"Thinning to {target:,} triangles"))
        vertices, faces = fast_simplification.simplify(
            np.ascontiguousarray(mesh.vertices, dtype=np.float64),
            np.ascontiguousarray(mesh.triangles, dtype=np.int32),
            target_count=target,
        )
        stop_if_cancelled(progress)
        thin = ScanMesh(np.asarray(vertices, dtype=float), np.asarray(faces, dtype=np.int64))
        deviation = near.farthest(_samples(thin))
        if deviation <= most_mm:
            return ThinnedScan(thin, deviation)
        best = min(best, deviation)
        stop_if_cancelled(progress)
    raise ImportFailed(
        f"With {4 * triangles:,} triangles the scan would be {best:.2g} mm off in places.",
        mend="Allow more, choose a smaller part, or save the scan with fewer triangles.",
    )


@dataclass(frozen=True, eq=False)
class _Nearby:
    """A dense scan, to measure from."""

    corners: NDArray[np.float64]
    tree: cKDTree

    @classmethod
    def of(cls, mesh: ScanMesh) -> "_Nearby":
        corners = mesh.vertices[mesh.triangles]
        return cls(corners, cKDTree(corners.mean(axis=1)))

    def farthest(self, points: NDArray[np.float64]) -> float:
        """Return the greatest distance from the scan, to the nearest triangles round about.

        Where those are not the nearest, it comes out too large, never too small.
        """
        count = min(_CANDIDATES, len(self.corners))
        _, near = self.tree.query(points, k=count)
        near = near.reshape(len(points), count)
        worst = 0.0
        for start in range(0, len(points), 20_000):
            rows = slice(start, start + 20_000)
            some = np.repeat(points[rows], count, axis=0)
            away = _distances(some, self.corners[near[rows].ravel()]).reshape(-1, count)
            worst = max(worst, float(away.min(axis=1).max()))
        return worst


def _samples(thin: ScanMesh) -> NDArray[np.float64]:
    """Return points on a thin scan: corners, and evenly over each triangle."""
    shares = [(i / 4, j / 4, 1 - (i + j) / 4) for i in range(4) for j in range(4 - i)]
    inside = np.einsum("kc,mcd->mkd", np.array(shares), thin.vertices[thin.triangles])
    points = np.vstack((thin.vertices, inside.reshape(-1, 3)))
    return points[:: max(1, len(points) // _MEASURED)]


def _distances(
    points: NDArray[np.float64], corners: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the distance of each point from its triangle, corners of shape (k, 3, 3)."""
    a, u, v = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(u, v)
    square = np.maximum((normal**2).sum(axis=1), 1e-30)
    p = points - a
    second = (np.cross(p, v) * normal).sum(axis=1) / square
    third = (np.cross(u, p) * normal).sum(axis=1) / square
    inside = (second >= 0) & (third >= 0) & (second + third <= 1)
    to_plane = np.abs((p * normal).sum(axis=1)) / np.sqrt(square)
    to_sides = np.min(
        [_to_segment(points, corners[:, i], corners[:, (i + 1) % 3]) for i in range(3)], axis=0
    )
    return np.asarray(np.where(inside, to_plane, to_sides))


def _to_segment(
    points: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64]
) -> NDArray[np.float64]:
    way = b - a
    t = ((points - a) * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-30)
    return np.asarray(
        np.linalg.norm(a + np.clip(t, 0, 1)[:, None] * way - points, axis=1), dtype=np.float64
    )

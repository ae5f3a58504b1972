"""The part of a scan that is to be covered: chosen, cut out, and laid flat as a panel's map."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import csgraph
from shapely import Polygon

from core.document.path import Path
from core.errors import GeometryError, ImportFailed
from core.geometry.fitting import fit_ring
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.read.photo_trace import path_of
from core.read.scan import ScanMesh
from core.read.scan_mending import areas_of, neighbours, shells_of
from core.shape.mesh import network_of_mesh
from core.shape.model import Points
from core.shape.scanned import ScannedMesh
from core.shape.topology import check_disc, rim_loops
from core.tolerance import QUANTUM_MM

Chosen = NDArray[np.bool_]
_STEP_MM = 1.0
_TOOTH_DEG = 8.0
_TOOTH_ROUNDS = 8


@dataclass(frozen=True, eq=False)
class ScannedPart:
    """A chosen part of a scan, ready to become a panel.

    Attributes:
        mesh: the surface with its flat map.
        outline: few nodes along its outer rim, in the map.
        openings: the same for each opening, the largest first.
    """

    mesh: ScannedMesh
    outline: Path
    openings: tuple[Path, ...]


def normals_of(mesh: ScanMesh) -> NDArray[np.float64]:
    """Return the unit normal of each triangle, shape (m, 3)."""
    corners = mesh.vertices[mesh.triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(across, axis=1, keepdims=True)
    return np.asarray(across / np.maximum(length, 1e-30))


def grown_from(
    mesh: ScanMesh, seed: int, *, edge_deg: float = 30.0, lean_deg: float = 180.0
) -> Chosen:
    """Choose what hangs together with a triangle, up to sharp edges and to a lean.

    Args:
        mesh: the scan.
        seed: number of the triangle to start from.
        edge_deg: stop where neighbours meet at a greater angle than this.
        lean_deg: stop where the surface leans away from the seed by more than this.
    """
    normals = normals_of(mesh)
    allowed = normals @ normals[seed] >= np.cos(np.radians(lean_deg)) - 1e-12
    allowed[seed] = True
    pairs, _, _ = neighbours(mesh.triangles)
    a, b = pairs.T
    flat = (normals[a] * normals[b]).sum(axis=1) >= np.cos(np.radians(edge_deg)) - 1e-12
    pairs = pairs[flat & allowed[a] & allowed[b]]
    m = len(mesh.triangles)
    links = sparse.coo_array((np.ones(len(pairs), dtype=np.int8), pairs.T), shape=(m, m))
    _, group = csgraph.connected_components(links, directed=False)
    return np.asarray(group == group[seed])


def within_lasso(mesh: ScanMesh, seen_at: Points, lasso: Polygon, facing: Chosen) -> Chosen:
    """Choose the triangles whose middles lie within a line drawn round them.

    Args:
        mesh: the scan.
        seen_at: shape (n, 2): where each vertex is seen.
        lasso: in the same frame; what crosses itself counts as its outside runs.
        facing: which triangles are seen at all.
    """
    shape = shapely.make_valid(lasso)
    shapely.prepare(shape)
    middles = seen_at[mesh.triangles].mean(axis=1)
    return np.asarray(facing & shapely.contains_xy(shape, middles))


def within_loop(mesh: ScanMesh, loop: NDArray[np.int64]) -> Chosen:
    """Choose the shell that a loop of the rim belongs to."""
    shells = shells_of(mesh.triangles)
    touched = np.isin(mesh.triangles, loop).any(axis=1)
    return np.isin(shells, np.unique(shells[touched]))


def loops_of(mesh: ScanMesh) -> list[NDArray[np.int64]]:
    """Return the loops of the rim as vertex numbers, the longest way round first."""
    loops = rim_loops(mesh.triangles)

    def length(loop: NDArray[np.int64]) -> float:
        ring = mesh.vertices[loop]
        return float(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).sum())

    return sorted(loops, key=length, reverse=True)


def cut_out(mesh: ScanMesh, chosen: Chosen) -> ScanMesh:
    """Return the largest connected part of what was chosen, without loose corners.

    Teeth that hang by a corner are cut off, and triangles that stand out by two sides.

    Raises:
        ImportFailed: nothing was chosen.
    """
    if not chosen.any():
        raise ImportFailed("Nothing is chosen.", mend="Choose the part to be covered.")
    kept = mesh.triangles[chosen]
    for _ in range(3):
        shells = shells_of(kept)
        area = np.bincount(shells, weights=areas_of(mesh.vertices, kept))
        kept = _without_pinches(kept[shells == int(area.argmax())])
    used, compact = np.unique(kept, return_inverse=True)
    return ScanMesh(mesh.vertices[used], compact.reshape(-1, 3))


def _without_pinches(triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    """Drop triangles at vertices where the rim runs through more than once."""
    loops = rim_loops(triangles)
    if not loops:
        return triangles
    on_rim, times = np.unique(np.concatenate(loops), return_counts=True)
    pinched = on_rim[times > 1]
    kept = ~np.isin(triangles, pinched).any(axis=1)
    return triangles[kept] if kept.any() else triangles


def part_of(
    mesh: ScanMesh, *, tolerance_mm: float, progress: Progress | None = None
) -> ScannedPart:
    """Lay a part flat, and draw its outline and openings in the map.

    Args:
        mesh: as cut out: one surface with a rim.
        tolerance_mm: how far the outline may leave the rim's corners.
        progress: told and asked now and then.

    Raises:
        GeometryError: what cannot be laid flat in one piece, with the reason.
        Cancelled: the user stopped it.
    """
    check_disc(mesh.triangles)
    network = network_of_mesh(mesh.vertices, mesh.triangles, progress=progress)
    at = np.round(network.at / QUANTUM_MM) * QUANTUM_MM
    vertices = np.round(mesh.vertices / QUANTUM_MM) * QUANTUM_MM
    rings = [at[loop] for loop in rim_loops(mesh.triangles)]
    rings.sort(key=lambda ring: Polygon(ring).area, reverse=True)
    outer = Polygon(rings[0])
    if not outer.is_valid:
        raise GeometryError(
            "The part overlies itself when it is laid flat.", mend="Choose less of it."
        )
    paths = _fitted(rings, tolerance_mm, progress or Silent())
    return ScannedPart(
        mesh=ScannedMesh(vertices=vertices, triangles=mesh.triangles, at=at),
        outline=paths[0],
        openings=tuple(paths[1:]),
    )


def _fitted(rings: list[Points], tolerance_mm: float, progress: Progress) -> list[Path]:
    paths = []
    for number, ring in enumerate(rings):
        stop_if_cancelled(progress)
        progress.tell(Step("Drawing outline and openings", number / len(rings)))
        paths.append(path_of(fit_ring(_close(_without_teeth(ring)), tolerance_mm)))
    return paths


def _without_teeth(ring: Points) -> Points:
    """Return a ring without the teeth that a choice of whole triangles leaves on it.

    A tooth turns one way and its neighbours the other; a corner of the part does not.
    """
    flat = ring[:, 0] + 1j * ring[:, 1]
    for _ in range(_TOOTH_ROUNDS):
        before, after = np.roll(flat, 1), np.roll(flat, -1)
        turn = np.degrees(np.angle((after - flat) / (flat - before)))
        against = np.minimum(-turn * np.roll(turn, 1), -turn * np.roll(turn, -1))
        is_tooth = (against > 0) & (np.abs(turn) > _TOOTH_DEG)
        flat = np.where(is_tooth, flat / 2 + (before + after) / 4, flat)
    smooth = np.column_stack((flat.real, flat.imag))
    return smooth if Polygon(smooth).is_valid else ring


def _close(ring: Points) -> Points:
    """Return a ring with points about a millimetre apart, as the fitting wants them."""
    dense = shapely.segmentize(shapely.LinearRing(ring), _STEP_MM)
    return np.asarray(shapely.orient_polygons(Polygon(dense)).exterior.coords)[:-1]

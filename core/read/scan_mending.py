"""What is mended in a scan, and what is told about it.

Safe, and done: corners that coincide are joined, triangles without area or that are there twice
are dropped, neighbours that face opposite ways are turned, crumbs are dropped, pinholes are
closed. Not safe, and left for a refusal where it matters: sides that three triangles share (the
surface is parted there), larger holes (they are openings), a surface with one side only.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import csgraph
from scipy.spatial import cKDTree

from core.errors import ImportFailed
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.read.scan import ScanMesh
from core.read.scan_closing import openings_closed
from core.shape.model import Triangles
from core.shape.topology import directed_sides

_JOIN_SHARE = 1e-6
"""Of the scan's size: corners nearer than this are one (single precision tells no better).

So there are a million steps along each axis, and 21 bits hold one."""
_CRUMB_SHARE = 0.005
_PINHOLE_MM = 6.0
"""Smaller across than any opening that film is cut out for."""


@dataclass(frozen=True, eq=False)
class MendedScan:
    """A scan that can be worked with, and what was mended.

    Attributes:
        mesh: each shell's triangles face one way; where it is closed, outwards.
        told: sentences for the user.
    """

    mesh: ScanMesh
    told: tuple[str, ...]


def mended(mesh: ScanMesh, where: str, progress: Progress | None = None) -> MendedScan:
    """Mend what is safe to mend.

    Raises:
        ImportFailed: nothing is left of the surface.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    told: list[str] = []
    progress.tell(Step("Joining corners"))
    vertices, triangles = _joined(mesh)
    triangles = _without_doubles(triangles, told)
    if not len(triangles):
        raise ImportFailed("It holds no surface.", where=where, mend="Save it as a mesh.")
    stop_if_cancelled(progress)
    progress.tell(Step("Turning triangles to one side"))
    triangles = _facing_one_way(triangles, told)
    # Turning a triangle over changes neither its neighbours nor its shell.
    pairs, _, _ = neighbours(triangles)
    shells = _shells(pairs, len(triangles))
    triangles = _outwards(ScanMesh(vertices, triangles), pairs, shells, told)
    stop_if_cancelled(progress)
    progress.tell(Step("Looking for holes"))
    triangles = _without_crumbs(ScanMesh(vertices, triangles), shells, told)
    whole, closed = openings_closed(ScanMesh(vertices, triangles), _PINHOLE_MM)
    if closed:
        told.append(f"{closed:,} pinhole{'s were' if closed > 1 else ' was'} closed.")
    used, compact = np.unique(whole.triangles, return_inverse=True)
    return MendedScan(ScanMesh(whole.vertices[used], compact.reshape(-1, 3)), tuple(told))


def turned_over(mesh: ScanMesh) -> ScanMesh:
    """Return a scan that shows its other side: a scanner may see an open part from within."""
    return ScanMesh(mesh.vertices, mesh.triangles[:, [0, 2, 1]])


def neighbours(triangles: Triangles) -> tuple[NDArray[np.int64], NDArray[np.int64], int]:
    """Return pairs of triangles that share a side which no third has.

    Returns:
        Numbers of triangles, shape (k, 2); for each pair whether both run along the side in
        the same direction, so that one of them is turned over; and how many sides are shared
        by three or more.
    """
    ends = directed_sides(triangles).reshape(-1, 2)
    size = int(triangles.max()) + 1
    low = ends.min(axis=1)
    key = low * size + ends.max(axis=1)
    order = np.argsort(key, kind="stable")
    differs = np.concatenate(([True], np.diff(key[order]) != 0, [True]))
    first = np.flatnonzero(differs[:-1])
    counts = np.diff(np.append(first, len(key)))
    start = first[counts == 2]
    a, b = order[start], order[start + 1]
    same = (ends[a, 0] == ends[b, 0]).astype(np.int64)
    return np.column_stack((a // 3, b // 3)), same, int((counts > 2).sum())


def _joined(mesh: ScanMesh) -> tuple[NDArray[np.float64], Triangles]:
    """Join corners that coincide, however they were rounded."""
    reach = max(_JOIN_SHARE * mesh.size_mm, 1e-9)
    steps = np.round((mesh.vertices - mesh.vertices.min(axis=0)) / reach).astype(np.int64)
    key = (steps[:, 0] << 42) + (steps[:, 1] << 21) + steps[:, 2]
    _, first, number = np.unique(key, return_index=True, return_inverse=True)
    vertices = mesh.vertices[first]
    pairs = cKDTree(vertices).query_pairs(reach, output_type="ndarray")
    if len(pairs):  # those that were rounded apart
        links = sparse.coo_array((np.ones(len(pairs)), pairs.T), shape=(len(vertices),) * 2)
        _, label = csgraph.connected_components(links, directed=False)
        _, first, label = np.unique(label, return_index=True, return_inverse=True)
        number, vertices = label[number], vertices[first]
    return vertices, np.asarray(number[mesh.triangles])


def _without_doubles(triangles: Triangles, told: list[str]) -> Triangles:
    a, b, c = triangles.T
    real = triangles[(a != b) & (b != c) & (c != a)]
    if len(real) < len(triangles):
        told.append(f"{len(triangles) - len(real):,} triangles without area were dropped.")
    if not len(real):
        return np.asarray(real)
    _, first = np.unique(np.sort(real, axis=1), axis=0, return_index=True)
    if len(first) < len(real):
        told.append(f"{len(real) - len(first):,} triangles were there twice and were dropped.")
    return np.asarray(real[np.sort(first)])


def _facing_one_way(triangles: Triangles, told: list[str]) -> Triangles:
    """Turn neighbours that face opposite ways.

    Each triangle is taken twice, as it is and turned over; what belongs together falls into
    two groups, one the other turned over. The one that leaves more as it is is taken.
    """
    pairs, same, shared = neighbours(triangles)
    m = len(triangles)
    if shared:
        told.append(
            f"At {shared:,} sides three or more triangles meet; the surface is parted there."
        )
    a, b = pairs.T
    rows = np.concatenate((a, a + m))
    columns = np.concatenate((b + m * same, b + m * (1 - same)))
    links = sparse.coo_array(
        (np.ones(len(rows), dtype=np.int8), (rows, columns)), (2 * m, 2 * m)
    )
    count, group = csgraph.connected_components(links, directed=False)
    as_is = np.bincount(group[:m], minlength=count)
    turned = np.bincount(group[m:], minlength=count)
    one_sided = group[:m] == group[m:]
    flip = (as_is[group[:m]] < turned[group[:m]]) & ~one_sided
    # Of two groups as large, the lower number stays as it is.
    tie = (as_is[group[:m]] == turned[group[:m]]) & (group[:m] > group[m:]) & ~one_sided
    flip |= tie
    if one_sided.all():
        raise ImportFailed(
            "It has one side only, like a twisted ring.", mend="Choose another part."
        )
    if one_sided.any():
        told.append("A part of it has one side only, like a twisted ring; it cannot be used.")
        triangles, flip = triangles[~one_sided], flip[~one_sided]
    if flip.any():
        told.append(f"{int(flip.sum()):,} triangles faced the wrong way and were turned.")
        triangles = triangles.copy()
        triangles[flip] = triangles[flip][:, [0, 2, 1]]
    return triangles


def shells_of(triangles: Triangles) -> NDArray[np.int64]:
    """Return which shell each triangle belongs to, by shared sides."""
    pairs, _, _ = neighbours(triangles)
    return _shells(pairs, len(triangles))


def _shells(pairs: NDArray[np.int64], count: int) -> NDArray[np.int64]:
    links = sparse.coo_array(
        (np.ones(len(pairs), dtype=np.int8), pairs.T), shape=(count, count)
    )
    _, shells = csgraph.connected_components(links, directed=False)
    return np.asarray(shells, dtype=np.int64)


def _outwards(
    mesh: ScanMesh, pairs: NDArray[np.int64], shells: NDArray[np.int64], told: list[str]
) -> Triangles:
    """Turn closed shells inside out where they face inwards."""
    triangles = mesh.triangles
    if not len(triangles):
        return triangles
    corners = mesh.vertices[triangles]
    volumes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    count = int(shells.max()) + 1
    volume = np.bincount(shells, weights=volumes, minlength=count)
    sides = np.bincount(shells[pairs[:, 0]], minlength=count)
    is_closed = 2 * sides == 3 * np.bincount(shells, minlength=count)
    flip = (is_closed & (volume < 0))[shells]
    if flip.any():
        told.append("A closed part faced inwards and was turned inside out.")
        triangles = triangles.copy()
        triangles[flip] = triangles[flip][:, [0, 2, 1]]
    return triangles


def areas_of(vertices: NDArray[np.float64], triangles: Triangles) -> NDArray[np.float64]:
    """Return the area of each triangle."""
    corners = vertices[triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.asarray(np.linalg.norm(across, axis=1) / 2)


def _without_crumbs(mesh: ScanMesh, shells: NDArray[np.int64], told: list[str]) -> Triangles:
    area = np.bincount(shells, weights=areas_of(mesh.vertices, mesh.triangles))
    large = area >= _CRUMB_SHARE * area.max()
    if not large.all():
        told.append(f"{int((~large).sum()):,} loose crumbs were dropped.")
    if large.sum() > 1:
        told.append(f"It has {int(large.sum())} parts; choose the one to be covered.")
    return np.asarray(mesh.triangles[large[shells]])

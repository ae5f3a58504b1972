"""How the triangles of a network hang together: sides, rim, loops."""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import csgraph

from core.errors import GeometryError
from core.shape.model import Network, Points, Triangles

Ends = NDArray[np.int64]
_OPPOSITE = ((1, 2), (2, 0), (0, 1))


def directed_sides(triangles: Triangles) -> Ends:
    """Return the directed sides, shape (m, 3, 2): the i-th lies opposite the i-th corner."""
    return triangles[:, _OPPOSITE]


def network_of_lengths(
    lengths: Callable[[Points, Points], Points], at: Points, triangles: Triangles
) -> Network:
    """Return triangles of a map with their sides as a measure of its steps has them."""
    ends = directed_sides(triangles).reshape(-1, 2)
    low, high = ends.min(axis=1), ends.max(axis=1)
    steps, inverse = np.unique(low * len(at) + high, return_inverse=True)
    found = lengths(at[steps // len(at)], at[steps % len(at)])
    return Network(at=at, triangles=triangles, sides=found[inverse].reshape(-1, 3))


def rim_sides(network: Network) -> tuple[Ends, Points]:
    """Return the directed sides that only one triangle has, shape (k, 2), and their lengths."""
    ends = directed_sides(network.triangles).reshape(-1, 2)
    alone = _is_alone(ends, len(network.at))
    return ends[alone], network.sides.ravel()[alone]


def rim_triangles(network: Network) -> NDArray[np.int64]:
    """Return the numbers of the triangles that have a side on the rim."""
    ends = directed_sides(network.triangles).reshape(-1, 2)
    return np.unique(np.flatnonzero(_is_alone(ends, len(network.at))) // 3)


def _is_alone(ends: Ends, size: int) -> NDArray[np.bool_]:
    low, high = ends.min(axis=1), ends.max(axis=1)
    keys = low * size + high
    order = np.argsort(keys)
    differs = np.concatenate(([True], np.diff(keys[order]) != 0, [True]))
    alone = np.empty(len(keys), dtype=np.bool_)
    alone[order] = differs[:-1] & differs[1:]
    return alone


def _count_distinct(values: Ends) -> int:
    return int(np.count_nonzero(np.diff(np.sort(values, axis=None)))) + 1


def rim_loops(triangles: Triangles) -> list[NDArray[np.int64]]:
    """Return the loops of the rim as vertex numbers, the longest (by vertices) first.

    The surface lies to the left of each. Where loops touch in a vertex they are told apart
    anyhow.
    """
    ends = directed_sides(triangles).reshape(-1, 2)
    alone = ends[_is_alone(ends, int(triangles.max()) + 1)]
    onwards: dict[int, list[int]] = {}
    for a, b in alone.tolist():
        onwards.setdefault(a, []).append(b)
    return sorted(_walks(onwards), key=len, reverse=True)


def _walks(onwards: dict[int, list[int]]) -> Iterator[NDArray[np.int64]]:
    while onwards:
        first = next(iter(onwards))
        loop, at = [], first
        while at in onwards:
            loop.append(at)
            ways = onwards[at]
            following = ways.pop()
            if not ways:
                del onwards[at]
            at = following
        yield np.array(loop, dtype=np.int64)


def shell_of_each(triangles: Triangles) -> NDArray[np.int64]:
    """Return, for each triangle, the number of the shell that it belongs to.

    Triangles belong together where they share a vertex.
    """
    size = int(triangles.max()) + 1
    a, b = triangles.ravel(), np.roll(triangles, 1, axis=1).ravel()
    links = sparse.coo_array((np.ones(len(a), dtype=np.int8), (a, b)), shape=(size, size))
    _, label = csgraph.connected_components(links, directed=False)
    _, shells = np.unique(label[triangles[:, 0]], return_inverse=True)
    return np.asarray(shells, dtype=np.int64)


def check_disc(triangles: Triangles) -> None:
    """Refuse what is not one surface with a rim.

    Raises:
        GeometryError: no triangles, several shells, a closed surface, a side that three
            triangles share or that two run along in the same direction, or a handle.
    """
    if not len(triangles):
        raise GeometryError("There is no surface: not one triangle.")
    if shell_of_each(triangles).any():
        raise GeometryError("The surface is in several parts.", mend="Choose one of them.")
    ends = directed_sides(triangles).reshape(-1, 2)
    size = int(triangles.max()) + 1
    if _count_distinct(ends[:, 0] * size + ends[:, 1]) < len(ends):
        raise GeometryError(
            "Triangles of the surface overlie each other or face opposite ways.",
            mend="Choose a smaller part of it, or mend the mesh.",
        )
    loops = rim_loops(triangles)
    if not loops:
        raise GeometryError(
            "The surface is closed: it has no rim.", mend="Choose the part to be covered."
        )
    low, high = ends.min(axis=1), ends.max(axis=1)
    sides = _count_distinct(low * size + high)
    characteristic = _count_distinct(triangles) - sides + len(triangles)
    if characteristic != 2 - len(loops):
        raise GeometryError(
            "The surface runs round like a ring or a handle and cannot be laid flat.",
            mend="Choose a part that is open on one side.",
        )

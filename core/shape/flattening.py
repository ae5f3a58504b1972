"""Film laid on a network at the least force: a network laid flat."""

from collections.abc import Callable

import numpy as np
from scipy import sparse

from core.progress import Progress
from core.shape.conformal import conformal_layout
from core.shape.descent import Patience, descend
from core.shape.elements import Complex, Elements, elements_of, factored
from core.shape.energies import Membrane
from core.shape.model import Laying, Network, Points
from core.shape.threads import one_thread
from core.shape.topology import rim_loops, rim_sides

_MILD = 2.5
"""The map serves as a start where no triangle of it is stretched or shrunk more than this."""
FREE_PATIENCE = Patience(steps=300, gain=1e-8)
QUICK_FREE_PATIENCE = Patience(steps=100, gain=1e-6)
"""For pieces while they are drawn: points lie within 0.001 mm of the better answer."""


def flatten(
    network: Network,
    *,
    poisson: float = 0.45,
    compression_weight: float = 1.0,
    progress: Progress | None = None,
) -> Laying:
    """Lay film on a network at the least elastic energy.

    Args:
        network: one surface with a rim; see topology.check_disc.
        poisson: Poisson's number of the film.
        compression_weight: how much dearer bunching is than stretch.
        progress: asked at each step whether to stop.

    Returns:
        The film, turned and moved to lie over the network's map as nearly as can be.

    Raises:
        Cancelled: the user stopped it.

    Degenerate input: slivers are taken to be a little thicker than they are.
    """
    elements = elements_of(network)
    with one_thread():
        start = first_layout(network, elements)
        film = relaxed(elements, Membrane(poisson, compression_weight), start, progress)
    return laying_of(network, elements, film)


def relaxed(
    elements: Elements,
    membrane: Membrane,
    start: Complex,
    progress: Progress | None = None,
    patience: Patience = FREE_PATIENCE,
) -> Complex:
    """Return film points of least elastic energy, from a start without folds."""
    return descend(membrane.on(elements), start, solver(elements), patience, progress)


def laying_of(network: Network, elements: Elements, film: Complex) -> Laying:
    """Return film points as a laying over the network's map."""
    points = as_points(film)
    points = aligned(points, network.at, elements.areas, network)
    return Laying(points=points, strains=elements.strains(film))


def first_layout(network: Network, elements: Elements) -> Complex:
    """Return film points without folds to start from: the map if it is mild, else conformal."""
    map_points = as_complex(network.at)
    z, w = elements.parts(map_points)
    wide, narrow = np.abs(z) + np.abs(w), np.abs(z) - np.abs(w)
    if narrow.min() > 1 / _MILD and wide.max() < _MILD:
        return map_points
    film = conformal_layout(network, elements)
    if not elements.has_folds(film):
        return film
    if narrow.min() > 0:
        return map_points
    return spread_layout(network, elements)


def spread_layout(network: Network, elements: Elements) -> Complex:
    """Return film points without folds: the longest loop on a circle, the others filled.

    Source: Tutte, How to draw a graph, Proc. London Math. Soc. 13 (1963) 743-767.
    """
    size = len(network.at)
    outer, *holes = rim_loops(network.triangles)
    ends, _ = rim_sides(network)
    a = [network.triangles[:, [0, 1, 2]].ravel(), ends[:, 1]]
    b = [network.triangles[:, [1, 2, 0]].ravel(), ends[:, 0]]
    for number, hole in enumerate(holes):
        a += [hole, np.full(len(hole), size + number)]
        b += [np.full(len(hole), size + number), hole]
    total = size + len(holes)
    rows, columns = np.concatenate(a), np.concatenate(b)
    links = sparse.csr_array((np.ones(len(rows)), (rows, columns)), shape=(total, total))
    matrix = sparse.csr_array(sparse.diags_array(links.sum(axis=1)) - links)
    radius = np.sqrt(elements.areas.sum() / np.pi)
    film = np.zeros(total, dtype=complex)
    film[outer] = radius * np.exp(2j * np.pi * np.arange(len(outer)) / len(outer))
    free = np.setdiff1d(np.arange(total), outer)
    pull = -(matrix[free][:, outer] @ film[outer])
    factor = factored(sparse.csc_array(matrix[free][:, free]))
    film[free] = factor.solve(pull.real) + 1j * factor.solve(pull.imag)
    return film[:size]


def solver(elements: Elements) -> Callable[[Complex], Complex]:
    """Return what applies the inverse Laplacian to complex points."""

    def solve(right: Complex) -> Complex:
        both = elements.factor.solve(np.column_stack((right.real, right.imag)))
        return np.asarray(both[:, 0] + 1j * both[:, 1])

    return solve


def aligned(points: Points, onto: Points, areas: Points, network: Network) -> Points:
    """Turn and move points, never mirror them, to lie on others as nearly as can be.

    Vertices count by the area round them.

    Source: the planar case of Kabsch, Acta Cryst. A32 (1976) 922.
    """
    weights = np.bincount(
        network.triangles.ravel(), weights=np.repeat(areas, 3), minlength=len(points)
    )
    share = weights / weights.sum()
    here, there = as_complex(points), as_complex(onto)
    here_mid, there_mid = share @ here, share @ there
    turn = np.vdot(share * (here - here_mid), there - there_mid)
    turn = turn / abs(turn) if abs(turn) > 0 else 1.0
    return as_points((here - here_mid) * turn + there_mid)


def as_complex(points: Points) -> Complex:
    """Return points of shape (n, 2) as complex numbers."""
    return np.asarray(points[:, 0] + 1j * points[:, 1])


def as_points(film: Complex) -> Points:
    """Return complex numbers as points of shape (n, 2)."""
    return np.column_stack((film.real, film.imag))

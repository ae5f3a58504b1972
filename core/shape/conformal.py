"""A first flat layout that keeps angles: the spectral conformal map of a network.

Of all layouts, the one that deviates least from keeping angles for its size, measured at the
rim. On a spherical cap it is the stereographic projection.

Source: Lévy, Petitjean, Ray & Maillot, Least squares conformal maps, ACM Trans. Graphics 21
(2002) 362-371, for the energy; Mullen, Tong, Alliez & Desbrun, Spectral conformal
parameterization, Computer Graphics Forum 27 (2008) 1487-1494, for the choice without pins.
Both from memory; the energy, ``sum of A |w|²``, is derived in elements.py.
"""

import numpy as np
from scipy import sparse

from core.shape.elements import Complex, Elements, factored
from core.shape.model import Network
from core.shape.topology import rim_sides

_ROUNDS = 6
_SHIFT = 1e-7
_SEED = 20261


def conformal_layout(network: Network, elements: Elements) -> Complex:
    """Return film points of the spectral conformal map, as large as the surface.

    Degenerate input: a network without a rim gives points that mean nothing; see topology.py.
    """
    size = len(network.at)
    by_w = elements.by_z.conj()
    matrix = by_w.conj().T @ (sparse.diags_array(elements.areas) @ by_w)
    matrix = sparse.csc_array(matrix)
    shift = _SHIFT * float(matrix.diagonal().real.mean())
    factor = factored(matrix + shift * sparse.eye_array(size, format="csc"))
    weight = _rim_weights(network)
    film = np.random.default_rng(_SEED).normal(size=(size, 2)) @ np.array([1, 1j])
    for _ in range(_ROUNDS):
        film = film - (weight @ film) / weight.sum()
        film = film / np.sqrt(weight @ np.abs(film) ** 2)
        film = factor.solve(weight * film)
    film = film - (weight @ film) / weight.sum()
    z, _ = elements.parts(film)
    # As large as the surface, and turned so that triangles keep their direction on average.
    return np.asarray(film * np.sqrt(elements.areas.sum() / (elements.areas @ np.abs(z) ** 2)))


def _rim_weights(network: Network) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return half the length of the rim sides at each vertex."""
    ends, lengths = rim_sides(network)
    weights = np.zeros(len(network.at))
    np.add.at(weights, ends[:, 0], lengths / 2)
    np.add.at(weights, ends[:, 1], lengths / 2)
    return weights

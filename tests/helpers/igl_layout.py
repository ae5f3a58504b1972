"""libigl's as-rigid-as-possible layout, and the least of the same energy by our own descent.

It minimises (s1 - 1)² + (s2 - 1)² over the surface, where s are stretches from surface to film.
libigl (MPL-2.0) is a reference for tests only.
"""

import numpy as np
import pytest

from core.shape.descent import Patience, descend
from core.shape.elements import elements_of
from core.shape.flattening import solver
from core.shape.mesh import network_of_mesh


def assert_laid_as_libigl_does(vertices, triangles):
    """Worst and mean strain of both layouts agree within 1 %."""
    igl = pytest.importorskip("igl")
    network = network_of_mesh(vertices, triangles)
    elements = elements_of(network)
    theirs = _arap(igl, vertices, triangles, network.at)
    ours = _least(elements, network.at[:, 0] + 1j * network.at[:, 1])
    their_strains = elements.strains(theirs[:, 0] + 1j * theirs[:, 1])
    our_strains = elements.strains(ours)
    for measure in (np.min, np.max, lambda s: np.abs(s).mean()):
        assert measure(our_strains) == pytest.approx(measure(their_strains), rel=0.01, abs=1e-4)


def _arap(igl, vertices, triangles, start):
    pinned = np.array([int(np.argmin(np.hypot(*start.T)))])
    data = igl.ARAPData()
    data.max_iter = 200
    data.energy = igl.ARAP_ENERGY_TYPE_ELEMENTS
    igl.arap_precomputation(vertices, triangles, 2, pinned, data)
    film = start.copy()
    for _ in range(3):
        film = igl.arap_solve(start[pinned], data, film)
    return film


def _least(elements, start):
    def cost(film):
        z, w = elements.parts(film)
        big, small = np.abs(z), np.abs(w)
        if (big <= small).any():
            return np.inf, film
        # (s1 - 1)² + (s2 - 1)² with s = |z| ± |w|
        value = float((elements.areas * (2 * (big - 1) ** 2 + 2 * small**2)).sum())
        gradient = elements.gather(
            elements.areas * 4 * (big - 1) * z / big, elements.areas * 4 * w
        )
        return value, gradient

    return descend(cost, start, solver(elements), Patience(800, 1e-12))

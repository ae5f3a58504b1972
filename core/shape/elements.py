"""Triangles of known sides as finite elements: how film stretches when it is laid on them.

Film points are complex numbers, x + iy. On a triangle the way from the surface to the flat
film is linear; as a map of complex numbers it is ``p = z q + w conj(q)``, and its principal
stretches are ``|z| + |w|`` and ``|z| - |w|``. The second is negative where film is folded over.
Film is then stretched by the inverses: laid length over flat length.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import linalg

from core.shape.model import Network, Points

Complex = NDArray[np.complex128]
_THINNEST = 1e-3
"""Triangles lower than this share of their longest side are taken to be as high: the film of a
sliver weighs nothing, but its strain must stay finite."""


@dataclass(frozen=True, eq=False)
class Elements:
    """The triangles of a network as finite elements.

    Attributes:
        areas: shape (m,), mm², of the triangles on the surface.
        by_z: sparse, shape (m, n): the conformal part of each triangle's map.
        stiffness: sparse, shape (n, n): the Laplacian, by cotangents.
    """

    areas: Points
    by_z: sparse.csr_array
    stiffness: sparse.csc_array

    @cached_property
    def by_z_turned(self) -> sparse.csr_array:
        """The adjoint of ``by_z``."""
        return sparse.csr_array(self.by_z.conj().T)

    @cached_property
    def factor(self) -> linalg.SuperLU:
        """The stiffness matrix, factored; made regular by a trifle."""
        size = self.stiffness.shape[0]
        trifle = 1e-7 * float(self.stiffness.diagonal().mean())
        return factored(self.stiffness + trifle * sparse.eye_array(size, format="csc"))

    def parts(self, film: Complex) -> tuple[Complex, Complex]:
        """Return ``z`` and ``w`` of each triangle."""
        both = self.by_z @ np.column_stack((film, film.conj()))
        return both[:, 0], both[:, 1].conj()

    def gather(self, at_z: Complex, at_w: Complex) -> Complex:
        """Return the gradient by film points, from the gradients by ``z`` and ``w``."""
        both = self.by_z_turned @ np.column_stack((at_z, at_w.conj()))
        return np.asarray(both[:, 0] + both[:, 1].conj())

    def strains(self, film: Complex) -> Points:
        """Return least and greatest principal strain of each triangle, shape (m, 2)."""
        z, w = self.parts(film)
        narrow = np.maximum(np.abs(z) - np.abs(w), 1e-9)
        return np.column_stack((1 / (np.abs(z) + np.abs(w)) - 1, 1 / narrow - 1))

    def has_folds(self, film: Complex) -> bool:
        """Return whether any triangle is folded over."""
        z, w = self.parts(film)
        return bool((np.abs(z) <= np.abs(w)).any())


def factored(matrix: sparse.csc_array) -> linalg.SuperLU:
    """Factor a symmetric positive definite (or Hermitian) sparse matrix."""
    return linalg.splu(
        matrix.tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )


def corners_of(sides: Points) -> Points:
    """Lay each triangle flat by its sides.

    Args:
        sides: shape (m, 3), the i-th opposite the i-th corner.

    Returns:
        Shape (m, 3, 2): the first corner at the origin, the second on the x axis, the third
        above it.

    Degenerate input: slivers, and sides that close to no triangle, are given a little height.
    """
    longest = sides.max(axis=1)
    a, b = sides[:, 0], sides[:, 1]
    c = np.maximum(sides[:, 2], _THINNEST * longest)
    x = (b * b + c * c - a * a) / (2 * c)
    y = np.sqrt(np.maximum(b * b - x * x, (_THINNEST * longest) ** 2))
    corners = np.zeros((len(sides), 3, 2))
    corners[:, 1, 0] = c
    corners[:, 2, 0], corners[:, 2, 1] = x, y
    return corners


def elements_of(network: Network) -> Elements:
    """Return the finite elements of a network."""
    corners = corners_of(network.sides)
    flat = corners[:, :, 0] + 1j * corners[:, :, 1]
    doubled = corners[:, 1, 0] * corners[:, 2, 1]
    # The gradient of the hat function of corner i is the opposite side, turned, over 2 A.
    opposite = np.roll(flat, -2, axis=1) - np.roll(flat, -1, axis=1)
    gradient = 1j * opposite / doubled[:, None]
    m, n = len(network.triangles), len(network.at)
    rows = np.repeat(np.arange(m), 3)
    columns = network.triangles.ravel()
    by_z = sparse.csr_array(((gradient.conj() / 2).ravel(), (rows, columns)), shape=(m, n))
    areas = doubled / 2
    weighted = sparse.csr_array(((gradient * areas[:, None]).ravel(), (rows, columns)), (m, n))
    plain = sparse.csr_array((gradient.ravel(), (rows, columns)), shape=(m, n))
    stiffness = sparse.csc_array((plain.conj().T @ weighted).real)
    return Elements(areas=areas, by_z=by_z, stiffness=stiffness)

"""What a laying costs: film as an elastic membrane, and the worst strain as a p-norm.

Both are functions of the principal stretches of each triangle, wide and narrow, counted from
the surface to the flat film; film laid on the surface is stretched by their inverses.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.shape.elements import Complex, Elements
from core.shape.model import Points

Cost = Callable[[Complex], tuple[float, Complex]]
"""From film points to cost and gradient; infinite, without a gradient, where film folds."""


@dataclass(frozen=True)
class Membrane:
    """Film as a thin elastic sheet in plane stress, of Young's modulus 1.

    Energy per film area: Hooke's law, ``(e1² + e2² + 2 nu e1 e2) / (2 (1 - nu²))``, and
    ``(c - 1) / 2 · min(e, 0)²`` for both strains, by which bunching is weighed ``c`` times.

    Attributes:
        poisson: Poisson's number; 0.45 is soft film (common practice, no source).
        compression_weight: how much dearer bunching is than stretch.
    """

    poisson: float = 0.45
    compression_weight: float = 1.0

    def density(self, wide: Points, narrow: Points) -> tuple[Points, Points, Points]:
        """Return energy per surface area, and its derivatives by both stretches."""
        nu = self.poisson
        e1, e2 = 1 / wide - 1, 1 / narrow - 1
        c1, c2 = np.minimum(e1, 0.0), np.minimum(e2, 0.0)
        more = self.compression_weight - 1
        energy = (e1 * e1 + e2 * e2 + 2 * nu * e1 * e2) / (2 * (1 - nu * nu))
        energy += more / 2 * (c1 * c1 + c2 * c2)
        by_1 = (e1 + nu * e2) / (1 - nu * nu) + more * c1
        by_2 = (e2 + nu * e1) / (1 - nu * nu) + more * c2
        return (
            wide * narrow * energy,
            narrow * energy - narrow / wide * by_1,
            wide * energy - wide / narrow * by_2,
        )

    def on(self, elements: Elements) -> Cost:
        """Return the energy of film points on a network."""

        def cost(film: Complex) -> tuple[float, Complex]:
            z, w = elements.parts(film)
            big, small = np.abs(z), np.abs(w)
            if (big <= small).any():
                return np.inf, film
            energy, by_wide, by_narrow = self.density(big + small, big - small)
            gradient = _gather(elements, (z, w), (big, small), (by_wide, by_narrow))
            return float((energy * elements.areas).sum()), gradient

        return cost


@dataclass(frozen=True)
class WorstStrain:
    """The p-norm, over the area, of the logarithm of the stretch.

    As p grows it goes towards half the logarithm of the range from the most bunched to the
    most stretched place: since film may be pulled as a whole, its size adjusts itself.

    Attributes:
        doublings: p is 2 to this power, which is quicker than any other p.
    """

    doublings: int

    def on(self, elements: Elements) -> Cost:
        """Return the p-norm of film points on a network."""
        shares = elements.areas / elements.areas.sum()
        doublings, p = self.doublings, float(2**self.doublings)

        def cost(film: Complex) -> tuple[float, Complex]:
            z, w = elements.parts(film)
            big, small = np.abs(z), np.abs(w)
            if (big <= small).any():
                return np.inf, film
            wide, narrow = big + small, big - small
            u1, u2 = np.log(wide), np.log(narrow)
            scale = max(float(np.abs(u1).max()), float(np.abs(u2).max()), 1e-12)
            t1, t2 = np.abs(u1) / scale, np.abs(u2) / scale
            raised1, raised2 = _raised(t1, doublings), _raised(t2, doublings)
            total = float((shares * (raised1 + raised2)).sum())
            norm = total ** (1 / p)
            share = norm / total / elements.areas.sum()
            by_wide = share * raised1 / (np.where(u1 == 0, 1.0, u1 / scale) * wide)
            by_narrow = share * raised2 / (np.where(u2 == 0, 1.0, u2 / scale) * narrow)
            gradient = _gather(elements, (z, w), (big, small), (by_wide, by_narrow))
            return norm * scale, gradient

        return cost


def _raised(base: Points, doublings: int) -> Points:
    for _ in range(doublings):
        base = base * base
    return base


def _gather(
    elements: Elements,
    parts: tuple[Complex, Complex],
    sizes: tuple[Points, Points],
    slopes: tuple[Points, Points],
) -> Complex:
    """Return the gradient by film points, from the derivatives by the stretches."""
    (z, w), (big, small), (by_wide, by_narrow) = parts, sizes, slopes
    by_big = elements.areas * (by_wide + by_narrow)
    by_small = elements.areas * (by_wide - by_narrow)
    return elements.gather(by_big * z / big, by_small * w / np.maximum(small, 1e-15))

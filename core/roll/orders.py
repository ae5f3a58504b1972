"""Orders in which pieces are laid: longest first, and chance changes of an order."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.roll.profiles import Profile

_SHUFFLE = 0.15
"""How far, in natural logarithms, sizes are taken to differ when an order is shuffled."""


def by_longest(profiles: Sequence[Sequence[Profile]]) -> list[int]:
    """Order items by their longest side."""
    return ordered([max(max(p.sides_mm) for p in ps) for ps in profiles])


def by_area(profiles: Sequence[Sequence[Profile]]) -> list[int]:
    """Order items by their area."""
    return ordered([ps[0].area for ps in profiles])


def by_length(profiles: Sequence[Sequence[Profile]]) -> list[int]:
    """Order items by the least length of roll they take."""
    return ordered([min(p.sides_mm[0] for p in ps) for ps in profiles])


def ordered(sizes: Sequence[float]) -> list[int]:
    """Return the indices, largest size first."""
    return sorted(range(len(sizes)), key=lambda i: (-sizes[i], i))


def shuffled(sizes: NDArray[np.float64], chance: np.random.Generator) -> list[int]:
    """Order items by sizes that chance has changed a little."""
    spread = np.exp(chance.normal(0.0, _SHUFFLE, len(sizes)))
    return ordered((sizes * spread).tolist())


def moved(order: Sequence[int], chance: np.random.Generator) -> list[int]:
    """Return an order with three items moved elsewhere in it."""
    changed = list(order)
    for _ in range(3):
        source, target = chance.integers(len(changed), size=2)
        changed.insert(int(target), changed.pop(int(source)))
    return changed

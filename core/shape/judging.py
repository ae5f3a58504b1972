"""Whether film can lay at all: the laying with the least range of strain, against its limits.

Pulling the film as a whole moves all strains together; it does not bring the most bunched and
the most stretched place nearer to each other. So a piece can lay only if the least range that
any laying has fits between the film's limits.
"""

from dataclasses import dataclass

import numpy as np

from core.progress import Progress
from core.shape.descent import Patience, descend
from core.shape.elements import Complex, Elements, elements_of
from core.shape.energies import Membrane, WorstStrain
from core.shape.flattening import first_layout, laying_of, relaxed, solver
from core.shape.model import Laying, Network, Points, Window
from core.shape.threads import one_thread

TRIMMED_SHARE = 0.005
"""This share of the area is left out at each end, so that one odd triangle judges nothing."""
_DOUBLINGS = (2, 4, 5)
_PATIENCE = Patience(steps=120, gain=1e-4)
QUICK_DOUBLINGS = (3, 5)
QUICK_PATIENCE = Patience(steps=25, gain=2e-3)
"""For pieces while they are drawn: the range comes out some 2 % of itself above the least."""


@dataclass(frozen=True, eq=False)
class Judgement:
    """What the best worked laying of a network still needs.

    Strains are those of the laying with the least range, pulled so that it sits in the window
    as well as it can: what is missing is shared between both limits.

    Attributes:
        laying: the worked laying.
        range_pct: from the most bunched to the most stretched place.
        limit_pct: what the film can take.
        bunching_pct, stretch_pct: the worst of each, 0 or more.
        bunching_at, stretch_at: where, in the panel's map.
    """

    laying: Laying
    range_pct: float
    limit_pct: float
    bunching_pct: float
    stretch_pct: float
    bunching_at: tuple[float, float]
    stretch_at: tuple[float, float]

    @property
    def can_lay(self) -> bool:
        """Whether the film can be worked down."""
        return self.range_pct <= self.limit_pct


def judge(network: Network, window: Window, *, progress: Progress | None = None) -> Judgement:
    """Judge whether film can be worked down on a network.

    Raises:
        Cancelled: the user stopped it.
    """
    elements = elements_of(network)
    with one_thread():
        free = relaxed(elements, Membrane(), first_layout(network, elements), progress)
        film = worked(elements, free, progress)
    least, greatest = strain_ends(elements.strains(film), elements.areas)
    pull = _pull(1 + least, 1 + greatest, window)
    film = film / pull
    laying = laying_of(network, elements, film)
    least, greatest = (1 + least) * pull - 1, (1 + greatest) * pull - 1
    return Judgement(
        laying=laying,
        range_pct=100 * ((1 + greatest) / (1 + least) - 1),
        limit_pct=window.range_pct,
        bunching_pct=100 * max(-least, 0.0),
        stretch_pct=100 * max(greatest, 0.0),
        bunching_at=_place(network, elements, laying.strains[:, 0] <= least),
        stretch_at=_place(network, elements, laying.strains[:, 1] >= greatest),
    )


def _pull(least: float, greatest: float, window: Window) -> float:
    """Return how far to pull the film as a whole: no more than brings it into the window.

    What does not fit misses both limits by the same factor.
    """
    low = (1 - window.bunching_pct / 100) / least
    high = (1 + window.stretch_pct / 100) / greatest
    return float(np.sqrt(low * high)) if low > high else float(np.clip(1.0, low, high))


def worked(
    elements: Elements,
    free: Complex,
    progress: Progress | None = None,
    doublings: tuple[int, ...] = _DOUBLINGS,
    patience: Patience = _PATIENCE,
) -> Complex:
    """Return film points worked towards the least range of strain, from a free laying."""
    film = free
    for steps in doublings:
        film = descend(
            WorstStrain(steps).on(elements), film, solver(elements), patience, progress
        )
    return film


def range_of(strains: Points, areas: Points) -> float:
    """Return the range of strain in percent, with the odd ends of the area left out."""
    least, greatest = strain_ends(strains, areas)
    return 100 * ((1 + greatest) / (1 + least) - 1)


def strain_ends(strains: Points, areas: Points) -> tuple[float, float]:
    """Return the worst bunching and the worst stretch, with the odd ends left out.

    Args:
        strains: shape (m, 2), least and greatest of each triangle.
        areas: shape (m,), of the triangles.
    """
    return (
        _quantile(strains[:, 0], areas, TRIMMED_SHARE),
        _quantile(strains[:, 1], areas, 1 - TRIMMED_SHARE),
    )


def _quantile(values: Points, areas: Points, share: float) -> float:
    """Return the value below which a share of the area lies."""
    order = np.argsort(values)
    below = np.cumsum(areas[order]) - areas[order] / 2
    return float(np.interp(share * areas.sum(), below, values[order]))


def _place(network: Network, elements: Elements, chosen: np.ndarray) -> tuple[float, float]:
    """Return the middle, in the map, of the largest of the chosen triangles."""
    numbers = np.flatnonzero(chosen)
    if not len(numbers):
        numbers = np.arange(len(network.triangles))
    largest = numbers[int(np.argmax(elements.areas[numbers]))]
    x, y = network.at[network.triangles[largest]].mean(axis=0)
    return float(x), float(y)

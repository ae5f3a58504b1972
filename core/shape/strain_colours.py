"""Strain as colours: blue where film bunches, pale where it fits, red where it stretches.

Each is told by its share of what the film takes, so that one look serves all films: at 1 the
limit is reached, and beyond it the colour turns darker at once. Blue against orange is told
apart by people who cannot tell red from green (common practice in maps, no source).
"""

from dataclasses import dataclass

import numpy as np

from core.shape.model import Points
from core.shape.view_raster import Floats, Picture

MOST = 2.0
"""Shares beyond this look alike."""
SLACK = 0.01
"""Film that is pulled just to its limit is not beyond it for a hundredth of that."""
_OVER = 1 + SLACK
_STOPS = np.array(
    [-MOST, -_OVER - 1e-3, -_OVER, -1.0, -0.5, 0.0, 0.5, 1.0, _OVER, _OVER + 1e-3, MOST]
)
_COLOURS = np.array(
    [
        (16, 30, 92), (32, 62, 150), (70, 128, 202), (70, 128, 202), (164, 200, 230),
        (245, 241, 230), (250, 205, 142), (235, 138, 54), (235, 138, 54), (190, 62, 20),
        (112, 18, 12),
    ],
    dtype=np.float64,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Limits:
    """What a film takes, in percent."""

    bunching_pct: float
    stretch_pct: float


def shares_of_limit(strains: Points, limits: Limits) -> Points:
    """Return how much of its limits each triangle needs.

    Args:
        strains: shape (m, 2): least and greatest principal strain, as fractions.
        limits: what the film takes.

    Returns:
        Shape (m, 2): the shares of the bunching and of the stretch limit, 0 or more.

    Degenerate input: a limit of zero counts as a hundredth of a percent.
    """
    bunching = np.maximum(-strains[:, 0], 0.0) * 100 / max(limits.bunching_pct, 0.01)
    stretch = np.maximum(strains[:, 1], 0.0) * 100 / max(limits.stretch_pct, 0.01)
    return np.column_stack([bunching, stretch])


def greater_share(shares: Points | Floats) -> Points:
    """Return of both shares, shape (m, 2), the greater one; bunching below zero."""
    bunching, stretch = shares[:, 0], shares[:, 1]
    return np.asarray(np.where(bunching > stretch, -bunching, stretch), dtype=np.float64)


def colours_of(shares: Points | Floats) -> Picture:
    """Return the colours of shares of the limit, shape (m, 4), opaque."""
    within: Points = np.clip(shares, -MOST, MOST).astype(np.float64)
    parts = [np.interp(within, _STOPS, _COLOURS[:, i]) for i in range(3)]
    rgba = np.stack([*parts, np.full(len(within), 255.0)], axis=1)
    return np.asarray(np.round(rgba)).astype(np.uint8)

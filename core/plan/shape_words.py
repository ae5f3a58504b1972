"""Places on a curved panel in the bench's words: the left shoulder, the front rim."""

import numpy as np
from shapely import Polygon

from core.document.surface import MeasuredSurface, line_names
from core.plan.side_words import Spot, rim_words
from core.shape.model import Development
from core.shape.surface import CurvedSurface

_AS_BAD = 0.85
"""Places that suffer so large a share of the worst are named with it."""
_MOST_NAMED = 2
_AT_END = 0.08
"""Places in this outer share of the spine lie at a station rather than along a line."""


def worst_places(
    surface: CurvedSurface,
    development: Development,
    panel: Polygon,
    flow_deg: float | None,
    *,
    is_stretch: bool,
) -> tuple[tuple[str, Spot], ...]:
    """Return the places where film suffers most, named, the worst first.

    Args:
        surface: of the panel as drawn.
        development: of the piece, in the same map.
        panel: the panel's outline there.
        flow_deg: its flow arrow, or None.
        is_stretch: whether stretch is looked for, or bunching.
    """
    laying, network = development.laying, development.network
    suffered = laying.strains[:, 1] if is_stretch else -laying.strains[:, 0]
    middles = network.at[network.triangles].mean(axis=1)
    worst: dict[str, tuple[float, Spot]] = {}
    for value, (x, y) in sorted(
        zip(suffered.tolist(), middles.tolist(), strict=True), reverse=True
    ):
        name = place_name(surface, panel, flow_deg, (x, y))
        if value < _AS_BAD * suffered.max() or len(worst) == _MOST_NAMED:
            break
        worst.setdefault(name, (value, (x, y)))
    return tuple((name, spot) for name, (_, spot) in worst.items())


def place_name(surface: CurvedSurface, panel: Polygon, flow_deg: float | None, at: Spot) -> str:
    """Return what a place is called: by the grid's lines, else by the panel's sides."""
    if surface.measured is not None and surface.fit is not None:
        return _by_grid(surface, surface.measured, at)
    words = rim_words(panel, flow_deg, at)
    return f"at the {words}" if words else "in the middle"


def _by_grid(surface: CurvedSurface, measured: MeasuredSurface, at: Spot) -> str:
    assert surface.fit is not None
    fermi = surface.fit.fermi
    (s, t), spread = fermi.from_map(np.array([at]))[0], fermi.spread
    station = int(np.argmin(np.abs(spread.stations_mm - s)))
    row = [float(np.mean(r)) for r in measured.offsets[station]]
    half = len(row) // 2
    lines = [*row[:half], 0.0, *(-v for v in row[half:])]
    line = int(np.argmin(np.abs(np.array(lines) - t)))
    name = line_names(len(lines))[line]
    ends = _AT_END * spread.length_mm
    if not ends < s < spread.length_mm - ends:
        return f"at station {station + 1}, by the {name}"
    return f"along the {name} near station {station + 1}"

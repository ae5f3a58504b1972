"""Places on a curved panel in the bench's words: the left shoulder, the front rim."""

import numpy as np
from shapely import Polygon

from core.document.surface import MeasuredSurface, line_names
from core.shape.model import Development
from core.shape.surface import CurvedSurface

_AS_BAD = 0.85
"""Places that suffer so large a share of the worst are named with it."""
_MOST_NAMED = 2
_OUTER = 0.3
"""The outer share of a panel's box on either side is called by that side."""
_AT_END = 0.08
"""Places in this outer share of the spine lie at a station rather than along a line."""
_SWAP = {"left": "right", "right": "left"}

Spot = tuple[float, float]


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
    return _by_sides(panel, flow_deg, at)


def swapped(words: str) -> str:
    """Return words with left and right changed over, for the mirrored of a pair."""
    return " ".join(_SWAP.get(word, word) for word in words.split(" "))


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


def _by_sides(panel: Polygon, flow_deg: float | None, at: Spot) -> str:
    """Name a place by the panel's sides, seen along the flow, or as drawn without one."""
    angle = np.radians(flow_deg or 0.0)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    ring = np.asarray(panel.exterior.coords) @ turn.T
    low, high = ring.min(axis=0), ring.max(axis=0)
    along, across = (np.array(at) @ turn.T - low) / (high - low)
    if flow_deg is None:
        names = (("left", "right"), ("lower", "upper"))
        words = [_side(across, names[1]), _side(along, names[0])]
    else:
        # Along the flow, the front is where air comes from, and left lies to its left.
        words = [_side(along, ("front", "rear")), _side(across, ("right", "left"))]
    named = [word for word in words if word]
    return f"at the {' '.join(named)} rim" if named else "in the middle"


def _side(share: float, names: tuple[str, str]) -> str:
    if share < _OUTER:
        return names[0]
    return names[1] if share > 1 - _OUTER else ""

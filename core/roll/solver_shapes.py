"""Items as the solvers see them: turned level, at the origin, with few corners."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import affine_transform, translate

from core.roll.model import Item, Placement
from core.roll.outlines import grown_outlines
from core.roll.profiles import candidate_turns

_OUTLINE_MM = 0.2
"""Outlines may grow by twice this when simplified."""


@dataclass(frozen=True, slots=True)
class SolverShape:
    """An item as a solver sees it.

    Attributes:
        base_deg: the turn that was made before; the solver's turns come on top.
        shift_mm: the move to the origin that followed it.
    """

    item: Item
    base_deg: float
    turns_deg: tuple[float, ...]
    shift_mm: tuple[float, float]
    ring: list[tuple[float, float]]

    def placed(self, turn_deg: float, x_mm: float, y_mm: float) -> Placement:
        """Return the solver's answer as a placement of the item."""
        # A solver turns in single precision; the turn meant is the nearest that was offered.
        off = [abs((turn_deg - t + 180.0) % 360.0 - 180.0) for t in self.turns_deg]
        exact = self.turns_deg[int(np.argmin(off))]
        spin = Placement(self.item, exact, 0.0, 0.0).matrix
        sx, sy = self.shift_mm
        dx, dy = spin[0] * sx + spin[1] * sy + x_mm, spin[2] * sx + spin[3] * sy + y_mm
        return Placement(self.item, (self.base_deg + exact) % 360.0, dx, dy)


def solver_shapes(
    items: Sequence[Item], width_mm: float, free_step_deg: float
) -> list[SolverShape]:
    """Return items as shapes that contain them, at most half a millimetre larger.

    Args:
        items: none wider than ``width_mm`` at all its turns.
        width_mm: of the usable film.
        free_step_deg: step of the turns offered where any will do.
    """
    outlines = grown_outlines([i.polygon for i in items], 0.0, _OUTLINE_MM)
    turns = candidate_turns(items, outlines, width_mm)
    return [
        _shape(item, outline, angles, free_step_deg)
        for item, outline, angles in zip(items, outlines, turns, strict=True)
    ]


def _shape(
    item: Item, outline: Polygon, angles: tuple[float, ...], free_step_deg: float
) -> SolverShape:
    base = angles[0]
    turned = Placement(item, base, 0.0, 0.0)
    x0, y0, x1, y1 = turned.polygon.bounds
    level = affine_transform(outline, turned.matrix)
    # Growing must not make it wider than it is: a piece may be exactly as wide as the roll.
    inside = shapely.intersection(level, shapely.box(x0, y0, x1, y1))
    simple: Polygon = max(shapely.get_parts(inside), key=lambda part: part.area)
    level = translate(shapely.orient_polygons(simple), -x0, -y0)
    ring = shapely.get_coordinates(level.exterior)[:-1]
    if item.angles_deg is None:
        turns = tuple(np.arange(0.0, 360.0, free_step_deg).tolist())
    else:
        turns = tuple((a - base) % 360.0 for a in angles)
    points = [(float(x), float(y)) for x, y in ring]
    return SolverShape(item, base, turns, (-x0, -y0), points)

"""Items as the solvers see them: turned level, at the origin, with few corners."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import affine_transform, translate

from core.roll.model import Item, Placement
from core.roll.outlines import grown_outlines
from core.roll.turns import candidate_turns

_OUTLINE_MM = 0.1
"""Outlines may grow by twice this when simplified."""
_FEW_CORNERS = 48
"""An outline of no more corners stays as it is; growing it would only cost film."""


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
    items: Sequence[Item], width_mm: float, free_step_deg: float, hair_mm: float = 0.0
) -> list[SolverShape]:
    """Return items as shapes that contain them, at most a third of a millimetre larger.

    Args:
        items: none wider than ``width_mm`` at all its turns.
        width_mm: of the usable film.
        free_step_deg: step of the turns offered where any will do.
        hair_mm: shapes contain all within this of the items, over the solver's rounding.
    """
    outlines = _outlines(items, hair_mm)
    turns = candidate_turns(items, outlines, width_mm)
    return [
        _shape(item, outline, angles, free_step_deg, hair_mm)
        for item, outline, angles in zip(items, outlines, turns, strict=True)
    ]


def _outlines(items: Sequence[Item], hair_mm: float) -> NDArray[np.object_]:
    """Return outlines that contain the items; those of many corners get fewer."""
    polygons = np.empty(len(items), dtype=object)
    polygons[:] = [item.polygon for item in items]
    corners = shapely.get_num_coordinates(shapely.get_exterior_ring(polygons))
    many = corners > _FEW_CORNERS
    outlines = np.empty(len(items), dtype=object)
    outlines[many] = grown_outlines(polygons[many].tolist(), hair_mm, _OUTLINE_MM)
    outlines[~many] = grown_outlines(polygons[~many].tolist(), hair_mm, 0.0)
    return outlines


def _shape(
    item: Item,
    outline: Polygon,
    angles: tuple[float, ...],
    free_step_deg: float,
    hair_mm: float,
) -> SolverShape:
    base = angles[0]
    turned = Placement(item, base, 0.0, 0.0)
    x0, y0, x1, y1 = turned.polygon.bounds
    level = affine_transform(outline, turned.matrix)
    # Growing must make it wider by the hair alone: a piece may be exactly as wide as the roll.
    around = shapely.box(x0 - hair_mm, y0 - hair_mm, x1 + hair_mm, y1 + hair_mm)
    inside = shapely.intersection(level, around)
    simple: Polygon = max(shapely.get_parts(inside), key=lambda part: part.area)
    level = translate(shapely.orient_polygons(simple), -x0, -y0)
    ring = shapely.get_coordinates(level.exterior)[:-1]
    if item.angles_deg is None:
        turns = tuple(np.arange(0.0, 360.0, free_step_deg).tolist())
    else:
        turns = tuple((a - base) % 360.0 for a in angles)
    points = [(float(x), float(y)) for x, y in ring]
    return SolverShape(item, base, turns, (-x0, -y0), points)

"""Outlines in bands across the roll: how far left and right a piece reaches in each.

A sheet is cut into bands of equal height along its length; a piece stands with its lower side
on a band's edge. Two pieces in the same bands keep their gap when the left one's right reach
lies left of the right one's left reach in every band. That test is exact enough to be safe
(outlines are grown by half the gap, bands take the outermost point in them) and costs one
subtraction a band.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.plan.memory import Memory
from core.roll.model import Item
from core.roll.outlines import grown_outlines
from core.roll.turns import candidate_turns, turns_within, with_edge_turns

_OUTLINE_MM = 0.5
"""How far corners may be dropped; half a millimetre costs no length worth having."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Profile:
    """One item at one turn, in bands.

    Attributes:
        left, right: shape (bands, 1), reach in mm from the profile's own least x.
        length_mm: along the roll, half the gap on either side included.
        breadth_mm: the greatest reach within one band.
        area: in mm times bands.
        breadths: how far it reaches within each band, the narrowest first.
        shift_mm: moves the turned item so that the profile starts at the origin.
        box_mm: bounds of the turned item without gap: x0, y0, x1, y1.
    """

    angle_deg: float
    left: Floats
    right: Floats
    length_mm: float
    breadth_mm: float
    area: float
    breadths: Floats
    shift_mm: tuple[float, float]
    box_mm: tuple[float, float, float, float]

    @property
    def bands(self) -> int:
        """How many bands it stands in."""
        return len(self.left)

    @property
    def sides_mm(self) -> tuple[float, float]:
        """Length along the roll and width across it, without gap."""
        x0, y0, x1, y1 = self.box_mm
        return x1 - x0, y1 - y0


def item_profiles(
    items: Sequence[Item],
    width_mm: float,
    gap_mm: float,
    band_mm: float,
    *,
    has_edges: bool = False,
) -> list[list[Profile]]:
    """Return, for each item, its profile at each turn worth trying.

    An item that may lie any way is tried at quarter turns, along its narrowest rectangle when
    it is drawn at a slant; with ``has_edges`` also with its longest side along and across the
    roll. Turns at which an item is wider than ``width_mm`` are left out; so
    no profile has many more bands than the sheet. What was made of an outline is remembered:
    after an edit most pieces are the same.
    """
    asked = [(i.angles_deg, width_mm, gap_mm, band_mm, has_edges) for i in items]
    kept = [_known.find((i.polygon,), a) for i, a in zip(items, asked, strict=True)]
    new = {
        (id(i.polygon), i.angles_deg): i
        for i, known in zip(items, kept, strict=True)
        if known is None
    }
    fresh = list(new.values())
    made = dict(
        zip(new, _made(fresh, width_mm, gap_mm, band_mm, has_edges=has_edges), strict=True)
    )
    for i, a in zip(items, asked, strict=True):
        if (id(i.polygon), i.angles_deg) in made:
            _known.keep((i.polygon,), a, made[id(i.polygon), i.angles_deg])
    return [
        made[id(i.polygon), i.angles_deg] if known is None else known
        for i, known in zip(items, kept, strict=True)
    ]


def _made(
    items: Sequence[Item], width_mm: float, gap_mm: float, band_mm: float, *, has_edges: bool
) -> list[list[Profile]]:
    """Make the profiles of items that were not met before."""
    if not items:
        return []
    outlines = grown_outlines([i.polygon for i in items], gap_mm / 2, _OUTLINE_MM)
    candidates = candidate_turns(items, outlines, width_mm)
    if has_edges:
        both = zip(items, candidates, strict=True)
        candidates = [with_edge_turns(item, turns) for item, turns in both]
    turns = [turns_within(i, t, width_mm) for i, t in zip(items, candidates, strict=True)]
    # Of two opposite turns one is made and the other flipped from it.
    wanted = [(i, a) for i, angles in enumerate(turns) for a in angles]
    made = [(i, a) for i, a in wanted if _opposite(a) not in turns[i] or a % 360.0 < 180.0]
    profiles = dict(zip(made, _build(items, outlines, made, gap_mm, band_mm), strict=True))
    for i, a in wanted:
        if (i, a) not in profiles:
            profiles[i, a] = _flipped(profiles[i, _opposite(a)], a, band_mm)
    return [[profiles[i, a] for a in angles] for i, angles in enumerate(turns)]


_known: Memory[list[Profile]] = Memory(4000)


def _opposite(angle_deg: float) -> float:
    return (angle_deg + 180.0) % 360.0


def _turn_all(
    coords: Floats, counts: NDArray[np.integer], pairs: list[tuple[int, float]]
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Turn each pair's ring by its angle; return x, y and where each ring starts."""
    starts = np.concatenate(([0], np.cumsum(counts)))
    which = np.array([i for i, _ in pairs])
    angles = np.radians([a for _, a in pairs])
    lengths = counts[which]
    offsets = np.concatenate(([0], np.cumsum(lengths)))
    rows = np.arange(offsets[-1]) - np.repeat(offsets[:-1] - starts[which], lengths)
    c, s = np.repeat(np.cos(angles), lengths), np.repeat(np.sin(angles), lengths)
    x, y = coords[rows, 0], coords[rows, 1]
    return c * x - s * y, s * x + c * y, offsets


def _build(
    items: Sequence[Item],
    outlines: NDArray[np.object_],
    pairs: list[tuple[int, float]],
    gap_mm: float,
    band_mm: float,
) -> list[Profile]:
    """Make the profiles of all (item, angle) pairs at once."""
    if not pairs:
        return []
    half = gap_mm / 2
    true = np.empty(len(items), dtype=object)
    true[:] = [i.polygon.exterior for i in items]
    x, y, at = _turn_all(
        shapely.get_coordinates(true), shapely.get_num_coordinates(true), pairs
    )
    box = np.column_stack(
        [f.reduceat(v, at[:-1]) for f in (np.minimum, np.maximum) for v in (x, y)]
    )
    rings = shapely.get_exterior_ring(outlines)
    counts = shapely.get_num_coordinates(rings)
    gx, gy, at = _turn_all(shapely.get_coordinates(rings), counts, pairs)
    owner = np.repeat(np.arange(len(pairs)), np.diff(at))
    gx -= box[owner, 0] - half
    gy = (gy - (box[owner, 1] - half)) / band_mm
    bands = np.ceil((box[:, 3] - box[:, 1] + gap_mm) / band_mm - 1e-9).astype(np.int64)
    left, right, first = _reaches(gx, gy, owner, bands)
    # Nothing grown reaches beyond the true box and half the gap: what mitres add there is cut.
    length = np.repeat(box[:, 2] - box[:, 0] + gap_mm, bands)
    right = np.minimum(right, length)
    left = np.clip(left, 0.0, right)
    return _profiles([a for _, a in pairs], left, right, first, box, half)


def _profiles(
    angles: list[float],
    left: Floats,
    right: Floats,
    first: NDArray[np.int64],
    box: Floats,
    half: float,
) -> list[Profile]:
    """Cut the reaches of all pairs, one behind the other, into profiles."""
    starts = first[:-1]
    least = np.minimum.reduceat(left, starts)
    shift = np.repeat(least, np.diff(first))
    left, right = left - shift, right - shift
    breadth = right - left
    lengths = np.maximum.reduceat(right, starts).tolist()
    areas = np.add.reduceat(breadth, starts).tolist()
    shifts = np.column_stack((half - box[:, 0] - least, half - box[:, 1])).tolist()
    bounds, at = box.tolist(), first.tolist()
    left, right = left[:, None], right[:, None]
    breadths = [np.sort(breadth[at[k] : at[k + 1]]) for k in range(len(angles))]
    return [
        Profile(
            angle_deg=angle,
            left=left[at[k] : at[k + 1]],
            right=right[at[k] : at[k + 1]],
            length_mm=lengths[k],
            breadth_mm=float(breadths[k][-1]),
            area=areas[k],
            breadths=breadths[k],
            shift_mm=(shifts[k][0], shifts[k][1]),
            box_mm=(bounds[k][0], bounds[k][1], bounds[k][2], bounds[k][3]),
        )
        for k, angle in enumerate(angles)
    ]


def _reaches(
    x: Floats, y: Floats, owner: NDArray[np.int64], bands: NDArray[np.int64]
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Return the least and greatest x of each ring in each band; y is counted in bands.

    Within a band an outline's extremes lie at its corners and where it crosses the band's
    edges.
    """
    first = np.concatenate(([0], np.cumsum(bands)))
    rows = first[owner] + np.clip(np.floor(y).astype(np.int64), 0, bands[owner] - 1)
    start = np.flatnonzero(owner[:-1] == owner[1:])
    low, high = np.minimum(y[start], y[start + 1]), np.maximum(y[start], y[start + 1])
    line = np.floor(low).astype(np.int64) + 1
    count = np.maximum(np.ceil(high).astype(np.int64) - line, 0)
    total = int(count.sum())
    edge = np.repeat(start, count)
    line = (
        np.repeat(line, count) + np.arange(total) - np.repeat(np.cumsum(count) - count, count)
    )
    part = (line - y[edge]) / (y[edge + 1] - y[edge])
    crossing = x[edge] + part * (x[edge + 1] - x[edge])
    base, top = first[owner[edge]], bands[owner[edge]] - 1
    rows = np.concatenate(
        (rows, base + np.clip(line, 0, top), base + np.clip(line - 1, 0, top))
    )
    reach = np.concatenate((x, crossing, crossing))
    left, right = np.full(first[-1], np.inf), np.full(first[-1], -np.inf)
    np.minimum.at(left, rows, reach)
    np.maximum.at(right, rows, reach)
    return left, right, first


def reach_of(polygons: Sequence[Polygon], gap_mm: float, band_mm: float, bands: int) -> Floats:
    """Return how far right laid polygons reach in each band, half the gap included.

    Args:
        polygons: in the frame of the sheet's usable part, half the gap added on each side.
        gap_mm: half of it is added all round.
        band_mm: height of a band.
        bands: how many there are across the sheet.
    """
    rings = shapely.get_exterior_ring(grown_outlines(polygons, gap_mm / 2, _OUTLINE_MM))
    coords, owner = shapely.get_coordinates(rings, return_index=True)
    count = np.full(len(polygons), bands, dtype=np.int64)
    _, right, _ = _reaches(coords[:, 0], coords[:, 1] / band_mm, owner, count)
    reach: Floats = right.reshape(-1, bands).max(axis=0, initial=0.0)
    return reach


def _flipped(p: Profile, angle: float, band_mm: float) -> Profile:
    """Return the profile of the same item turned by another half turn."""
    x0, y0, x1, y1 = p.box_mm
    left, right = p.length_mm - p.right[::-1], p.length_mm - p.left[::-1]
    return Profile(
        angle_deg=angle,
        left=left,
        right=right,
        length_mm=p.length_mm,
        breadth_mm=p.breadth_mm,
        area=p.area,
        breadths=p.breadths,
        shift_mm=(p.length_mm - p.shift_mm[0], p.bands * band_mm - p.shift_mm[1]),
        box_mm=(-x1, -y1, -x0, -y0),
    )

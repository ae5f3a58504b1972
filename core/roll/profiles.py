"""Outlines in bands across the roll: how far left and right a piece reaches in each.

A sheet is cut into bands of equal height along its length; a piece stands with its lower side
on a band's edge. Two pieces in the same bands keep their gap when the left one's right reach
lies left of the right one's left reach in every band. That test is exact enough to be safe
(outlines are grown by half the gap, bands take the outermost point in them) and costs one
subtraction a band.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.roll.model import Item
from core.roll.outlines import grown_outlines

_OUTLINE_MM = 0.5
"""How far corners may be dropped; half a millimetre costs no length worth having."""
_SLANT_WORTH = 0.97
"""A piece is laid along its narrowest rectangle when that is this much smaller than its box."""
_ROUNDING_MM = 1e-8
"""An item this much wider than the sheet is not wider."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Profile:
    """One item at one turn, in bands.

    Attributes:
        left, right: shape (bands, 1), reach in mm from the profile's own least x.
        length_mm: along the roll, half the gap on either side included.
        breadth_mm: the greatest reach within one band.
        area: in mm times bands.
        shift_mm: moves the turned item so that the profile starts at the origin.
        box_mm: bounds of the turned item without gap: x0, y0, x1, y1.
    """

    angle_deg: float
    left: Floats
    right: Floats
    length_mm: float
    breadth_mm: float
    area: float
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
    items: Sequence[Item], width_mm: float, gap_mm: float, band_mm: float
) -> list[list[Profile]]:
    """Return, for each item, its profile at each turn worth trying.

    An item that may lie any way is tried at quarter turns, along its narrowest rectangle when
    it is drawn at a slant. Turns at which an item is wider than ``width_mm`` are left out; so
    no profile has many more bands than the sheet.
    """
    outlines = grown_outlines([i.polygon for i in items], gap_mm / 2, _OUTLINE_MM)
    turns = [
        tuple(a for a in angles if _width_at(item.polygon, a) <= width_mm + _ROUNDING_MM)
        for item, angles in zip(items, candidate_turns(items, outlines, width_mm), strict=True)
    ]
    # Of two opposite turns one is made and the other flipped from it.
    wanted = [(i, a) for i, angles in enumerate(turns) for a in angles]
    made = [(i, a) for i, a in wanted if _opposite(a) not in turns[i] or a % 360.0 < 180.0]
    profiles = dict(zip(made, _build(items, outlines, made, gap_mm, band_mm), strict=True))
    for i, a in wanted:
        if (i, a) not in profiles:
            profiles[i, a] = _flipped(profiles[i, _opposite(a)], a, band_mm)
    return [[profiles[i, a] for a in angles] for i, angles in enumerate(turns)]


def candidate_turns(
    items: Sequence[Item], outlines: NDArray[np.object_], width_mm: float
) -> list[tuple[float, ...]]:
    """Return the turns to try for each item; an item that may lie any way gets four.

    Where it is wider than ``width_mm`` at those, the four are taken from its narrowest turn.
    """
    free = [i for i, item in enumerate(items) if item.angles_deg is None]
    slants = dict(zip(free, _slants(outlines[free]), strict=True)) if free else {}
    for i, slant in slants.items():
        sides = (_width_at(items[i].polygon, slant + quarter) for quarter in (0, 90))
        if min(sides) > width_mm:
            slants[i] = narrowest_turn(items[i])[1]
    turns: list[tuple[float, ...]] = []
    for i, item in enumerate(items):
        if item.angles_deg is None:
            turns.append(tuple((slants[i] + quarter) % 360.0 for quarter in (0, 90, 180, 270)))
        else:
            turns.append(tuple(a % 360.0 for a in dict.fromkeys(item.angles_deg)))
    return turns


def _slants(outlines: NDArray[np.object_]) -> list[float]:
    """Return the turn that levels each outline's narrowest rectangle; 0 where little is won."""
    boxes = shapely.oriented_envelope(outlines)
    around = shapely.area(shapely.envelope(outlines))
    is_worth = shapely.area(boxes) < _SLANT_WORTH * around
    angles = []
    for box, worth in zip(boxes, is_worth, strict=True):
        if not worth:
            angles.append(0.0)
            continue
        (x0, y0), (x1, y1) = box.exterior.coords[:2]
        angles.append(-math.degrees(math.atan2(y1 - y0, x1 - x0)) % 90.0)
    return angles


def narrowest_turn(item: Item) -> tuple[float, float]:
    """Return the least width across the roll that an item needs, and the turn that gives it.

    Degenerate input: an item that may not lie at all is infinitely wide.
    """
    corners = shapely.get_coordinates(item.polygon.convex_hull)
    if item.angles_deg is None:
        # The least width of a convex shape is found with one of its sides laid along the roll.
        sides = corners[1:] - corners[:-1]
        turns = -np.degrees(np.arctan2(sides[:, 1], sides[:, 0]))
    else:
        turns = np.array(item.angles_deg)
    if not len(turns):
        return math.inf, 0.0
    across = corners @ np.array((np.sin(np.radians(turns)), np.cos(np.radians(turns))))
    widths = across.max(axis=0) - across.min(axis=0)
    best = int(np.argmin(widths))
    return float(widths[best]), float(turns[best]) % 360.0


def may_lie_within(item: Item, length_mm: float, width_mm: float) -> bool:
    """Return False where an item lies in no rectangle of a length and width, however turned.

    It is quick, and for items that may lie any way it may say True of some that do not fit.
    """
    if item.polygon.area > length_mm * width_mm:
        return False
    least, most = min(length_mm, width_mm) + _ROUNDING_MM, math.hypot(length_mm, width_mm)
    corners = shapely.get_coordinates(item.polygon.convex_hull)
    if item.angles_deg is None:
        # No way of turning makes it narrower than its least width, or longer than the corner
        # to corner of the rectangle allows.
        reach = float(np.ptp(corners, axis=0).max())
        return reach <= most + _ROUNDING_MM and narrowest_turn(item)[0] <= least
    turns = np.radians(np.array(item.angles_deg))
    along = np.ptp(corners @ np.array((np.cos(turns), -np.sin(turns))), axis=0)
    across = np.ptp(corners @ np.array((np.sin(turns), np.cos(turns))), axis=0)
    fits = (along <= length_mm + _ROUNDING_MM) & (across <= width_mm + _ROUNDING_MM)
    return bool(fits.any())


def _width_at(polygon: Polygon, turn_deg: float) -> float:
    """Return the width across the roll at one turn."""
    turn = math.radians(turn_deg)
    across = shapely.get_coordinates(polygon) @ (math.sin(turn), math.cos(turn))
    return float(across.max() - across.min())


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
    return [
        _profile(a, left[first[k] : first[k + 1]], right[first[k] : first[k + 1]], box[k], half)
        for k, (_, a) in enumerate(pairs)
    ]


def _profile(angle: float, left: Floats, right: Floats, box: Floats, half: float) -> Profile:
    least = float(left.min())
    left, right = left - least, right - least
    return Profile(
        angle_deg=angle,
        left=left[:, None],
        right=right[:, None],
        length_mm=float(right.max()),
        breadth_mm=float((right - left).max()),
        area=float((right - left).sum()),
        shift_mm=(half - float(box[0]) - least, half - float(box[1])),
        box_mm=(float(box[0]), float(box[1]), float(box[2]), float(box[3])),
    )


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
        shift_mm=(p.length_mm - p.shift_mm[0], p.bands * band_mm - p.shift_mm[1]),
        box_mm=(-x1, -y1, -x0, -y0),
    )

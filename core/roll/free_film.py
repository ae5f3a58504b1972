"""The film that is free on one sheet: what of it is taken, as stretches in bands.

Other than the quick layout's pockets this takes any sheet: an offcut of any outline, damage,
pinned pieces, the ends of the machine's feed. A band runs along the sheet; what is taken in it
is a list of stretches. Where a profile may begin is then exact: each stretch forbids the
profile an interval of places, and the first place in none of them is found by sorting.
"""

import copy
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.lib.stride_tricks import sliding_window_view
from shapely import Polygon, box
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from core.roll.model import Placement, Sheet
from core.roll.profiles import Floats, Profile
from core.roll.room import usable_size

_EPS_MM = 1e-9
_NOISE_MM = 1e-7
"""What a shape loses by shrinking and growing is kept when it is thicker than this."""
_MITRE_LIMIT = 1.5
_FIRST_COLUMNS = 4


@dataclass(frozen=True, slots=True)
class Place:
    """Where a profile can lie: its lowest band, and how far along."""

    profile: Profile
    band: int
    x_mm: float


class FreeFilm:
    """What is taken of a sheet while it is being laid.

    All is in the frame of the usable part, which half the gap widens on every side: profiles
    are grown by that half too.
    """

    def __init__(
        self,
        sheet: Sheet,
        gap_mm: float,
        pinned: Sequence[Placement],
        bands: int,
        open_mm: float = 0.0,
    ) -> None:
        """Take in a sheet; ``open_mm`` of an open roll is more than will be laid on."""
        length, width = usable_size(sheet)
        self.bands, self.gap_mm, self.width_mm = bands, gap_mm, width
        self.origin_mm = sheet.start_mm - gap_mm / 2, sheet.margin_mm - gap_mm / 2
        if sheet.section_mm is not None and math.isinf(length):
            length = open_mm  # beyond it no end of a feed is known
        self.length_mm = length + gap_mm
        self.band_mm = (width + gap_mm) / bands
        self._start = np.full((bands, _FIRST_COLUMNS), np.inf)
        self._end = np.full((bands, _FIRST_COLUMNS), -np.inf)
        x0, y0 = self.origin_mm
        for part in _obstacles(sheet, gap_mm, pinned):
            self._block(translate(part, -x0, -y0))
        for x in _feed_ends(sheet, length):
            # Grown pieces reach over the end by half the gap on either side.
            self._add(slice(0, bands), x - x0 + gap_mm / 2, x - x0 - gap_mm / 2)

    def copy(self) -> "FreeFilm":
        """Return a copy to lay on."""
        return copy.deepcopy(self)

    def first_place(self, p: Profile, weight: float) -> tuple[float, Place] | None:
        """Return the place where a profile reaches least far, with what it costs; or None."""
        runs = self.bands - p.bands + 1
        if runs < 1:
            return None
        x = self._first_x(p, runs)
        band = int(np.argmin(x))
        at = float(x[band])
        if at + p.length_mm > self.length_mm + _EPS_MM:
            return None
        return at + weight * p.length_mm, Place(p, band, at)

    def _first_x(self, p: Profile, runs: int) -> Floats:
        """Return, for each lowest band, the first x at which the profile meets nothing."""
        # Shape (runs, columns, bands of the profile), then (runs, stretches).
        low = sliding_window_view(self._start, p.bands, axis=0) - p.right[:, 0]
        high = sliding_window_view(self._end, p.bands, axis=0) - p.left[:, 0]
        low, high = low.reshape(runs, -1), high.reshape(runs, -1)
        is_none = (low >= high) | (high <= 0)
        low[is_none] = high[is_none] = np.inf
        # x is free when as many intervals begin before it as have ended. Sorted each on its
        # own, that is so at the first end which the next beginning does not precede.
        low.sort(axis=1)
        high.sort(axis=1)
        is_free = low[:, 1:] >= high[:, :-1] - _EPS_MM
        first = np.argmax(is_free, axis=1)
        x = np.where(is_free.any(axis=1), high[np.arange(runs), first], high[:, -1])
        found: Floats = np.where(low[:, 0] >= 0, 0.0, x)
        return found

    def take(self, place: Place, merge_mm: float) -> None:
        """Lay a profile; free stretches narrower than ``merge_mm`` beside it are lost."""
        p = place.profile
        window = slice(place.band, place.band + p.bands)
        start, end = place.x_mm + p.left[:, 0], place.x_mm + p.right[:, 0]
        own_start, own_end = self._start[window], self._end[window]
        is_near = (
            (own_start <= (end + merge_mm)[:, None])
            & (own_end >= (start - merge_mm)[:, None])
            & (own_start < own_end)
        )
        start = np.minimum(start, np.where(is_near, own_start, np.inf).min(axis=1))
        end = np.maximum(end, np.where(is_near, own_end, -np.inf).max(axis=1))
        own_start[is_near], own_end[is_near] = np.inf, -np.inf
        self._add(window, start, end)

    def _add(self, window: slice, start: Floats | float, end: Floats | float) -> None:
        """Note a stretch in each band of a window, in a column that is free there."""
        is_free = np.isinf(self._start[window])
        if not is_free.any(axis=1).all():
            more = ((0, 0), (0, _FIRST_COLUMNS))
            self._start = np.pad(self._start, more, constant_values=np.inf)
            self._end = np.pad(self._end, more, constant_values=-np.inf)
            is_free = np.isinf(self._start[window])
        column = np.argmax(is_free, axis=1)
        rows = np.arange(self.bands)[window]
        self._start[rows, column], self._end[rows, column] = start, end

    def _block(self, part: Polygon) -> None:
        """Take what one obstacle covers, band by band."""
        x0, y0, x1, y1 = part.bounds
        first = max(math.floor(y0 / self.band_mm), 0)
        last = min(math.ceil(y1 / self.band_mm), self.bands)
        if first >= last:
            return
        edges = np.arange(first, last + 1) * self.band_mm
        ends = np.full(last - first, x0 - 1.0), np.full(last - first, x1 + 1.0)
        strips = shapely.box(ends[0], edges[:-1], ends[1], edges[1:])
        cut = shapely.intersection(strips, part)
        parts, strip = shapely.get_parts(cut, return_index=True)
        bounds = shapely.bounds(parts)
        for k, (left, _, right, _) in zip(strip.tolist(), bounds.tolist(), strict=True):
            if right > left:
                self._add(slice(first + k, first + k + 1), left, right)


def _feed_ends(sheet: Sheet, length_mm: float) -> list[float]:
    """Return where the machine's feeds end on so much usable length of a sheet."""
    if sheet.section_mm is None:
        return []
    count = math.floor((sheet.start_mm + length_mm) / sheet.section_mm)
    return [sheet.section_mm * k for k in range(1, count + 1)]


def _obstacles(sheet: Sheet, gap_mm: float, pinned: Sequence[Placement]) -> list[Polygon]:
    """Return what profiles (grown by half the gap) may not meet, in the sheet's frame."""
    half = gap_mm / 2
    grown = [p.polygon.buffer(half, quad_segs=16) for p in pinned]
    # A round buffer of flat facets lies inside the true one by this much.
    hair = half * (1 - math.cos(math.pi / 64))
    areas: list[BaseGeometry] = [g.buffer(hair + _NOISE_MM, join_style="mitre") for g in grown]
    shut: list[BaseGeometry] = list(sheet.blocked)
    if sheet.outline is not None and sheet.length_mm is not None:
        around = box(-gap_mm, -gap_mm, sheet.length_mm + gap_mm, sheet.width_mm + gap_mm)
        within = sheet.outline.buffer(-sheet.margin_mm)
        shut.append(around.buffer(gap_mm + 1.0, join_style="mitre").difference(within))
    areas += [_shrunk(shape, half) for shape in shut]
    parts = shapely.get_parts(np.array([*areas, Polygon()], dtype=object))
    return [p for p in parts if isinstance(p, Polygon) and not p.is_empty]


def _shrunk(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    """Return an obstacle such that what keeps ``by_mm`` from it keeps off the whole one.

    Corners and slivers that shrinking and growing again would lose are left as they are.
    """
    less = shape.buffer(-by_mm - _NOISE_MM, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    back = less.buffer(by_mm + 2 * _NOISE_MM, quad_segs=16)
    lost = shapely.difference(shape, back).buffer(-_NOISE_MM)
    return shapely.union(less, lost)

"""The quick layout: good enough to plan by while a better one is sought, and always there.

Own method. Free film is a list of pockets; a pocket is, in each band across the roll, a stretch
from where film is taken to where it is taken again (never, for the open end). Pieces go longest
first, into the closed pocket they fill best, else to the open end where they reach least far.
Laying a piece splits its pocket in two. No search, no chance: the same pieces give the same
layout.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate
from operator import itemgetter

import numpy as np
from shapely.affinity import translate

from core.roll.model import Item, Placement, Sheet, SheetPlan
from core.roll.orders import by_area, by_length, by_longest, moved, shuffled
from core.roll.profiles import Floats, Profile, item_profiles, reach_of
from core.roll.room import Layout, split_by_room, usable_size
from core.roll.shelves import lay_on_shelves

_BANDS = 200
_POCKETS = 6
"""Only the largest closed pockets are kept: small ones cost time and take nothing."""
_EFFORT = 360.0
"""Items and profiles laid in all; a small job is laid in several ways and the best is kept."""
_WEIGHTS = (0.3, 0.5, 0.7, 1.0)
"""Shares of a piece's own length that count when the place for it is chosen."""
_WAYS = (
    (by_longest, 0.5, False),
    (by_area, 0.5, False),
    (by_longest, 1.0, False),
    (by_length, 0.5, False),
    (by_area, 0.5, True),
    (by_length, 1.0, True),
)
"""Order, weight, and whether pieces are also turned with their longest side along the roll."""
_EPS_MM = 1e-9
_WORST = (math.inf, math.inf)


def quick_layout(items: Sequence[Item], sheet: Sheet, gap_mm: float) -> Layout:
    """Lay items on one sheet; never longer than bounding boxes on shelves, longest first.

    Returns:
        The layout; on a sheet of given length items may be left over.

    Degenerate input: no items, or a sheet that its margins eat up, gives an empty layout.
    """
    length, width = usable_size(sheet)
    items, too_wide = split_by_room(items, length, width)
    if not items:
        return Layout((), too_wide, 0.0)
    band = (width + gap_mm) / _BANDS
    profiles = item_profiles(items, width, gap_mm, band)
    best = lay_on_shelves(items, profiles, sheet, gap_mm)
    spent = 0.0
    for order, weight, has_edges in _WAYS:
        tried = profiles
        if has_edges and spent + _effort(profiles) < _EFFORT:
            tried = item_profiles(items, width, gap_mm, band, has_edges=True)
        spent += _effort(tried)
        if spent > _EFFORT and spent > _effort(profiles):
            break
        room = _Room.of(sheet, gap_mm, weight)
        best = _lay(items, tried, order(tried), room, best.rank) or best
    return _with_left(best, too_wide)


def _effort(profiles: Sequence[Sequence[Profile]]) -> float:
    """Return how much work it is to lay profiles once."""
    return len(profiles) / 2 + sum(map(len, profiles))


def shuffled_layouts(
    items: Sequence[Item], sheet: Sheet, gap_mm: float, count: int
) -> Iterator[Layout]:
    """Yield the best layout so far after each of so many shuffled orders.

    Half of the orders are made anew, half are near that of the best layout.

    Longest first is a good order, not the best: on 60 pieces a second of shuffling wins some 3
    to 8 % of length. The same pieces give the same layouts.
    """
    length, width = usable_size(sheet)
    items, too_wide = split_by_room(items, length, width)
    if not items:
        return
    band = (width + gap_mm) / _BANDS
    profiles = item_profiles(items, width, gap_mm, band)
    chance = np.random.default_rng(len(items))
    sizes = np.array([max(max(p.sides_mm) for p in ps) for ps in profiles])
    best: Layout | None = None
    best_order: list[int] = []
    for trial in range(count):
        is_new = trial % 2 or best is None
        order = shuffled(sizes, chance) if is_new else moved(best_order, chance)
        room = _Room.of(sheet, gap_mm, float(chance.choice(_WEIGHTS)))
        rank = best.rank if best else _WORST
        found = _lay(items, profiles, order, room, rank)
        if found is not None:
            best, best_order = found, order
        if best is not None:
            yield _with_left(best, too_wide)


def fill_up(plan: SheetPlan, items: Sequence[Item]) -> Layout:
    """Lay more items beyond those that lie on a sheet already; its length counts them all.

    Degenerate input: no items give a layout without placements.
    """
    length, width = usable_size(plan.sheet)
    items, too_wide = split_by_room(items, length, width)
    if not items:
        return Layout((), too_wide, 0.0)
    gap = plan.gap_mm
    band = (width + gap) / _BANDS
    profiles = item_profiles(items, width, gap, band)
    room = _Room.of(plan.sheet, gap, 0.5)
    shift = gap / 2 - plan.sheet.start_mm, gap / 2 - plan.sheet.margin_mm
    laid = [translate(p.polygon, *shift) for p in plan.placements]
    room.taken = reach_of(laid, gap, band, _BANDS)
    laid_on = _lay(items, profiles, by_longest(profiles), room, _WORST)
    assert laid_on is not None
    return _with_left(laid_on, too_wide)


def shelf_layout(items: Sequence[Item], sheet: Sheet, gap_mm: float) -> Layout:
    """Lay bounding boxes on shelves: the plain layout that quick ones are measured by."""
    length, width = usable_size(sheet)
    items, too_wide = split_by_room(items, length, width)
    if not items:
        return Layout((), too_wide, 0.0)
    profiles = item_profiles(items, width, gap_mm, (width + gap_mm) / _BANDS)
    return _with_left(lay_on_shelves(items, profiles, sheet, gap_mm), too_wide)


def _with_left(layout: Layout, items: tuple[Item, ...]) -> Layout:
    """Return a layout with more items left over."""
    return replace(layout, left=(*layout.left, *items)) if items else layout


@dataclass(frozen=True, slots=True)
class _Pocket:
    """Closed free film: in each band, counted from ``first``, from ``low`` to ``high``.

    Its area is in mm times bands; its breadth is the greatest in one band; ``breadths`` are
    those of all bands, the narrowest first, and a hair more.
    """

    low: Floats
    high: Floats
    first: int
    area: float
    breadth_mm: float
    breadths: Floats


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place for a profile: band, x, and the pocket it is in (None: the open end)."""

    profile: Profile
    band: int
    x_mm: float
    cost: float
    pocket: _Pocket | None


@dataclass(slots=True)
class _Room:
    """The free film of one sheet while it is being laid.

    All is in the frame of the usable part, which half the gap widens on every side.
    """

    length_mm: float
    band_mm: float
    gap_mm: float
    origin_mm: tuple[float, float]
    weight: float
    taken: Floats = field(default_factory=lambda: np.zeros(_BANDS))
    pockets: list[_Pocket] = field(default_factory=list)

    @classmethod
    def of(cls, sheet: Sheet, gap_mm: float, weight: float) -> "_Room":
        """Return a sheet on which nothing lies."""
        length, width = usable_size(sheet)
        origin = sheet.start_mm - gap_mm / 2, sheet.margin_mm - gap_mm / 2
        return cls(length + gap_mm, (width + gap_mm) / _BANDS, gap_mm, origin, weight)

    def least_length(self, to_come: float) -> float:
        """Return a length that is reached at least when all of an area to come is laid.

        It goes into the pockets there are now, or beyond what is taken; what later pockets
        hold was counted as taken when they were closed.
        """
        inside = sum(q.area for q in self.pockets)
        return (float(self.taken.sum()) + max(to_come - inside, 0.0)) / _BANDS - self.gap_mm

    def placed(self, item: Item, spot: _Spot) -> Placement:
        """Return what lies on a spot as it lies on the sheet."""
        x0, y0 = self.origin_mm
        dx, dy = spot.profile.shift_mm
        y = y0 + spot.band * self.band_mm + dy
        return Placement(item, spot.profile.angle_deg, x0 + spot.x_mm + dx, y)

    def find_spot(self, profiles: Sequence[Profile]) -> _Spot | None:
        """Return the best place for any of an item's profiles, or None when there is none."""
        return self._in_pockets(profiles) or self._at_the_end(profiles)

    def _in_pockets(self, profiles: Sequence[Profile]) -> _Spot | None:
        """Return a place in the pocket that a profile fills best: the first that takes one."""
        pairs = [
            (q.area - p.area, k, p, q)
            for k, p in enumerate(profiles)
            for q in self.pockets
            if q.area >= p.area and q.breadth_mm >= p.breadth_mm and len(q.low) >= p.bands
        ]
        pairs.sort(key=itemgetter(0, 1))
        return next((s for _, _, p, q in pairs if (s := _in_pocket(p, q))), None)

    def _at_the_end(self, profiles: Sequence[Profile]) -> _Spot | None:
        """Return the place at the open end that costs least."""
        best: _Spot | None = None
        start = float(self.taken.min())
        for p in profiles:
            # It begins no sooner than film is taken in every band.
            if best is None or start + self.weight * p.length_mm < best.cost:
                spot = self._at_end(p)
                if spot is not None and (best is None or spot.cost < best.cost):
                    best = spot
        return best

    def _at_end(self, p: Profile) -> _Spot | None:
        if p.bands > _BANDS:
            return None
        x = np.maximum.reduce(_windows(self.taken, p.bands) - p.left, axis=0)
        band = int(x.argmin())
        start = float(x[band])
        if start + p.length_mm > self.length_mm + _EPS_MM:
            return None
        return _Spot(p, band, start, start + self.weight * p.length_mm, None)

    def take(self, spot: _Spot, least_area: float) -> None:
        """Lay a profile; pockets under ``least_area`` are forgotten."""
        p, x = spot.profile, spot.x_mm
        left, right = x + p.left[:, 0], x + p.right[:, 0]
        q = spot.pocket
        if q is None:
            window = slice(spot.band, spot.band + p.bands)
            new = [_pocket(self.taken[window], left, spot.band)]
            self.taken[window] = right
        else:
            at = spot.band - q.first
            rest = q.low.copy()
            rest[at : at + p.bands] = right
            self.pockets = [other for other in self.pockets if other is not q]
            new = [
                _pocket(q.low[at : at + p.bands], left, spot.band),
                _pocket(rest, q.high, q.first),
            ]
        kept = [q for q in (*self.pockets, *new) if q.area >= least_area]
        self.pockets = sorted(kept, key=lambda q: -q.area)[:_POCKETS]


def _pocket(low: Floats, high: Floats, first: int) -> _Pocket:
    """Return the pocket between two reaches, without the bands at its ends that are taken."""
    breadth = high - low
    is_free = np.flatnonzero(breadth > _EPS_MM)
    if not len(is_free):
        return _Pocket(low[:0], high[:0], first, 0.0, 0.0, low[:0])
    a, b = int(is_free[0]), int(is_free[-1]) + 1
    free = breadth[a:b]
    # Copied, as the windows read them as plain runs of memory and ``low`` may go on changing.
    area, sizes = float(free.sum()), np.sort(free)
    most = float(sizes[-1])
    return _Pocket(low[a:b].copy(), high[a:b].copy(), first + a, area, most, sizes + _EPS_MM)


def _windows(values: Floats, height: int) -> Floats:
    """Return, without copying, every run of ``height`` values; shape (height, runs)."""
    runs = len(values) - height + 1
    return np.ndarray((height, runs), np.float64, values, 0, (8, 8))


def _in_pocket(p: Profile, q: _Pocket) -> _Spot | None:
    """Return where a profile fits a closed pocket, as near to its beginning as can be."""
    # As many bands as the profile has must be as broad as its own, broadest by broadest.
    if (q.breadths[-p.bands :] < p.breadths).any():
        return None
    x = np.maximum.reduce(_windows(q.low, p.bands) - p.left, axis=0)
    limit = np.minimum.reduce(_windows(q.high, p.bands) - p.right, axis=0)
    x[x > limit] = np.inf
    band = int(x.argmin())
    at = float(x[band])
    return None if at == math.inf else _Spot(p, q.first + band, at, q.area - p.area, q)


def _lay(
    items: Sequence[Item],
    profiles: Sequence[Sequence[Profile]],
    order: Sequence[int],
    room: _Room,
    to_beat: tuple[float, float],
) -> Layout | None:
    """Lay all items in the order given; None as soon as it cannot rank before ``to_beat``."""
    least = [min((p.area for p in ps), default=math.inf) for ps in profiles]
    # The least area of those still to come: a smaller pocket takes nothing any more.
    later = list(accumulate((least[i] for i in order[:0:-1]), min, initial=math.inf))[::-1]
    areas = [a if a < math.inf else 0.0 for a in least]
    to_come = sum(areas)
    placements, left, end, lost = [], [], 0.0, 0.0
    for i, least_area in zip(order, later, strict=True):
        spot = room.find_spot(profiles[i])
        to_come -= areas[i]
        if spot is None:
            left.append(items[i])
            lost += items[i].polygon.area
        else:
            end = max(end, spot.x_mm + spot.profile.length_mm - room.gap_mm)
            room.take(spot, least_area)
            placements.append(room.placed(items[i], spot))
        # What is left over makes the rest shorter, but where all must lie it ranks behind.
        reach = max(end, room.least_length(to_come)) if not to_beat[0] else end
        if (round(lost, 3), reach) >= to_beat:
            return None
    return Layout(tuple(placements), tuple(left), end)

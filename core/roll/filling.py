"""Laying on any sheet: offcuts of any outline, damaged rolls, around pinned pieces.

Own method: pieces in an order, each to the place where it reaches least far; then again in
shuffled orders, each new one tried near the best so far, for as long as one cares to wait. The
same pieces give the same layouts in the same number of trials.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from core.roll.free_film import FreeFilm, Place
from core.roll.model import Item, Placement, Sheet
from core.roll.orders import by_longest, moved, shuffled
from core.roll.profiles import item_profiles
from core.roll.room import Layout, split_by_room, usable_size

_BANDS = 100
_MERGE_SHARE = 0.5
"""Free stretches this much narrower than the narrowest piece are not looked into again."""
_WEIGHTS = (0.3, 0.5, 0.7, 1.0)
"""Shares of a piece's own length that count when the place for it is chosen."""
_DROP_SHARE = 0.25
"""How often a shuffled order leaves the largest pieces to the end: an offcut may take more."""


def fill_layout(
    items: Sequence[Item], sheet: Sheet, gap_mm: float, pinned: Sequence[Placement] = ()
) -> Layout:
    """Lay items at once on a sheet of any shape, around what is pinned to it.

    Returns:
        The layout, without what is pinned; its length counts the pinned.

    Degenerate input: no items give a layout without placements.
    """
    return next(fill_layouts(items, sheet, gap_mm, pinned))


def fill_layouts(
    items: Sequence[Item],
    sheet: Sheet,
    gap_mm: float,
    pinned: Sequence[Placement] = (),
    seed: int = 1,
) -> Iterator[Layout]:
    """Yield layouts without end, the plain one first; the caller keeps the best."""
    length, width = usable_size(sheet)
    reach = max([sheet.start_mm, *(p.polygon.bounds[2] for p in pinned)]) - sheet.start_mm
    fitting, too_wide = split_by_room(items, length, width)
    if not fitting:
        while True:
            yield Layout((), tuple(items), reach)
    most = 0.0 if sheet.section_mm is None else _enough(fitting, sheet, gap_mm) + reach
    film = _free_film(sheet, gap_mm, tuple(pinned), most)
    filler = _Filler(fitting, film)
    for layout in _trials(filler, seed):
        yield replace(
            layout, left=(*layout.left, *too_wide), length_mm=max(reach, layout.length_mm)
        )


@lru_cache(maxsize=256)
def _free_film(
    sheet: Sheet, gap_mm: float, pinned: tuple[Placement, ...], open_mm: float
) -> FreeFilm:
    """Return a sheet's film before anything is laid on it; it is copied to lay on."""
    return FreeFilm(sheet, gap_mm, pinned, _BANDS, open_mm)


def _enough(items: Sequence[Item], sheet: Sheet, gap_mm: float) -> float:
    """Return a length that all items can be laid on, one behind the other."""
    longest = [math.dist(i.polygon.bounds[:2], i.polygon.bounds[2:]) + gap_mm for i in items]
    # Behind each item the rest of a feed may be lost, which is shorter than the next item.
    return 2 * sum(longest) + (sheet.section_mm or 0.0)


def _trials(filler: "_Filler", seed: int) -> Iterator[Layout]:
    """Yield the plain layout, then those of other orders."""
    chance = np.random.default_rng(seed)
    order = by_longest(filler.profiles)
    best = filler.lay(order, 0.5)
    yield best
    best_order = order
    sizes = np.array([max(max(p.sides_mm) for p in ps) for ps in filler.profiles])
    for trial in range(1, 10**9):
        if trial % 2:
            order = shuffled(sizes, chance)
            if chance.random() < _DROP_SHARE:
                back = int(chance.integers(len(order) + 1))
                order = order[back:] + order[:back]
        else:
            order = moved(best_order, chance)
        layout = filler.lay(order, float(chance.choice(_WEIGHTS)))
        if layout.rank < best.rank:
            best, best_order = layout, order
        yield layout


class _Filler:
    """Items on one sheet's free film, to be laid in one order after another."""

    def __init__(self, items: Sequence[Item], film: FreeFilm) -> None:
        self.items = items
        self.profiles = item_profiles(
            items, film.width_mm, film.gap_mm, film.band_mm, has_edges=True
        )
        self._film = film
        least = min((p.breadth_mm for ps in self.profiles for p in ps), default=0.0)
        self._merge_mm = _MERGE_SHARE * least

    def lay(self, order: Sequence[int], weight: float) -> Layout:
        """Lay the items in an order."""
        film = self._film.copy()
        placements, left, end = [], [], 0.0
        for i in order:
            found = [s for p in self.profiles[i] if (s := film.first_place(p, weight))]
            if not found:
                left.append(self.items[i])
                continue
            _, place = min(found, key=lambda spot: spot[0])
            film.take(place, self._merge_mm)
            end = max(end, place.x_mm + place.profile.length_mm - film.gap_mm)
            placements.append(self._placed(self.items[i], place))
        return Layout(tuple(placements), tuple(left), end)

    def _placed(self, item: Item, place: Place) -> Placement:
        x0, y0 = self._film.origin_mm
        return Placement(
            item=item,
            angle_deg=place.profile.angle_deg,
            dx_mm=x0 + place.x_mm + place.profile.shift_mm[0],
            dy_mm=y0 + place.band * self._film.band_mm + place.profile.shift_mm[1],
        )

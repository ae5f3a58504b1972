"""The plainest layout there is: boxes stood in rows across the roll, longest row first.

It is the floor under every other layout: none that is worse is ever shown.
"""

from collections.abc import Callable, Sequence

from core.roll.model import Item, Placement, Sheet
from core.roll.profiles import Profile
from core.roll.room import Layout, usable_size


def lay_on_shelves(
    items: Sequence[Item], profiles: Sequence[Sequence[Profile]], sheet: Sheet, gap_mm: float
) -> Layout:
    """Lay boxes on shelves, longest first, each on the first shelf that has room.

    Both ways of turning the boxes are tried, short side or long side along the roll, and the
    better layout is returned.
    """
    layouts = [_shelves(items, profiles, sheet, gap_mm, pick) for pick in (min, max)]
    return min(layouts, key=lambda layout: layout.rank)


def _shelves(
    items: Sequence[Item],
    profiles: Sequence[Sequence[Profile]],
    sheet: Sheet,
    gap_mm: float,
    pick: Callable[..., Profile],
) -> Layout:
    length, width = usable_size(sheet)
    fitting = [[p for p in ps if p.sides_mm[1] <= width + 1e-9] for ps in profiles]
    chosen = {i: pick(ps, key=lambda p: p.sides_mm[0]) for i, ps in enumerate(fitting) if ps}
    left = [item for i, item in enumerate(items) if i not in chosen]
    shelves: list[list[float]] = []  # start along the roll, length, width used so far
    placements = []
    end = -gap_mm
    for i in sorted(chosen, key=lambda i: (-chosen[i].sides_mm[0], i)):
        long, across = chosen[i].sides_mm
        shelf = next(
            (s for s in shelves if s[2] + across <= width + 1e-9 and long <= s[1] + 1e-9), None
        )
        if shelf is None:
            if end + gap_mm + long > length + 1e-9:
                left.append(items[i])
                continue
            shelf = [end + gap_mm, long, 0.0]
            shelves.append(shelf)
            end = shelf[0] + long
        placements.append(
            _place(items[i], chosen[i], shelf[0] + sheet.start_mm, shelf[2] + sheet.margin_mm)
        )
        shelf[2] += across + gap_mm
    return Layout(tuple(placements), tuple(left), max(end, 0.0))


def _place(item: Item, p: Profile, x: float, y: float) -> Placement:
    return Placement(
        item=item,
        angle_deg=p.angle_deg,
        dx_mm=x - p.box_mm[0],
        dy_mm=y - p.box_mm[1],
    )

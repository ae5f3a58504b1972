"""Small pieces laid inside the openings of large ones, before anything else is laid.

The strip solver knows no openings. So each opening is film of its own: small pieces are laid in
it, turned against the large piece as the grain of both allows, and go with it wherever it is
laid then.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import Polygon
from shapely.affinity import affine_transform, translate

from core.ids import StockId
from core.roll.filling import fill_layout
from core.roll.model import Item, ItemKey, Placement, Sheet
from core.roll.turns import may_lie_within

_ROUND_DEG = 9


@dataclass(frozen=True, slots=True)
class Hosted:
    """Items with those that lie inside others.

    Attributes:
        items: what is still to be laid, hosts included.
        inside: by the host's key, what lies in its openings while it lies unturned at its own
            place.
    """

    items: tuple[Item, ...]
    inside: dict[ItemKey, tuple[Placement, ...]]

    def unpacked(self, placements: Sequence[Placement]) -> tuple[Placement, ...]:
        """Return placements with what lies inside the placed hosts."""
        found = list(placements)
        for host in placements:
            found += [_carried(host, p) for p in self.inside.get(host.item.key, ())]
        return tuple(found)

    def left(self, left: Sequence[Item]) -> tuple[Item, ...]:
        """Return items left over with what was to lie inside them."""
        inner = [p.item for host in left for p in self.inside.get(host.key, ())]
        return (*left, *inner)


def fill_openings(
    items: Sequence[Item], gap_mm: float, without: frozenset[ItemKey] = frozenset()
) -> Hosted:
    """Lay what fits into openings of other items, the largest opening first.

    Args:
        items: what is to be laid.
        gap_mm: kept from the rim of an opening too.
        without: items whose openings stay empty.
    """
    openings = sorted(
        (
            (Polygon(ring), host)
            for host in items
            for ring in host.polygon.interiors
            if not host.is_blank and host.key not in without
        ),
        key=lambda found: -found[0].area,
    )
    if not openings:
        return Hosted(tuple(items), {})
    free = {i.key: i for i in items if not i.polygon.interiors and not i.is_blank}
    inside: dict[ItemKey, tuple[Placement, ...]] = {}
    for opening, host in openings:
        found = _laid_inside(opening, host, list(free.values()), gap_mm)
        for p in found:
            del free[p.item.key]
        if found:
            inside[host.key] = (*inside.get(host.key, ()), *found)
    taken = {p.item.key for ps in inside.values() for p in ps}
    return Hosted(tuple(i for i in items if i.key not in taken), inside)


def _laid_inside(
    opening: Polygon, host: Item, items: Sequence[Item], gap_mm: float
) -> tuple[Placement, ...]:
    """Return what goes into one opening of a host, in the host's own frame."""
    x0, y0, x1, y1 = opening.bounds
    small = []
    for item in items:
        angles = _against(host, item)
        if angles != () and item.polygon.area <= opening.area:
            turned = replace(item, angles_deg=angles)
            if may_lie_within(turned, x1 - x0 - 2 * gap_mm, y1 - y0 - 2 * gap_mm):
                small.append(turned)
    if not small or opening.buffer(-gap_mm).is_empty:
        return ()
    sheet = Sheet(
        StockId("opening"),
        "offcut",
        y1 - y0,
        x1 - x0,
        gap_mm,
        outline=translate(opening, -x0, -y0),
    )
    own = {i.key: i for i in items}
    return tuple(
        Placement(own[p.item.key], p.angle_deg, p.dx_mm + x0, p.dy_mm + y0)
        for p in fill_layout(small, sheet, gap_mm).placements
    )


def _against(host: Item, item: Item) -> tuple[float, ...] | None:
    """Return the turns that an item may take against a host that lies unturned.

    They must hold however the host is turned in the end; None when any will do.
    """
    if item.angles_deg is None:
        return None
    if host.angles_deg is None:
        return ()
    allowed = {round(a % 360.0, _ROUND_DEG) % 360.0 for a in item.angles_deg}
    first = host.angles_deg[0]
    return tuple(
        turn
        for turn in ((a - first) % 360.0 for a in item.angles_deg)
        if all(
            round((turn + h) % 360.0, _ROUND_DEG) % 360.0 in allowed for h in host.angles_deg
        )
    )


def _carried(host: Placement, inner: Placement) -> Placement:
    """Return where an inner item lies when its host lies so."""
    at = affine_transform(shapely.Point(inner.dx_mm, inner.dy_mm), host.matrix)
    angle = (inner.angle_deg + host.angle_deg) % 360.0
    return Placement(inner.item, angle, at.x, at.y)

"""What the user asked of a layout, as far as it can be had: pins, and sheets kept off.

A wish that cannot be had is a finding, and the piece is laid without it: the plan stays.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import shapely

from core.document.choices import PieceChoice
from core.document.choices import Pin as PinWish
from core.ids import StockId
from core.plan.model import Finding, Severity
from core.roll.model import Item, ItemKey, Pin, Placement, Sheet
from core.roll.wording import try_name

_HAIR_MM = 1e-6
_HAIR_DEG = 1e-6
_OPEN_MM = 1e6

Forbidden = tuple[tuple[ItemKey, frozenset[StockId]], ...]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What is asked of one film's layout.

    Attributes:
        pinned: tries that lie where the user put them.
        forbidden: tries with the sheets that they are kept off.
        told: wishes that cannot be had.
    """

    pinned: tuple[Pin, ...] = ()
    forbidden: Forbidden = ()
    told: tuple[Finding, ...] = ()


def wishes_of(
    choices: Iterable[PieceChoice],
    items: Sequence[Item],
    sheets: Sequence[Sheet],
    gap_mm: float,
) -> Wishes:
    """Return what choices for pieces ask of a layout of the items on the sheets.

    Args:
        choices: of the variant; those for pieces that are not there wait.
        items: of one film.
        sheets: its stock and the film to buy.
        gap_mm: kept between pieces.
    """
    own = {c.piece: c for c in choices if c.pins or c.forbidden}
    asked = [(item, own[item.piece]) for item in items if item.piece in own]
    desk = _Desk({s.id: s for s in sheets}, gap_mm)
    for item, choice in asked:
        desk.take(item, choice)
    return Wishes(tuple(desk.pinned), tuple(desk.forbidden), tuple(desk.told))


class _Desk:
    """Takes in wishes one by one, and says which cannot be had."""

    def __init__(self, sheets: dict[StockId, Sheet], gap_mm: float) -> None:
        self._sheets, self._gap_mm = sheets, gap_mm
        self.pinned: list[Pin] = []
        self.forbidden: list[tuple[ItemKey, frozenset[StockId]]] = []
        self.told: list[Finding] = []

    def take(self, item: Item, choice: PieceChoice) -> None:
        pin = next((p for p in choice.pins if p.attempt == item.attempt), None)
        if pin is not None and self._pin(item, pin):
            return
        barred = frozenset(StockId(s) for s in choice.forbidden) & set(self._sheets)
        if not barred:
            return
        if barred == set(self._sheets):
            self._tell(
                "N512",
                item,
                "is kept off every roll and offcut of its film, so it is laid all the same. "
                "Allow it on one of them",
            )
            return
        self.forbidden.append((item.key, barred))

    def _pin(self, item: Item, pin: PinWish) -> bool:
        """Take in a pin; False when it cannot be had."""
        sheet = self._sheets.get(StockId(pin.stock))
        if sheet is None:
            self._refuse(item, f"{pin.stock} is not in stock")
            return False
        if pin.place is None:
            others = frozenset(self._sheets) - {sheet.id}
            if others:
                self.forbidden.append((item.key, others))
            return True
        place = pin.place
        laid = Placement(item, place.angle_deg, place.dx_mm, place.dy_mm)
        why = next(self._faults(laid, sheet), None)
        if why is not None:
            self._refuse(item, why)
            return False
        self.pinned.append(Pin(sheet.id, laid))
        return True

    def _faults(self, laid: Placement, sheet: Sheet) -> Iterator[str]:
        """Yield why a piece cannot lie where it is pinned."""
        item = laid.item
        if item.angles_deg is not None:
            off = [abs((laid.angle_deg - a + 180) % 360 - 180) for a in item.angles_deg]
            if min(off) > _HAIR_DEG:
                yield f"its film forbids a turn by {laid.angle_deg:g}°"
        shape = laid.polygon
        if not shape.is_valid or shape.is_empty:
            yield "its outline is broken"
            return
        if not sheet.free(_OPEN_MM).buffer(_HAIR_MM).covers(shape):
            where = "film to buy" if sheet.length_mm is None else f"film of {sheet.id}"
            yield f"it does not lie on the usable {where}"
        for pin in self.pinned:
            other = pin.placement.polygon
            if pin.sheet == sheet.id and shapely.dwithin(shape, other, self._gap_mm - _HAIR_MM):
                yield f"it lies too near to {pin.placement.item.label}, which is pinned too"

    def _refuse(self, item: Item, why: str) -> None:
        text = f"cannot lie where it is pinned: {why}. Pin it elsewhere, or let go of it"
        self._tell("N511", item, text)

    def _tell(self, check: str, item: Item, text: str) -> None:
        whole = f"{try_name(item)}, {text}."
        self.told.append(Finding(check, Severity.WARNING, whole, item.panel))

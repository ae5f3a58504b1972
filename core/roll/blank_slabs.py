"""Blanks laid on odd film in slabs across the roll, for cuts that may turn three times only.

Cross-cuts part the film into slabs, slits part each slab into rooms that are free all over:
these trim the film to rectangles, and each of them is filled by sections of columns.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.roll.blank_blocks import HAIR_MM, Block, Laid, blanks_of, unfolded
from core.roll.blank_sections import Section, SectionFiller, length_of_sections
from core.roll.blank_stock import Stock
from core.roll.free_rooms import FreeRooms, Rectangle

_NOISES = (0.2, 0.6, 1.2)
_BY_START_SHARE = 0.5
"""How often the rooms of an offcut are filled from its start, not the largest first."""
_REPARTED_SHARE = 0.6
"""How often some of the slabs are parted anew, not just filled anew."""


@dataclass(frozen=True, slots=True)
class Filled:
    """A room with what lies in it."""

    room: Rectangle
    sections: tuple[Section, ...] = ()

    @property
    def used(self) -> float:
        """How much of its length is used."""
        return length_of_sections(self.sections)

    @property
    def size(self) -> tuple[float, float]:
        """Its length and width."""
        x0, y0, x1, y1 = self.room
        return x1 - x0, y1 - y0

    def blanks(self) -> list[Block]:
        """Return the blanks in it."""
        return [b for s in self.sections for block, *_ in s.blocks for b in blanks_of(block)]


@dataclass(frozen=True, slots=True)
class Slabs:
    """A layout: all rooms, and which blanks are left over.

    Attributes:
        rank: area left over, then how far it reaches.
    """

    rooms: tuple[Filled, ...]
    left: tuple[int, ...]
    rank: tuple[float, float]

    def places(self) -> tuple[Laid, ...]:
        """Return where the blanks lie on the sheet."""
        found: list[Laid] = []
        for filled in self.rooms:
            x, y = filled.room[:2]
            for section in filled.sections:
                for block, is_turned, dx, dy in section.blocks:
                    found += unfolded(block, x + dx, y + dy, is_turned=is_turned)
                x += section.length
        return tuple(found)


class SlabBuilder:
    """Builds layouts by chance, from nothing or from another."""

    def __init__(
        self, blocks: Sequence[Block], rooms: FreeRooms, chance: np.random.Generator
    ) -> None:
        self._blocks, self._rooms, self._chance = blocks, rooms, chance
        self._filler = SectionFiller(chance)
        self._sides_mm = np.unique([(b.length, b.width) for b in blocks])

    def built(self) -> Slabs:
        """Return a layout of all blanks."""
        found = self._rooms.slabs(self._chance, self._sides_mm)
        return self._filled([Filled(room) for room in found], list(self._blocks))

    def rebuilt(self, layout: Slabs) -> Slabs:
        """Return a layout with a few slabs, or sections, laid anew."""
        if not layout.rooms:
            return self.built()
        blocks = [self._blocks[i] for i in layout.left]
        if self._chance.random() < _REPARTED_SHARE:
            return self._reparted(layout, blocks)
        sections = [(r, s) for r in layout.rooms for s in r.sections]
        out: set[int] = set()
        if sections:
            waste = np.array([s.length * r.size[1] - s.area for r, s in sections]) + HAIR_MM
            count = min(len(sections), int(self._chance.integers(1, 5)))
            chosen = self._chance.choice(
                len(sections), count, replace=False, p=waste / waste.sum()
            )
            out = {id(sections[int(i)][1]) for i in chosen}
        rooms = []
        for r in layout.rooms:
            kept = tuple(s for s in r.sections if id(s) not in out)
            gone = Filled(r.room, tuple(s for s in r.sections if id(s) in out))
            rooms.append(Filled(r.room, kept))
            blocks += gone.blanks()
        return self._filled(rooms, blocks)

    def _reparted(self, layout: Slabs, blocks: list[Block]) -> Slabs:
        """Return the layout with the film of a few slabs parted anew."""
        chance = self._chance
        starts = np.unique([r.room[0] for r in layout.rooms])
        first = int(chance.integers(len(starts)))
        last = first + int(chance.integers(1, 5))
        window = float(starts[first]), float(starts[last]) if last < len(starts) else np.inf
        rooms = []
        for r in layout.rooms:
            if window[0] <= r.room[0] < window[1]:
                blocks += r.blanks()
            else:
                rooms.append(r)
        rooms += [Filled(r) for r in self._rooms.slabs(chance, self._sides_mm, window)]
        return self._filled(rooms, blocks)

    def _filled(self, rooms: list[Filled], blocks: list[Block]) -> Slabs:
        """Fill rooms up with blanks."""
        chance = self._chance
        order = sorted(rooms, key=lambda r: r.room)
        if not self._rooms.is_roll and chance.random() > _BY_START_SHARE:
            order.sort(key=lambda r: -r.size[0] * r.size[1])
        widest = max((r.size[1] for r in rooms), default=0.0)
        stock = Stock(blocks, widest, chance, float(chance.choice(_NOISES)))
        found = []
        for r in order:
            length, width = r.size
            new = self._filler.fill(stock, length - r.used, width, in_columns=True)
            found.append(Filled(r.room, (*r.sections, *new)))
        left = stock.left()
        area = sum(b.length * b.width for b in left)
        reach = max((r.room[0] + r.used for r in found if r.sections), default=0.0)
        rank = round(area, 3), round(reach, 6)
        return Slabs(tuple(found), tuple(b.blanks[0] for b in left), rank)

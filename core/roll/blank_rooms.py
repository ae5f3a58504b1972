"""Blanks laid in the rooms of odd film, so that straight cuts free each of them.

Own search: the film is parted into rooms in one of many ways (``free_rooms``), each room is
filled section by section. Then some sections are emptied and all rooms filled up again with
what lay in them and what was left over; what leaves less is kept.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from core.roll.blank_blocks import HAIR_MM, Blank, Block, Laid, blanks_of, unfolded
from core.roll.blank_joining import Joining
from core.roll.blank_sections import Section, SectionFiller, length_of_sections
from core.roll.blank_stock import Stock
from core.roll.free_rooms import FreeRooms, Rectangle

_FIRST_BUILDS = 10
"""So many ways to part the film are tried for the first layout."""
_FRESH_SHARE = 0.25
"""How often the film is parted anew later on."""
_BEST_WAY_SHARE = 0.5
"""How often the way to part the film that did best so far is gone on with."""
_REPARTED_SHARE = 0.6
"""How often some of the slabs are parted anew, not just filled anew."""
_LIMITS = (0.0, 0.0, 0.01, 0.03, 0.06, 0.1)
"""Share of waste up to which two blocks are joined; one is drawn for each build."""
_NOISES = (0.2, 0.6, 1.2)
_BY_START_SHARE = 0.5
"""How often rooms are filled from the start of the film, not the largest first."""
_TOLERATED = 0.01
"""A layout that reaches so much farther may still be gone on from."""

_Way = int | None
"""How film is parted: in slabs across the roll (0), along it (1), around large rectangles."""

Rank = tuple[float, float]
"""Area left over, then how far the layout reaches: the lower the better."""


@dataclass(slots=True)
class _Filled:
    """A room with what lies in it."""

    room: Rectangle
    sections: list[Section] = field(default_factory=list)

    @property
    def used(self) -> float:
        return length_of_sections(self.sections)

    @property
    def size(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.room
        return x1 - x0, y1 - y0


@dataclass(slots=True)
class _Layout:
    """All rooms, and which blanks are left over.

    Attributes:
        axis: which way slabs lie one behind the other; None where the film is parted else.
    """

    rooms: list[_Filled]
    left: list[int]
    axis: _Way = None
    rank: Rank = (np.inf, np.inf)


def room_layouts(
    blanks: Sequence[Blank], rooms: FreeRooms, stages: int | None, seed: int
) -> Iterator[tuple[Laid, ...] | None]:
    """Yield better and better layouts without end; None where a step found none.

    Each places what it can: less area left over is better, then a shorter reach.

    Args:
        blanks: what is to be laid.
        rooms: of the sheet; places are told in its frame.
        stages: None for any number of turns of the cuts' direction; else three, once the rooms
            are trimmed out.
        seed: the same blanks and seed give the same layouts.
    """
    search = _Search(blanks, rooms, stages, seed)
    yield search.first()
    while True:
        yield search.step()


class _Search:
    def __init__(
        self, blanks: Sequence[Blank], rooms: FreeRooms, stages: int | None, seed: int
    ) -> None:
        self._chance = np.random.default_rng(seed)
        self._rooms, self._is_staged = rooms, stages is not None
        self._filler = SectionFiller(self._chance, is_staged=self._is_staged)
        self._blocks = [
            Block(b.length_mm, b.width_mm, b.may_turn, (i,)) for i, b in enumerate(blanks)
        ]
        self._area = sum(b.length * b.width for b in self._blocks)
        self._sides_mm = np.unique([(b.length, b.width) for b in self._blocks])
        nothing = _Layout([], list(range(len(blanks))))
        self._best = nothing
        self._ways: tuple[_Way, ...] = (0,) if self._is_staged else (0, 1, None)
        self._now: dict[_Way, _Layout] = dict.fromkeys(self._ways, nothing)

    def first(self) -> tuple[Laid, ...]:
        """Return the best of some layouts built from nothing."""
        if len(self._rooms.rectangles):
            for k in range(_FIRST_BUILDS):
                way = self._ways[k % len(self._ways)]
                found = self._built(way)
                if k < len(self._ways) or found.rank < self._now[way].rank:
                    self._now[way] = found
            self._best = min(self._now.values(), key=lambda layout: layout.rank)
        return _places(self._best)

    def step(self) -> tuple[Laid, ...] | None:
        """Build a layout, from nothing or from one in hand; return it if it is the best."""
        if not len(self._rooms.rectangles):
            return None
        chance = self._chance
        way = self._ways[int(chance.integers(len(self._ways)))]
        if chance.random() < _BEST_WAY_SHARE:
            way = min(self._ways, key=lambda w: self._now[w].rank)
        now = self._now[way]
        is_fresh = chance.random() < _FRESH_SHARE
        found = self._built(way) if is_fresh else self._rebuilt(now)
        if found.rank <= (now.rank[0], now.rank[1] * (1 + _TOLERATED)):
            self._now[way] = found
        if found.rank >= self._best.rank:
            return None
        self._best = found
        return _places(found)

    def _built(self, way: _Way) -> _Layout:
        chance, sides = self._chance, self._sides_mm
        if way is None:
            found = self._rooms.parted(chance, float(sides.min()))
        else:
            found = self._rooms.slabs(chance, sides, way)
        return self._filled([_Filled(room) for room in found], self._blocks, way)

    def _reparted(self, layout: _Layout, axis: int) -> _Layout:
        """Return the layout with the film of a few slabs parted anew."""
        chance = self._chance
        starts = np.unique([r.room[axis] for r in layout.rooms])
        first = int(chance.integers(len(starts)))
        last = first + int(chance.integers(1, 5))
        window = float(starts[first]), float(starts[last]) if last < len(starts) else np.inf
        kept = [r for r in layout.rooms if not window[0] <= r.room[axis] < window[1]]
        blocks = [self._blocks[i] for i in layout.left]
        for r in layout.rooms:
            if window[0] <= r.room[axis] < window[1]:
                blocks += [b for s in r.sections for k, *_ in s.blocks for b in blanks_of(k)]
        new = self._rooms.slabs(chance, self._sides_mm, axis, window)
        rooms = [_Filled(r.room, list(r.sections)) for r in kept] + [_Filled(r) for r in new]
        return self._filled(sorted(rooms, key=lambda r: r.room), blocks, axis)

    def _rebuilt(self, layout: _Layout) -> _Layout:
        """Return the layout with a few sections, wasteful ones for choice, laid anew."""
        chance = self._chance
        if layout.axis is not None and chance.random() < _REPARTED_SHARE:
            return self._reparted(layout, layout.axis)
        sections = [(r, s) for r in layout.rooms for s in r.sections]
        blocks = [self._blocks[i] for i in layout.left]
        out: set[int] = set()
        if sections:
            waste = np.array([s.length * r.size[1] - s.area for r, s in sections]) + HAIR_MM
            count = min(len(sections), int(chance.integers(1, 5)))
            chosen = chance.choice(len(sections), count, replace=False, p=waste / waste.sum())
            out = {id(sections[int(i)][1]) for i in chosen}
        for _, section in sections:
            if id(section) in out:
                blocks += [b for block, *_ in section.blocks for b in blanks_of(block)]
        rooms = [
            _Filled(r.room, [s for s in r.sections if id(s) not in out]) for r in layout.rooms
        ]
        return self._filled(rooms, blocks, layout.axis)

    def _filled(self, rooms: list[_Filled], blocks: list[Block], axis: int | None) -> _Layout:
        """Fill rooms up with blocks, joined where they match, then with the parts of others."""
        chance = self._chance
        order = rooms
        if chance.random() > _BY_START_SHARE:
            order = sorted(rooms, key=lambda r: -r.size[0] * r.size[1])
        widest = max((r.size[1] for r in rooms), default=0.0)
        noise = float(chance.choice(_NOISES))
        share = float(chance.choice(_LIMITS))
        fitting = [b for b in blocks if min(b.length, b.width) <= widest + HAIR_MM]
        left = [b for b in blocks if min(b.length, b.width) > widest + HAIR_MM]
        joined = fitting
        if len(fitting) > 1 and chance.random() < 0.7:
            joining = Joining(fitting, widest, chance, noise, is_staged=self._is_staged)
            joined = joining.run(share)
        for _ in range(2):
            stock = Stock(joined, widest, chance, noise)
            for filled in order:
                length, width = filled.size
                filled.sections += self._filler.fill(stock, length - filled.used, width)
            over = stock.left()
            joined = [b for block in over for b in blanks_of(block)]
            if len(joined) == len(over):
                break
        left += joined
        layout = _Layout(rooms, [b.blanks[0] for b in left], axis)
        reach = max((r.room[0] + r.used for r in rooms if r.sections), default=0.0)
        layout.rank = round(sum(b.length * b.width for b in left), 3), round(reach, 6)
        return layout


def _places(layout: _Layout) -> tuple[Laid, ...]:
    """Return where the blanks of a layout lie on the sheet."""
    found: list[Laid] = []
    for filled in layout.rooms:
        x, y = filled.room[:2]
        for section in filled.sections:
            for block, is_turned, dx, dy in section.blocks:
                found += unfolded(block, x + dx, y + dy, is_turned=is_turned)
            x += section.length
    return tuple(found)

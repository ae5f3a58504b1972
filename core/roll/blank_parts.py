"""Blanks cut one by one out of film of any shape: a tree of parts.

In a part of film the blank (or block of blanks) that fits one of its largest free rectangles
best is put into a corner of that; trim cuts free it, and leave parts that are filled in turn.
As a part has whatever outline the film has there, little is lost along slanted and round rims.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from core.roll.blank_blocks import Block, Laid, along, blanks_of, block_ways, unfolded
from core.roll.blank_joining import Joining
from core.roll.blank_stock import Stock
from core.roll.free_rooms import FreeRooms, Rectangle

_RECTANGLES = 10
"""So many of a part's largest free rectangles are looked at."""
_SPOTS = 6
"""So many blanks are tried in a part before it is halved or given up."""
_BY_WORTH_SHARE = 0.4
"""How often the order of trim cuts is the one that leaves the best parts."""
_BY_START_SHARE = 0.5
"""How often an offcut is filled from its start; a roll always is."""
_STRETCH = (0.3, 1.2)
"""A stretch of a roll is parted, so many times as long as the film that is still needed."""
_JOINED_SHARE = 0.3
"""How often blanks with matching sides are joined first."""
_LIMITS = (0.0, 0.0, 0.01, 0.03, 0.06, 0.1)
"""Share of waste up to which two blocks are joined; one is drawn for each build."""
_NOISES = (0.2, 0.6, 1.2)


@dataclass(frozen=True, slots=True)
class Part:
    """A part of film with the block that is cut out of it, if any, and the parts left then.

    Attributes:
        block: None where nothing is cut out, or the part is only parted.
        is_turned: whether the block took a quarter turn.
        x, y: the lower left corner of the block, on the sheet.
    """

    area: Rectangle
    block: Block | None = None
    is_turned: bool = False
    x: float = 0.0
    y: float = 0.0
    rest: tuple["Part", ...] = ()

    def all_parts(self) -> Iterator["Part"]:
        """Yield this part and those within it."""
        yield self
        for part in self.rest:
            yield from part.all_parts()

    def with_other(self, old: "Part", new: "Part") -> "Part":
        """Return the same with one part in it exchanged."""
        if self is old:
            return new
        return replace(self, rest=tuple(part.with_other(old, new) for part in self.rest))


@dataclass(frozen=True, slots=True)
class Tree:
    """A layout: the parts, and which blanks are left over.

    Attributes:
        rank: area left over, then how far it reaches.
    """

    root: Part
    left: tuple[int, ...]
    rank: tuple[float, float]

    def places(self) -> tuple[Laid, ...]:
        """Return where the blanks lie on the sheet."""
        return tuple(
            laid
            for part in self.root.all_parts()
            if part.block is not None
            for laid in unfolded(part.block, part.x, part.y, is_turned=part.is_turned)
        )


class TreeBuilder:
    """Builds trees by chance, from nothing or from another."""

    def __init__(
        self, blocks: Sequence[Block], rooms: FreeRooms, chance: np.random.Generator
    ) -> None:
        self._blocks, self._rooms, self._chance = blocks, rooms, chance
        self._least_mm = min(min(b.length, b.width) for b in blocks)
        self._is_by_start = False

    def built(self) -> Tree:
        """Return a tree of all blanks."""
        return self._grown(None, None, list(self._blocks))

    def rebuilt(self, tree: Tree) -> Tree:
        """Return a tree in which one part is filled anew, with what is left over too."""
        parts = list(tree.root.all_parts())
        old = parts[int(self._chance.integers(len(parts)))]
        blocks = [self._blocks[i] for i in tree.left]
        for part in old.all_parts():
            blocks += blanks_of(part.block) if part.block is not None else []
        return self._grown(tree.root, old, blocks)

    def _grown(self, root: Part | None, old: Part | None, blocks: list[Block]) -> Tree:
        chance, whole = self._chance, self._rooms.whole
        noise = float(chance.choice(_NOISES))
        joined = blocks
        if len(blocks) > 1 and chance.random() < _JOINED_SHARE:
            width = whole[3] - whole[1]
            joining = Joining(blocks, width, chance, noise)
            joined = joining.run(float(chance.choice(_LIMITS)))
        stock = Stock(joined, np.inf, chance, noise)
        self._is_by_start = self._rooms.is_roll or chance.random() < _BY_START_SHARE
        area = old.area if old else whole
        is_long = self._rooms.is_roll and area[3] - area[1] >= whole[3] - whole[1]
        new = self._in_stretches(area, stock) if is_long else self._filled(area, stock)
        root = root.with_other(old, new) if root and old else new
        left = [b for block in stock.left() for b in blanks_of(block)]
        ends = [
            p.x + along(p.block, is_turned=p.is_turned)
            for p in root.all_parts()
            if p.block is not None
        ]
        over = sum(b.length * b.width for b in left)
        rank = round(over, 3), round(max(ends, default=0.0), 6)
        return Tree(root, tuple(b.blanks[0] for b in left), rank)

    def _in_stretches(self, area: Rectangle, stock: Stock) -> Part:
        """Fill a stretch of a roll from its start on, about as far as blanks may reach."""
        x, y0, end, y1 = area
        parts = []
        while x < end and stock.is_left.any():
            need = stock.area_left() / (y1 - y0) * float(self._chance.uniform(*_STRETCH))
            need = max(need, *(_least_length(b, y1 - y0) for b in stock.left()))
            at = min(self._rooms.cut_behind(x + need), end)
            parts.append(self._filled((x, y0, at, y1), stock))
            x = at
        if x < end:
            parts.append(Part((x, y0, end, y1)))
        return parts[0] if len(parts) == 1 else Part(area, rest=tuple(parts))

    def _filled(self, area: Rectangle, stock: Stock) -> Part:
        """Cut what fits best out of a part, and go on with what that leaves."""
        free = self._rooms.free_in(area, self._least_mm)[:_RECTANGLES]
        if not (len(free) and stock.is_left.any()):
            return Part(area)
        fit = self._fit(area, free, stock)
        for _ in range(_SPOTS):
            which, way = divmod(int(np.argmax(fit)), fit.shape[1])
            if not fit[which, way] > 0.0:
                return Part(area)
            room = self._room(area, free[which], stock, way)
            ways = self._rooms.trims(area, room)
            if ways:
                stock.take(way)
                rest = tuple(self._filled(part, stock) for part in self._chosen(ways))
                turned = bool(stock.turned[way])
                return Part(area, stock.block(way), turned, room[0], room[1], rest)
            fit[which, way] = 0.0
        halves = self._rooms.halved(area, self._chance)
        return Part(area, rest=tuple(self._filled(half, stock) for half in halves))

    def _fit(
        self, area: Rectangle, free: NDArray[np.float64], stock: Stock
    ) -> NDArray[np.float64]:
        """Return how well each blank fits each free rectangle."""
        sides = free[:, 2:] - free[:, :2]
        fit = stock.fit(sides[:, 0], sides[:, 1])
        if self._is_by_start:
            scale = self._rooms.whole[3] - self._rooms.whole[1]
            fit /= 1.0 + (free[:, :1] - area[0]) / scale
        return fit

    def _room(
        self, area: Rectangle, free: NDArray[np.float64], stock: Stock, way: int
    ) -> Rectangle:
        """Return where a blank lies in a free rectangle: in a corner, close to the rim."""
        x0, y0, x1, y1 = free.tolist()
        length, width = float(stock.length[way]), float(stock.width[way])
        corner = int(self._chance.integers(4))
        if self._is_by_start:
            corner &= 2
        x = x1 - length if corner & 1 else x0
        y = y1 - width if corner & 2 else y0
        x, y = self._rooms.pushed((x, y, x + length, y + width), area, corner)
        return x, y, x + length, y + width

    def _chosen(self, ways: list[list[Rectangle]]) -> list[Rectangle]:
        """Return what one of the orders of trim cuts leaves, the largest part first."""
        chance, least = self._chance, self._least_mm
        parts = {part for way in ways for part in way}
        if len(ways) > 1 and chance.random() > _BY_WORTH_SHARE:
            ways = [ways[int(chance.integers(len(ways)))]]
            parts = set(ways[0])
        worth = {part: self._rooms.largest(part, least) ** 2 for part in parts}
        way = max(ways, key=lambda way: sum(worth[part] for part in way))
        first = (lambda p: p[:2]) if self._is_by_start else (lambda p: (-worth[p], 0.0))
        return sorted(way, key=first)


def _least_length(block: Block, width: float) -> float:
    """Return how much of a roll's length a block takes at least."""
    ways = [length for length, across, _ in block_ways(block) if across <= width]
    return min(ways, default=block.length)

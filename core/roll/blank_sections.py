"""Sections of film filled with blanks: stretches over the whole width of a room.

A section is parted from the next by one cut across the room; within it blocks lie in rooms
beside and behind each other, or in columns, which three stages of cuts free.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.roll.blank_blocks import Block, along
from core.roll.blank_stock import Stock

_SECTION_TRIES = 5
"""With three stages so many ways to begin a section are tried, and the fullest is taken."""
_SECTION_NOISE = 0.03
_SLIT_FIRST = 0.25
"""How often what a block leaves of its room is parted across before it is parted along."""


@dataclass(slots=True)
class Section:
    """A stretch of a room over its whole width, with the blocks that lie in it."""

    length: float
    blocks: list[tuple[Block, bool, float, float]] = field(default_factory=list)

    @property
    def area(self) -> float:
        """Area of its blocks, without the waste in them."""
        return sum(b.length * b.width - b.waste for b, _, _, _ in self.blocks)


def length_of_sections(sections: Sequence[Section]) -> float:
    """Return how long sections are, one behind the other."""
    return sum(s.length for s in sections)


class SectionFiller:
    """Fills rooms section by section, by chance."""

    def __init__(self, chance: np.random.Generator) -> None:
        self._chance = chance

    def fill(
        self, stock: Stock, length: float, width: float, *, in_columns: bool
    ) -> list[Section]:
        """Lay what is in stock, the longest first, filling up each section by what fits.

        Args:
            stock: what it takes of this is gone from it.
            length: of the room; may be infinite.
            width: of the room.
            in_columns: whether three stages of cuts are to free all.
        """
        sections: list[Section] = []
        rest = length
        while rest > 0.0:
            section = (
                self._of_columns(stock, rest, width)
                if in_columns
                else self._of_rooms(stock, rest, width)
            )
            if section is None:
                break
            sections.append(section)
            rest -= section.length
        return sections

    def _of_rooms(self, stock: Stock, rest: float, width: float) -> Section | None:
        """Return a section of rooms that begins with the block hardest to lay."""
        k = stock.lead(rest, width)
        if k is None:
            return None
        section = Section(float(stock.length[k]))
        self._put(stock, section, k, (0.0, 0.0, section.length, width))
        section.length = _reach(section)
        return section

    def _of_columns(self, stock: Stock, rest: float, width: float) -> Section | None:
        """Return the fullest of some sections that begin with the block hardest to lay."""
        whole = stock.is_left.copy()
        best: tuple[float, Section, NDArray[np.bool_]] | None = None
        tried: set[tuple[int, float]] = set()
        for _ in range(_SECTION_TRIES):
            stock.is_left[:] = whole
            k = stock.lead(rest, width, is_any_way=True)
            if k is None:
                return None
            section = Section(stock.section_length(k, rest))
            if (k, section.length) in tried:
                continue
            tried.add((k, section.length))
            self._put_columns(stock, section, k, width)
            section.length = _reach(section)
            chance = float(self._chance.normal(0.0, _SECTION_NOISE))
            share = section.area / (section.length * width) + chance
            if best is None or share > best[0]:
                best = share, section, stock.is_left.copy()
        assert best is not None
        stock.is_left[:] = best[2]
        return best[1]

    def fill_whole(
        self, stock: Stock, length: float, width: float, *, in_columns: bool
    ) -> Section:
        """Lay what fits best in a room as one section."""
        section = Section(length)
        if in_columns:
            self._put_columns(stock, section, None, width)
        else:
            self._put(stock, section, None, (0.0, 0.0, length, width))
        return section

    def _put_columns(self, stock: Stock, section: Section, k: int | None, width: float) -> None:
        """Fill a section by columns, stacks along the roll; the first begins with ``k``."""
        y = 0.0
        column = stock.column(section.length, width, k)
        while column:
            x = 0.0
            for way in column:
                stock.take(way)
                section.blocks.append((stock.block(way), bool(stock.turned[way]), x, y))
                x += float(stock.length[way])
            y += max(float(stock.width[way]) for way in column)
            column = stock.column(section.length, width - y, None)

    def _put(
        self,
        stock: Stock,
        section: Section,
        k: int | None,
        room: tuple[float, float, float, float],
    ) -> None:
        """Lay way ``k``, or what fits best, in a room, and fill what that leaves of it."""
        rooms = [room]
        first = k
        while rooms:
            x, y, length, width = rooms.pop()
            way = first if first is not None else stock.best(length, width)
            first = None
            if way is None:
                continue
            stock.take(way)
            used_l, used_w = float(stock.length[way]), float(stock.width[way])
            section.blocks.append((stock.block(way), bool(stock.turned[way]), x, y))
            if self._chance.random() < _SLIT_FIRST and (x, y) != (0.0, 0.0):
                rooms.append((x, y + used_w, used_l, width - used_w))
                rooms.append((x + used_l, y, length - used_l, width))
            else:
                rooms.append((x, y + used_w, length, width - used_w))
                rooms.append((x + used_l, y, length - used_l, used_w))


def _reach(section: Section) -> float:
    """Return how far the blocks of a section reach from its start."""
    return max(x + along(block, is_turned=t) for block, t, x, _ in section.blocks)

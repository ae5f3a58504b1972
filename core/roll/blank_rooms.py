"""Blanks laid on odd film so that straight cuts free each of them: the search.

Layouts are built by chance, then parts of the best are built anew over and over; what leaves
less over is kept. ``blank_parts`` builds for cuts that may turn as often as they must,
``blank_slabs`` for such that may turn three times.
"""

import itertools
from collections.abc import Iterator, Sequence
from typing import Protocol, TypeVar

import numpy as np

from core.roll.blank_blocks import Blank, Block, Laid
from core.roll.blank_parts import TreeBuilder
from core.roll.blank_slabs import SlabBuilder
from core.roll.free_rooms import FreeRooms

_FIRST_BUILDS = 6
"""The first that is told is the best of so many built from nothing, at most."""
_FIRST_EFFORT = 150
"""So many blanks are laid for it at most, but all of them once, as it must come at once."""
_FIRST_STEPS = 24
"""With three stages so many steps are made before the first is told, at most."""
_FRESH_SHARE = 0.15
"""How often one is built from nothing later on."""
_FARTHER = 0.01
"""A layout that leaves no more, but reaches so much farther, may still be gone on from."""


def room_layouts(
    blanks: Sequence[Blank], rooms: FreeRooms, stages: int | None, seed: int
) -> Iterator[tuple[Laid, ...] | None]:
    """Yield better and better layouts without end; None where a step found none.

    Each places what it can: less area left over is better, then a shorter reach.

    Args:
        blanks: what is to be laid, at least one.
        rooms: of the sheet; places are told in its frame.
        stages: None for any number of turns of the cuts' direction; else three, once the rooms
            are trimmed out.
        seed: the same blanks and seed give the same layouts.

    Degenerate input: without free film all layouts are empty.
    """
    if not len(rooms.rectangles):
        yield ()
        while True:
            yield None
    chance = np.random.default_rng(seed)
    blocks = [Block(b.length_mm, b.width_mm, b.may_turn, (i,)) for i, b in enumerate(blanks)]
    builds = min(_FIRST_BUILDS, max(1, _FIRST_EFFORT // len(blanks)))
    if stages is None:
        yield from _search(TreeBuilder(blocks, rooms, chance), chance, builds, 0)
    else:
        steps = min(_FIRST_STEPS, 2 * _FIRST_EFFORT // len(blanks))
        yield from _search(SlabBuilder(blocks, rooms, chance), chance, builds, steps)


class _Layout(Protocol):
    @property
    def rank(self) -> tuple[float, float]: ...

    def places(self) -> tuple[Laid, ...]: ...


L = TypeVar("L", bound=_Layout)


class _Builder(Protocol[L]):
    def built(self) -> L: ...

    def rebuilt(self, layout: L, /) -> L: ...


def _search(
    builder: _Builder[L], chance: np.random.Generator, builds: int, first_steps: int
) -> Iterator[tuple[Laid, ...] | None]:
    """Yield places for as long as one cares to wait, the first after some steps."""
    best = builder.built()
    for _ in range(builds - 1):
        best = min(best, builder.built(), key=lambda layout: layout.rank)
    now = best
    if not first_steps:
        yield best.places()
    for step in itertools.count(1):
        found = builder.built() if chance.random() < _FRESH_SHARE else builder.rebuilt(now)
        if found.rank <= (now.rank[0], now.rank[1] * (1 + _FARTHER)):
            now = found
        is_better = found.rank < best.rank
        if is_better:
            best = found
        if step == first_steps or (is_better and step > first_steps):
            yield best.places()
        elif step > first_steps:
            yield None
        if now.rank > (best.rank[0], best.rank[1] * (1 + _FARTHER)):
            now = best

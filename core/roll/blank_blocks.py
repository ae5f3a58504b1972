"""Blanks, and blocks of blanks joined side by side: what the guillotine search moves about.

All is in the frame of the usable film: x along the roll, y across.
"""

from dataclasses import dataclass

HAIR_MM = 1e-6
"""Sides that differ by less are alike."""


@dataclass(frozen=True, slots=True)
class Blank:
    """A rectangle to be laid.

    Attributes:
        length_mm, width_mm: along and across the roll as it lies unturned.
        may_turn: whether a quarter turn is allowed.
    """

    length_mm: float
    width_mm: float
    may_turn: bool


@dataclass(frozen=True, slots=True)
class Laid:
    """Where a blank lies: the corner next to the origin, and whether it took a quarter turn."""

    blank: int
    x_mm: float
    y_mm: float
    is_turned: bool


@dataclass(frozen=True, slots=True)
class Block:
    """A blank, or two blocks joined along or across the roll."""

    length: float
    width: float
    may_turn: bool
    blanks: tuple[int, ...]
    parts: tuple[tuple["Block", bool], ...] = ()
    is_along: bool = False
    waste: float = 0.0


def joined(one: Block, two: Block, turns: tuple[bool, bool], *, is_along: bool) -> Block:
    """Return two blocks side by side, each turned or not, along the roll or across it."""
    turn_one, turn_two = turns
    la, wa = (one.width, one.length) if turn_one else (one.length, one.width)
    lb, wb = (two.width, two.length) if turn_two else (two.length, two.width)
    length = la + lb if is_along else max(la, lb)
    width = max(wa, wb) if is_along else wa + wb
    filled = one.length * one.width + two.length * two.width - one.waste - two.waste
    return Block(
        length,
        width,
        one.may_turn and two.may_turn,
        one.blanks + two.blanks,
        ((one, turn_one), (two, turn_two)),
        is_along,
        length * width - filled,
    )


def block_ways(block: Block) -> list[tuple[float, float, bool]]:
    """Return the ways a block may lie: length, width, and whether it is turned."""
    ways = [(block.length, block.width, False)]
    if block.may_turn:
        ways.append((block.width, block.length, True))
    return ways


def along(block: Block, *, is_turned: bool) -> float:
    """Return how long a block is as it lies."""
    return block.width if is_turned else block.length


def blanks_of(block: Block) -> list[Block]:
    """Return the blanks of a block, each a block of its own."""
    return [b for part, _ in block.parts for b in blanks_of(part)] or [block]


def unfolded(block: Block, x: float, y: float, *, is_turned: bool) -> list[Laid]:
    """Return where the blanks of a block lie when its corner lies at x, y."""
    if not block.parts:
        return [Laid(block.blanks[0], x, y, is_turned)]
    (one, turn_one), (two, turn_two) = block.parts
    # The second part lies beyond the first's length or width, as that is turned in the block.
    shift = one.length if turn_one != block.is_along else one.width
    is_along = block.is_along != is_turned  # a turned block swaps along and across
    dx, dy = (shift, 0.0) if is_along else (0.0, shift)
    return [
        *unfolded(one, x, y, is_turned=turn_one != is_turned),
        *unfolded(two, x + dx, y + dy, is_turned=turn_two != is_turned),
    ]

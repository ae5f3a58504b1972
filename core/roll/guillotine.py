"""Blanks laid so that straight cuts from edge to edge free each of them.

Own search. Blanks (or blocks of them) whose sides match are joined into blocks; what is left
is laid in sections across the roll: the longest block gives a section its length, the rest of
the section is filled by what fits best, and so on in what that leaves. Then some sections are
broken up and built again, over and over, and what is shorter is kept. Joining by matching sides
finds a layout without waste again where there is one; filling makes the best of the others.

All is in the frame of the usable film: x along the roll, y across.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_EPS_MM = 1e-6
_BUILDS = 12
"""How many layouts are built from nothing before sections of the best are built again."""
_LIMITS = (0.0, 0.0, 0.01, 0.03, 0.06, 0.1, 0.2)
"""Share of waste up to which two blocks are joined; one is drawn for each build."""
_NOISES = (0.2, 0.6, 1.2)
_EXACT = 1e-9
"""A joint that wastes no more than this share of itself wastes nothing."""
_FRESH_SHARE = 0.3
"""How often a layout is built from nothing later on: it may find a joint missed before."""
_COLUMN_SHARE = 0.4
"""How often sections are filled by columns, where any number of stages is allowed."""
_SLIT_FIRST = 0.25
"""How often what a block leaves of its room is parted across before it is parted along."""
_STACK_SHARE = 0.3
"""How often a section of columns is as long as a stack of two."""
_LEADS = 12
"""So many blocks are tried as the first of a column."""
_TOLERATED = 0.004
"""A new layout may be this much longer than the one before and still be gone on from."""


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
class _Block:
    """A blank, or two blocks joined along or across the roll."""

    length: float
    width: float
    may_turn: bool
    blanks: tuple[int, ...]
    parts: tuple[tuple["_Block", bool], ...] = ()
    is_along: bool = False
    waste: float = 0.0


@dataclass(slots=True)
class _Section:
    """A stretch of the roll over its whole width, with the blocks that lie in it."""

    length: float
    blocks: list[tuple[_Block, bool, float, float]] = field(default_factory=list)

    @property
    def area(self) -> float:
        """Area of its blocks, without the waste in them."""
        return sum(b.length * b.width - b.waste for b, _, _, _ in self.blocks)


def least_length(blanks: Sequence[Blank], width_mm: float) -> float:
    """Return a length that no layout of the blanks can beat.

    It is the greatest of their area over the width, the longest blank, and the blanks that are
    too wide to lie side by side laid one behind the other.
    """
    area = sum(b.length_mm * b.width_mm for b in blanks)
    longest = alone = 0.0
    for b in blanks:
        ways = [
            (length, width) for length, width, _ in _ways_of(b) if width <= width_mm + _EPS_MM
        ]
        if not ways:
            continue
        least = min(length for length, _ in ways)
        longest = max(longest, least)
        if min(width for _, width in ways) > width_mm / 2 + _EPS_MM:
            alone += least
    return max(area / width_mm if width_mm > 0 else 0.0, longest, alone)


def guillotine_layouts(
    blanks: Sequence[Blank],
    width_mm: float,
    stages: int | None = None,
    seed: int = 1,
    length_mm: float = math.inf,
) -> Iterator[tuple[Laid, ...]]:
    """Yield shorter and shorter layouts of the blanks; an empty tuple means: none yet.

    It goes on until the least length is reached, or the caller walks away. The first layout
    comes at once.

    Args:
        blanks: none wider than the film at all its turns.
        width_mm: of the usable film.
        length_mm: of the usable film; where it does not hold all, what wastes most is left out.
        stages: None for any number of turns of the cuts' direction, else three.
        seed: the same blanks and seed give the same layouts in the same number of steps.
    """
    if not blanks:
        return
    search = _Search(blanks, width_mm, stages, seed)
    bound = least_length(blanks, width_mm)
    best = np.inf
    while True:
        length = search.step()
        if length < best - _EPS_MM:
            best = length
            yield search.laid(length_mm)
        else:
            yield ()
        if best <= bound + _EPS_MM:
            return


def length_of(laid: Sequence[Laid], blanks: Sequence[Blank]) -> float:
    """Return how far a layout reaches."""
    sides = ((s, blanks[s.blank]) for s in laid)
    return max(
        (s.x_mm + (b.width_mm if s.is_turned else b.length_mm) for s, b in sides), default=0.0
    )


def _ways_of(blank: Blank) -> list[tuple[float, float, bool]]:
    ways = [(blank.length_mm, blank.width_mm, False)]
    if blank.may_turn and blank.length_mm != blank.width_mm:
        ways.append((blank.width_mm, blank.length_mm, True))
    return ways


class _Search:
    """The layouts found so far, and the way to the next."""

    def __init__(
        self, blanks: Sequence[Blank], width_mm: float, stages: int | None, seed: int
    ) -> None:
        self._width, self._is_staged = width_mm, stages is not None
        self._chance = np.random.default_rng(seed)
        self._blanks = [
            _Block(b.length_mm, b.width_mm, b.may_turn, (i,)) for i, b in enumerate(blanks)
        ]
        self._steps = 0
        self._now: list[_Section] = []
        self._best: list[_Section] = []
        self._best_length = np.inf

    def step(self) -> float:
        """Build once, and return the length of what was built."""
        self._steps += 1
        if self._steps <= _BUILDS:
            found = self._build(self._blanks, 0.0 if self._steps == 1 else None)
            if self._steps == 1 or _length(found) < _length(self._now):
                self._now = found
        elif self._chance.random() < _FRESH_SHARE:
            found = self._build(self._blanks, 0.0)
            if _length(found) < _length(self._now):
                self._now = found
        else:
            self._now = self._rebuilt(self._now)
        length = _length(self._now)
        if length < self._best_length - _EPS_MM:
            self._best, self._best_length = self._now, length
        elif length > self._best_length * (1 + 4 * _TOLERATED):
            self._now = self._best
        return length

    def laid(self, length_mm: float) -> tuple[Laid, ...]:
        """Return the best layout, or of it what goes on a film of that length."""
        found: list[Laid] = []
        x = 0.0
        out: list[_Block] = []
        for section in sorted(self._best, key=lambda s: -s.area / s.length):
            if x + section.length > length_mm + _EPS_MM:
                out += [b for block, _, _, _ in section.blocks for b in _blanks_of(block)]
                continue
            for block, is_turned, dx, dy in section.blocks:
                found += _unfolded(block, x + dx, dy, is_turned=is_turned)
            x += section.length
        if out:
            rest = _Section(length_mm - x)
            stock = _Stock(out, self._width, self._chance, 0.0)
            if self._is_staged:
                self._put_columns(stock, rest, None)
            else:
                self._put(stock, rest, None, (0.0, 0.0, rest.length, self._width))
            for block, is_turned, dx, dy in rest.blocks:
                found += _unfolded(block, x + dx, dy, is_turned=is_turned)
        return tuple(found)

    def _rebuilt(self, sections: list[_Section]) -> list[_Section]:
        """Return the layout with a few sections, wasteful ones for choice, built again."""
        chance = self._chance
        waste = np.array([s.length * self._width - s.area for s in sections]) + _EPS_MM
        count = min(len(sections), int(chance.integers(1, 5)))
        chosen = chance.choice(len(sections), count, replace=False, p=waste / waste.sum())
        out = {int(i) for i in chosen}
        blocks: list[_Block] = []
        is_whole = chance.random() < 0.5
        for i in sorted(out):
            for block, _, _, _ in sections[i].blocks:
                if is_whole and block.waste <= _EPS_MM:
                    blocks.append(block)
                else:
                    blocks += self._broken(block)
        new = self._build(blocks, None)
        old_length = sum(sections[i].length for i in out)
        total = _length(sections)
        tolerated = total * _TOLERATED * chance.random() ** 3
        if _length(new) > old_length + tolerated:
            return sections
        return [*(s for i, s in enumerate(sections) if i not in out), *new]

    def _broken(self, block: _Block) -> list[_Block]:
        """Return a block's parts without waste, or all its blanks."""
        if not block.parts:
            return [block]
        if block.waste <= _EPS_MM and self._chance.random() < 0.5:
            return [block]
        return [b for part, _ in block.parts for b in self._broken(part)]

    def _build(self, blocks: Sequence[_Block], limit: float | None) -> list[_Section]:
        chance = self._chance
        share = float(chance.choice(_LIMITS)) if limit is None else limit
        noise = float(chance.choice(_NOISES))
        joined = _Joining(blocks, self._width, chance, noise, is_staged=self._is_staged)
        return self._fill(joined.run(share), noise)

    def _fill(self, blocks: list[_Block], noise: float) -> list[_Section]:
        """Lay blocks in sections, the longest first, filling up each section by what fits."""
        stock = _Stock(blocks, self._width, self._chance, noise)
        in_columns = self._is_staged or self._chance.random() < _COLUMN_SHARE
        sections = []
        while stock.is_left.any():
            k = stock.longest()
            section = _Section(float(stock.length[k]))
            if in_columns:
                section.length = stock.section_length(k)
                self._put_columns(stock, section, k)
            else:
                self._put(stock, section, k, (0.0, 0.0, section.length, self._width))
            section.length = max(x + _along(b, t) for b, t, x, _ in section.blocks)
            sections.append(section)
        return sections

    def _put_columns(self, stock: "_Stock", section: _Section, k: int | None) -> None:
        """Fill a section by columns, stacks along the roll; the first begins with ``k``."""
        y = 0.0
        column = stock.column(section.length, self._width, k)
        while column:
            x = 0.0
            for way in column:
                stock.take(way)
                section.blocks.append((stock.block(way), bool(stock.turned[way]), x, y))
                x += float(stock.length[way])
            y += max(float(stock.width[way]) for way in column)
            column = stock.column(section.length, self._width - y, None)

    def _put(
        self,
        stock: "_Stock",
        section: _Section,
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


class _Stock:
    """Blocks waiting to be laid, each in the ways it may lie."""

    def __init__(
        self,
        blocks: list[_Block],
        width: float,
        chance: np.random.Generator,
        noise: float,
    ) -> None:
        self._blocks = blocks
        ways = [
            (k, length, across, turned)
            for k, b in enumerate(blocks)
            for length, across, turned in _block_ways(b)
            if across <= width + _EPS_MM
        ]
        self.owner = np.array([w[0] for w in ways], dtype=np.int64)
        self.length = np.array([w[1] for w in ways])
        self.width = np.array([w[2] for w in ways])
        self.turned = np.array([w[3] for w in ways], dtype=bool)
        self.is_left = np.ones(len(ways), dtype=bool)
        self._area = self.length * self.width
        self._spread = np.exp(chance.normal(0.0, noise * 0.3, len(ways)))
        # Of the ways of one block the one that a section is begun with is drawn by chance.
        is_flat = chance.random() < 0.5
        self._by_length = chance.random() < 0.5
        self._first = np.where(is_flat, -self.length, self.length) * self._spread
        self._chance = chance
        self._plain = self.length.tolist(), self.width.tolist(), self.owner.tolist()

    def block(self, way: int) -> _Block:
        """Return the block that lies so."""
        return self._blocks[int(self.owner[way])]

    def longest(self) -> int:
        """Return the way to begin a section with: of the block hardest to lay."""
        least = np.where(self.is_left, np.minimum(self.length, self.width), -1.0)
        sides = self.length if self._by_length else np.maximum(self.length, self.width)
        most = np.where(self.is_left, sides * self._spread, -1.0)
        owner = self.owner[int(np.argmax(most + 1e-3 * least))]
        ways = np.flatnonzero((self.owner == owner) & self.is_left)
        return int(ways[np.argmax(self._first[ways])])

    def best(self, length: float, width: float) -> int | None:
        """Return the way that fits a room best: a side that matches counts most, then area."""
        fits = self.is_left & (self.length <= length + _EPS_MM)
        fits &= self.width <= width + _EPS_MM
        found = np.flatnonzero(fits)
        if not len(found):
            return None
        slack_l, slack_w = length - self.length[found], width - self.width[found]
        waste = np.minimum(slack_l / length, slack_w / width)
        score = (1.0 - waste) * (self._area[found] * self._spread[found]) ** 0.5
        score += (waste <= _EPS_MM / length) * length * 0.5
        return int(found[np.argmax(score)])

    def section_length(self, k: int) -> float:
        """Return how long a section that begins with ``k`` is: as it, or as a stack of two."""
        own = float(self.length[k])
        if self._chance.random() > _STACK_SHARE:
            return own
        others = np.flatnonzero(self.is_left & (self.owner != self.owner[k]))
        if not len(others):
            return own
        return own + float(self.length[int(self._chance.choice(others))])

    def column(self, length: float, width: float, lead: int | None) -> list[int]:
        """Return ways stacked along the roll that fill a column of a section best, or none."""
        fits = self.is_left & (self.length <= length + _EPS_MM)
        fits &= self.width <= width + _EPS_MM
        found = np.flatnonzero(fits)
        if not len(found):
            return []
        ranked = found[np.argsort(-self.width[found] - 1e-3 * self.length[found])].tolist()
        narrowest = float(self.width[ranked[-1]])
        leads = [lead] if lead is not None else self._leads(found)
        best: tuple[float, list[int]] = (-1.0, [])
        for k in leads:
            ways, area = self._stacked(k, ranked, length)
            across = float(self.width[k])
            rest = width - across
            # What is too narrow for anything is lost with this column.
            lost = rest if rest < narrowest else 0.0
            share = area / (length * (across + lost)) * float(self._spread[k])
            if share > best[0]:
                best = share, ways
        return best[1]

    def _leads(self, found: NDArray[np.int64]) -> list[int]:
        """Return some ways to begin a column with, the large ones for choice."""
        weights = self._area[found] / self._area[found].sum()
        count = min(len(found), _LEADS)
        return [int(k) for k in self._chance.choice(found, count, replace=False, p=weights)]

    def _stacked(self, lead: int, ranked: list[int], length: float) -> tuple[list[int], float]:
        """Return a lead with what fits behind it in its width, and their area."""
        ways, owners = [lead], {int(self.owner[lead])}
        rest = length - float(self.length[lead])
        area = float(self._area[lead])
        widest = float(self.width[lead]) + _EPS_MM
        lengths, widths, who = self._plain
        for k in ranked:
            if lengths[k] <= rest + _EPS_MM and widths[k] <= widest and who[k] not in owners:
                ways.append(k)
                owners.add(who[k])
                rest -= lengths[k]
                area += lengths[k] * widths[k]
        return ways, area

    def take(self, way: int) -> None:
        """Take a block, in all its ways."""
        self.is_left[self.owner == self.owner[way]] = False


class _Joining:
    """Blocks joined two by two, those that waste least first."""

    def __init__(
        self,
        blocks: Sequence[_Block],
        width: float,
        chance: np.random.Generator,
        noise: float,
        *,
        is_staged: bool,
    ) -> None:
        self._width, self._is_staged = width, is_staged
        count = len(blocks)
        self._blocks: list[_Block | None] = list(blocks)
        self._length = np.array([v for b in blocks for v in (b.length, b.width)])
        self._across = np.array([v for b in blocks for v in (b.width, b.length)])
        self._turns = np.repeat([b.may_turn for b in blocks], 2)
        self._is_real = np.array([v for b in blocks for v in (True, b.may_turn)])
        self._noise = np.exp(chance.normal(0.0, noise, (2 * count, 2 * count)))
        # A joint along is a turned joint across when all may turn; else both are looked at.
        self._needs_along = is_staged or not all(b.may_turn for b in blocks)
        rows = np.arange(2 * count)
        self._across_score = self._scores(rows, is_along=False)
        self._along_score = self._scores(rows, is_along=True) if self._needs_along else None
        if is_staged:
            self._across_score[:] = np.inf

    def run(self, limit: float) -> list[_Block]:
        """Join until every joint would waste more than the share given."""
        while True:
            scores = [s for s in (self._across_score, self._along_score) if s is not None]
            at = [int(np.argmin(s)) for s in scores]
            least = [float(s.flat[i]) for s, i in zip(scores, at, strict=True)]
            which = int(np.argmin(least))
            if not least[which] <= limit + _EXACT:
                return [b for b in self._blocks if b is not None]
            if least[which] <= _EXACT:
                sure = [self._surest(s) for s in scores]
                which = int(np.argmin([doubt for doubt, _ in sure]))
                at[which] = sure[which][1]
            a, b = divmod(at[which], len(self._length))
            self._join(a, b, is_along=scores[which] is self._along_score)

    def _surest(self, scores: Floats) -> tuple[float, int]:
        """Return the joint without waste that matches the fewest others, and that doubt."""
        a, b = np.nonzero(scores <= _EXACT)
        if not len(a):
            return np.inf, 0
        counts = np.bincount(np.concatenate((a, b)), minlength=len(scores))
        doubt = (counts[a] + counts[b]) * self._noise[a, b]
        k = int(np.argmin(doubt))
        return float(doubt[k]), int(a[k]) * len(scores) + int(b[k])

    def _scores(self, rows: NDArray[np.int64], *, is_along: bool) -> Floats:
        """Return the share of waste of joining each of some ways with every other."""
        la, lb = self._length[rows][:, None], self._length[None, :]
        wa, wb = self._across[rows][:, None], self._across[None, :]
        own, other = rows[:, None] // 2, np.arange(len(self._length))[None, :] // 2
        if is_along:
            length, across = la + lb, np.maximum(wa, wb)
            waste = np.where(wa < wb, (wb - wa) * la, (wa - wb) * lb)
        else:
            length, across = np.maximum(la, lb), wa + wb
            waste = np.where(la < lb, (lb - la) * wa, (la - lb) * wb)
        fits = across <= self._width + _EPS_MM
        if not self._is_staged:
            turns = self._turns[rows][:, None] & self._turns[None, :]
            fits |= turns & (length <= self._width + _EPS_MM)
        is_real = self._is_real[rows][:, None] & self._is_real[None, :]
        share = waste / (length * across) * self._noise[rows]
        found: Floats = np.where(fits & is_real & (own != other), share, np.inf)
        return found

    def _join(self, a: int, b: int, *, is_along: bool) -> None:
        one, two = self._blocks[a // 2], self._blocks[b // 2]
        assert one is not None
        assert two is not None
        block = _joined(one, two, (bool(a % 2), bool(b % 2)), is_along=is_along)
        if self._is_staged:
            block = replace(block, may_turn=False)  # a turned stack would take a stage more
        keep, gone = a // 2 * 2, b // 2 * 2
        self._blocks[a // 2], self._blocks[b // 2] = block, None
        self._length[keep : keep + 2] = block.length, block.width
        self._across[keep : keep + 2] = block.width, block.length
        self._turns[keep : keep + 2] = block.may_turn
        self._is_real[keep : keep + 2] = True, block.may_turn
        self._is_real[gone : gone + 2] = False
        rows = np.array([keep, keep + 1])
        for scores, along in ((self._across_score, False), (self._along_score, True)):
            if scores is None:
                continue
            if not (self._is_staged and not along):
                new = self._scores(rows, is_along=along)
                scores[rows], scores[:, rows] = new, new.T
            scores[gone : gone + 2] = scores[:, gone : gone + 2] = np.inf


def _joined(one: _Block, two: _Block, turns: tuple[bool, bool], *, is_along: bool) -> _Block:
    turn_one, turn_two = turns
    la, wa = (one.width, one.length) if turn_one else (one.length, one.width)
    lb, wb = (two.width, two.length) if turn_two else (two.length, two.width)
    length = la + lb if is_along else max(la, lb)
    width = max(wa, wb) if is_along else wa + wb
    filled = one.length * one.width + two.length * two.width - one.waste - two.waste
    return _Block(
        length,
        width,
        one.may_turn and two.may_turn,
        one.blanks + two.blanks,
        ((one, turn_one), (two, turn_two)),
        is_along,
        length * width - filled,
    )


def _block_ways(block: _Block) -> list[tuple[float, float, bool]]:
    ways = [(block.length, block.width, False)]
    if block.may_turn:
        ways.append((block.width, block.length, True))
    return ways


def _along(block: _Block, is_turned: bool) -> float:  # noqa: FBT001 - as it is laid
    return block.width if is_turned else block.length


def _blanks_of(block: _Block) -> list[_Block]:
    """Return the blanks of a block, each a block of its own."""
    return [b for part, _ in block.parts for b in _blanks_of(part)] or [block]


def _unfolded(block: _Block, x: float, y: float, *, is_turned: bool) -> list[Laid]:
    """Return where the blanks of a block lie when its corner lies at x, y."""
    if not block.parts:
        return [Laid(block.blanks[0], x, y, is_turned)]
    (one, turn_one), (two, turn_two) = block.parts
    # The second part lies beyond the first's length or width, as that is turned in the block.
    shift = one.length if turn_one != block.is_along else one.width
    is_along = block.is_along != is_turned  # a turned block swaps along and across
    dx, dy = (shift, 0.0) if is_along else (0.0, shift)
    return [
        *_unfolded(one, x, y, is_turned=turn_one != is_turned),
        *_unfolded(two, x + dx, y + dy, is_turned=turn_two != is_turned),
    ]


def _length(sections: Sequence[_Section]) -> float:
    return sum(s.length for s in sections)

"""Strokes joined end to end into closed loops; what stays open is told.

Ends that lie within the join tolerance are joined in the order of their distance, each end
once. A gap that can be seen is closed in its middle and reported.
"""

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from core.progress import Progress, stop_if_cancelled
from core.read.strokes import Segment
from core.tolerance import JOIN_MM

STRAIGHT_MM = 1e-3
"""Nodes this near to the straight line between their neighbours are left out."""
MAX_STRAIGHT = 64
_CHECK_EVERY = 500
_WORTHLESS_MM2 = 1e-6


@dataclass(frozen=True, slots=True)
class Run:
    """A stroke in millimetres.

    Attributes:
        order: its place in the file.
        is_closed: the file closes it.
        is_filled: the file fills it, so that a picture shows it closed.
    """

    segments: tuple[Segment, ...]
    layer: str
    name: str
    order: int
    is_closed: bool
    is_filled: bool

    @property
    def ends(self) -> tuple[complex, complex]:
        """Where it starts and ends."""
        return self.segments[0].start, self.segments[-1].end


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed outline; the last segment ends where the first starts."""

    segments: tuple[Segment, ...]
    layer: str
    name: str
    order: int


@dataclass(frozen=True, slots=True)
class Chain:
    """What could not be closed.

    Attributes:
        gap_mm: between its two ends.
        at: one of its ends.
    """

    gap_mm: float
    at: complex
    count: int


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap that was closed."""

    gap_mm: float
    at: complex
    layer: str


@dataclass(frozen=True, slots=True)
class Joined:
    """What became of the strokes."""

    loops: tuple[Loop, ...]
    open_chains: tuple[Chain, ...]
    gaps: tuple[Gap, ...]
    doubled: int
    closed_by_fill: int


def join(runs: list[Run], tolerance_mm: float, progress: Progress) -> Joined:
    """Join runs into loops.

    Layers are joined each by itself: lines of two layers that touch belong to two drawings.

    Degenerate input: a run drawn twice counts once; a run shorter than the tolerance whose own
    ends meet is left to its neighbours.
    """
    loops, chains, gaps = [], [], []
    doubled = by_fill = 0
    layers: dict[str, list[Run]] = defaultdict(list)
    for run in runs:
        layers[run.layer].append(run)
    for layer_runs in layers.values():
        single, twice = _without_doubles(layer_runs)
        doubled += twice
        loose = [run for run in single if not run.is_closed]
        loops += [_loop([run.segments], run) for run in single if run.is_closed]
        for chain in _chains(loose, tolerance_mm, progress):
            gaps += chain.gaps
            if chain.is_closed:
                loops.append(_loop(chain.pieces, chain.first))
            elif len(chain.pieces) == 1 and chain.first.is_filled and _has_area(chain.first):
                by_fill += 1
                loops.append(_loop(chain.pieces, chain.first))
            else:
                chains.append(chain.left_open())
    loops.sort(key=lambda loop: loop.order)
    return Joined(tuple(loops), tuple(chains), tuple(gaps), doubled, by_fill)


def _has_area(run: Run) -> bool:
    points = [s.start for s in run.segments] + [run.segments[-1].end]
    turned = sum((a.conjugate() * b).imag for a, b in pairwise([*points, points[0]]))
    return abs(turned) > _WORTHLESS_MM2 or any(s.is_curve for s in run.segments)


def _without_doubles(runs: list[Run]) -> tuple[list[Run], int]:
    """Drop runs that lie on another one, drawn the same way or back."""
    seen: set[tuple[tuple[float, float], ...]] = set()
    kept = []
    for run in runs:
        forth = _fingerprint(run.segments)
        back = _fingerprint(tuple(s.reversed() for s in reversed(run.segments)))
        if forth in seen:
            continue
        seen |= {forth, back}
        kept.append(run)
    return kept, len(runs) - len(kept)


def _fingerprint(segments: tuple[Segment, ...]) -> tuple[tuple[float, float], ...]:
    points = [segments[0].start]
    for s in segments:
        points += [p for p in (s.first, s.second, s.end) if p is not None]
    return tuple((round(p.real, 3) + 0.0, round(p.imag, 3) + 0.0) for p in points)


@dataclass(slots=True)
class _Chain:
    first: Run
    pieces: list[tuple[Segment, ...]]
    gaps: list[Gap]
    is_closed: bool

    def left_open(self) -> Chain:
        start, end = self.pieces[0][0].start, self.pieces[-1][-1].end
        return Chain(abs(end - start), end, len(self.pieces))


def _chains(runs: list[Run], tolerance_mm: float, progress: Progress) -> Iterator[_Chain]:
    """Yield the runs strung together, each once."""
    partner = _partners(runs, tolerance_mm, progress)
    done: set[int] = set()
    # Chains with a loose end are walked from it; what is left then goes round.
    loose = [i for i in range(2 * len(runs)) if i not in partner]
    for start in (*loose, *range(0, 2 * len(runs), 2)):
        if start // 2 not in done:
            yield _walk(runs, partner, start, done)


def _walk(runs: list[Run], partner: dict[int, int], start: int, done: set[int]) -> _Chain:
    """String runs together from an end: end 2i is the start of run i, 2i + 1 its end."""
    chain = _Chain(runs[start // 2], [], [], is_closed=False)
    here = start
    while True:
        run = runs[here // 2]
        done.add(here // 2)
        piece = run.segments
        if here % 2:
            piece = tuple(s.reversed() for s in reversed(piece))
        chain.pieces.append(piece)
        following = partner.get(here ^ 1)
        if following is None:
            return chain
        a, b = run.ends[1 - here % 2], runs[following // 2].ends[following % 2]
        if abs(a - b) > JOIN_MM:
            chain.gaps.append(Gap(abs(a - b), (a + b) / 2, run.layer))
        if following == start:
            chain.is_closed = True
            return chain
        here = following


def _partners(runs: list[Run], tolerance_mm: float, progress: Progress) -> dict[int, int]:
    """Return for each end the one that it is joined to."""
    ends = [end for run in runs for end in run.ends]
    pairs = []
    for count, (i, j) in enumerate(_near(ends, tolerance_mm)):
        if count % _CHECK_EVERY == 0:
            stop_if_cancelled(progress)
        gap = abs(ends[i] - ends[j])
        if gap <= tolerance_mm and not (i ^ 1 == j and _is_short(runs[i // 2], tolerance_mm)):
            # The two ends of one run come last: it closes only what nothing else goes on from.
            pairs.append((round(gap, 6), i ^ 1 == j, i, j))
    partner: dict[int, int] = {}
    for _, _, i, j in sorted(pairs):
        if i not in partner and j not in partner:
            partner[i], partner[j] = j, i
    return partner


def _is_short(run: Run, tolerance_mm: float) -> bool:
    length = sum(abs(s.end - s.start) for s in run.segments)
    return length <= 2 * tolerance_mm


def _near(ends: list[complex], tolerance_mm: float) -> Iterator[tuple[int, int]]:
    """Yield pairs of ends that may be within the tolerance, each once."""
    side = max(tolerance_mm, JOIN_MM)
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i, end in enumerate(ends):
        x, y = math.floor(end.real / side), math.floor(end.imag / side)
        for near_x in (x - 1, x, x + 1):
            for near_y in (y - 1, y, y + 1):
                for j in cells.get((near_x, near_y), ())[:MAX_STRAIGHT]:
                    yield j, i
        cells[x, y].append(i)


def _loop(pieces: list[tuple[Segment, ...]], run: Run) -> Loop:
    """Return the pieces as one loop, gaps closed in their middle."""
    joined: list[Segment] = []
    for piece in pieces:
        joined += _met(joined, piece)
    first, last = joined[0], joined[-1]
    gap = abs(last.end - first.start)
    if gap > 0:
        is_bridged = (
            len(pieces) == 1 and gap > 10 * JOIN_MM and (run.is_closed or run.is_filled)
        )
        if is_bridged:
            joined.append(Segment(last.end, None, None, first.start))
        else:
            middle = (last.end + first.start) / 2
            joined[-1] = _with_end(joined[-1], middle)
            joined[0] = _with_start(joined[0], middle)
    return Loop(tuple(without_straight_nodes(joined)), run.layer, run.name, run.order)


def _met(joined: list[Segment], piece: tuple[Segment, ...]) -> tuple[Segment, ...]:
    """Make the last end and the start of the next piece meet in their middle."""
    if not joined or joined[-1].end == piece[0].start:
        return piece
    middle = (joined[-1].end + piece[0].start) / 2
    joined[-1] = _with_end(joined[-1], middle)
    return (_with_start(piece[0], middle), *piece[1:])


def _with_end(s: Segment, end: complex) -> Segment:
    second = None if s.second is None else s.second + end - s.end
    return Segment(s.start, s.first, second, end)


def _with_start(s: Segment, start: complex) -> Segment:
    first = None if s.first is None else s.first + start - s.start
    return Segment(start, first, s.second, s.end)


def without_straight_nodes(segments: list[Segment]) -> list[Segment]:
    """Join straight segments that run on in one line, within a thousandth of a millimetre."""
    kept: list[Segment] = []
    between: list[complex] = []
    for s in segments:
        last = kept[-1] if kept else None
        if (
            last is not None
            and not s.is_curve
            and not last.is_curve
            and len(between) < MAX_STRAIGHT
            and all(_is_on(p, last.start, s.end) for p in (*between, last.end))
        ):
            between.append(last.end)
            kept[-1] = Segment(last.start, None, None, s.end)
        else:
            between = []
            kept.append(s)
    first, last = kept[0], kept[-1]
    if (
        len(kept) > 3
        and not first.is_curve
        and not last.is_curve
        and _is_on(first.start, last.start, first.end)
    ):
        kept = [Segment(last.start, None, None, first.end), *kept[1:-1]]
    return kept


def _is_on(p: complex, a: complex, b: complex) -> bool:
    """Return whether p lies on the way from a to b."""
    along = b - a
    if abs(along) < 1e-9:
        return False
    offset = (p - a) / along
    return 0 <= offset.real <= 1 and abs(offset.imag) * abs(along) <= STRAIGHT_MM

"""How the pieces on a sheet are cut free with a straight edge: cross-cuts and slits, in order.

Each piece counts as the rectangle around it. A cut runs from edge to edge of the part of film
in hand: a *cross-cut* across the roll, a *slit* along it. The film is parted again and again
at straight lanes that no rectangle blocks, until each rectangle is by itself; broad waste at
its sides is trimmed off on the way, so that an offcut of any outline becomes rectangles. Cuts
stand at whole millimetres where their lane lets them, measured on the part in hand, from its
left end (cross-cuts) or its lower edge (slits): from an edge that is there. Where no lane parts
two rectangles, that part cannot be cut edge to edge; it is named, not forced.

One *slab* after the other is cut off the sheet and its pieces are freed. Cuts that serve
retakes alone come last of all: they are made only when a piece has failed.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from shapely import box

from core.ids import PieceId
from core.roll.model import Placement, Sheet, SheetPlan

SLACK_MM = 2.5
"""Kept beside a rectangle where the lane is wide, as a knife wanders (common practice)."""
KEEP_MM = 15.0
"""Surplus up to this stays on; more is trimmed off."""
_TOUCH_MM = 1e-6

Rectangle = tuple[float, float, float, float]
"""Lower left corner, then upper right one."""


class Knife(StrEnum):
    """Which way a cut runs."""

    CROSS_CUT = "cross-cut"
    SLIT = "slit"


@dataclass(frozen=True, slots=True)
class Blank:
    """A rectangle to be cut free: a blank, or a pre-cut piece's (then ``is_blank`` is not)."""

    piece: PieceId
    attempt: int
    label: str
    rectangle: Rectangle
    is_blank: bool = False

    @property
    def is_retake(self) -> bool:
        """Whether it is cut only when a first try has failed."""
        return self.attempt > 1


@dataclass(frozen=True, slots=True)
class KnifeCut:
    """One straight cut.

    Attributes:
        number: its place in the sequence, from 1.
        part: the part of film in hand: "" for the whole sheet, else its number ("2", "2.1").
        at_mm: from the left end (cross-cut) or lower edge (slit) of that part as it is in hand.
        start, end: on the sheet.
        frees: labels of the pieces that are by themselves, at their size, after it.
        is_trim: whether it cuts off nothing but waste.
        slab: which of the parts of the whole sheet it cuts off, or works on, from 1.
        is_for_retakes: whether no piece of the job needs it.
    """

    number: int
    knife: Knife
    part: str
    at_mm: float
    start: tuple[float, float]
    end: tuple[float, float]
    frees: tuple[str, ...]
    is_trim: bool = False
    slab: int = 1
    is_for_retakes: bool = False


@dataclass(frozen=True, slots=True)
class CutSequence:
    """All cuts of a sheet.

    Attributes:
        parts: the parts of film that are cut on, by number, with where they lie on the sheet.
        stuck: groups that no straight cut from edge to edge parts.
    """

    cuts: tuple[KnifeCut, ...]
    blanks: tuple[Blank, ...]
    parts: tuple[tuple[str, Rectangle], ...]
    stuck: tuple[tuple[Blank, ...], ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of film in hand, with the rectangles on it.

    Attributes:
        after: position of the cut that gave it; None for the whole sheet.
        slab: as a cut's.
    """

    name: str
    area: Rectangle
    blanks: tuple[Blank, ...]
    after: int | None = None
    slab: int = 1

    @property
    def is_for_retakes(self) -> bool:
        """Whether no piece of the job lies on it."""
        return all(blank.is_retake for blank in self.blanks)


@dataclass(frozen=True, slots=True)
class _Lane:
    """Where to cut: the rectangles before it, none of them where only waste is cut off."""

    before: tuple[Blank, ...]
    at: float


def cut_sequence(sheet: SheetPlan) -> CutSequence:
    """Return how a sheet's pieces are cut free, from its free end on.

    Degenerate input: an empty sheet has no cuts.
    """
    blanks = tuple(_blank(p) for p in sheet.placements)
    if not blanks:
        return CutSequence((), (), (), ())
    length = sheet.sheet.length_mm or sheet.used_length_mm
    taken = max(sheet.used_length_mm, *(b.rectangle[2] for b in blanks))
    area = (0.0, 0.0, max(length, taken), sheet.sheet.width_mm)
    bench = _Bench(sheet.sheet)
    bench.free(_Part("", bench.on_film(area), blanks), 0)
    return CutSequence(bench.in_order(), blanks, tuple(bench.parts), tuple(bench.stuck))


def _blank(placement: Placement) -> Blank:
    item = placement.item
    label = item.label + (f", retake {item.attempt - 1}" if item.attempt > 1 else "")
    return Blank(item.piece, item.attempt, label, placement.polygon.bounds, item.is_blank)


class _Bench:
    """Collects cuts while the film is parted."""

    def __init__(self, sheet: Sheet) -> None:
        self._film = sheet.outline
        self._is_roll = sheet.kind == "roll"
        self.cuts: list[KnifeCut] = []
        self.parts: list[tuple[str, Rectangle]] = []
        self.stuck: list[tuple[Blank, ...]] = []

    def in_order(self) -> tuple[KnifeCut, ...]:
        """Return the cuts as they are made: the job's first, slab by slab."""
        made = sorted(self.cuts, key=lambda c: (c.is_for_retakes, c.slab, c.number))
        return tuple(replace(cut, number=number) for number, cut in enumerate(made, 1))

    def on_film(self, area: Rectangle) -> Rectangle:
        """Return how far there is film in an area: its edges are what can be measured from."""
        if self._film is None:
            return area
        film = self._film.intersection(box(*area))
        return area if film.is_empty else film.bounds

    def free(self, part: _Part, first_axis: int) -> None:
        """Cut a part of film into its rectangles.

        Args:
            part: what is in hand.
            first_axis: 0 tries cross-cuts first, 1 slits.
        """
        for axis in (first_axis, 1 - first_axis):
            lanes = list(_lanes(part, axis))
            if lanes:
                if part.name:
                    self.parts.append((part.name, part.area))
                self._along(part, axis, lanes)
                return
        labels = tuple(b.label for b in part.blanks)
        if len(labels) > 1:
            self.stuck.append(part.blanks)
        elif part.after is not None:
            cut = self.cuts[part.after]
            self.cuts[part.after] = replace(cut, frees=(*cut.frees, *labels))

    def _along(self, part: _Part, axis: int, lanes: list[_Lane]) -> None:
        """Make all cuts of one direction, then go on with each part that they give."""
        rest = part.area
        parts: list[tuple[Rectangle, tuple[Blank, ...]]] = []
        first = len(self.cuts)
        done = {blank for lane in lanes for blank in lane.before}
        # What is cut off a roll behind all blanks is no waste.
        is_rest = not part.name and axis == 0 and self._is_roll
        behind = tuple(b for b in part.blanks if b not in done)
        slab = 1
        for i, lane in enumerate(lanes):
            is_last = lane is lanes[-1] and not behind and not is_rest
            after = [b for other in lanes[i:] for b in other.before] + list(behind)
            in_hand = replace(part, blanks=tuple(after), slab=part.slab if part.name else slab)
            self._cut(in_hand, axis, rest, lane.at, is_trim=not lane.before or is_last)
            near, rest = (self.on_film(a) for a in _split(rest, axis, lane.at))
            parts.append((near, lane.before))
            slab += bool(lane.before)
        parts.append((rest, behind))
        filled = [(i, area, blanks) for i, (area, blanks) in enumerate(parts) if blanks]
        for number, (i, area, blanks) in enumerate(filled, 1):
            name = f"{part.name}.{number}" if part.name else str(number)
            after_cut = first + min(i, len(lanes) - 1)
            slab = part.slab if part.name else number
            self.free(_Part(name, area, blanks, after_cut, slab), 1 - axis)

    def _cut(
        self, part: _Part, axis: int, area: Rectangle, at: float, *, is_trim: bool
    ) -> None:
        x0, y0, x1, y1 = area
        knife = Knife.CROSS_CUT if axis == 0 else Knife.SLIT
        start, end = ((at, y0), (at, y1)) if axis == 0 else ((x0, at), (x1, at))
        cut = KnifeCut(
            len(self.cuts) + 1,
            knife,
            part.name,
            at - area[axis],
            start,
            end,
            (),
            is_trim,
            part.slab,
            part.is_for_retakes,
        )
        self.cuts.append(cut)


def _lanes(part: _Part, axis: int) -> Iterator[_Lane]:
    """Yield where film is cut along an axis, from low to high: waste, then between groups.

    Each cut is at a whole millimetre from the one before where its lane lets it.
    """
    low, high = axis, axis + 2
    ranked = sorted(part.blanks, key=lambda b: (b.rectangle[low], b.rectangle[high], b.label))
    start, base = ranked[0].rectangle[low], part.area[low]
    if start - base > KEEP_MM:
        base += math.floor(start - SLACK_MM - base)
        yield _Lane((), base)
    group: list[Blank] = []
    reach = start
    for blank in ranked:
        start = blank.rectangle[low]
        if group and start >= reach - _TOUCH_MM:
            base += _between(reach - base, start - base)
            yield _Lane(tuple(group), base)
            group = []
        group.append(blank)
        reach = max(reach, blank.rectangle[high])
    if part.area[high] - reach > KEEP_MM:
        yield _Lane(tuple(group), base + math.ceil(reach + SLACK_MM - base))


def _between(reach: float, start: float) -> float:
    """Return where a lane is cut: at a whole millimetre near its first side, if it has one."""
    at = reach + min(SLACK_MM, max(start - reach, 0.0) / 2)
    whole = float(round(at))
    return whole if reach <= whole <= start else at


def _split(area: Rectangle, axis: int, at: float) -> tuple[Rectangle, Rectangle]:
    x0, y0, x1, y1 = area
    if axis == 0:
        return (x0, y0, at, y1), (at, y0, x1, y1)
    return (x0, y0, x1, at), (x0, at, x1, y1)

"""What of a sheet stands on which page of hand cutting: the job first, then its retakes.

A page shows a stretch of the sheet: the slabs that are cut off one after the other. Where
the whole would be too small to read, the slabs are shared among pages.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from core.document.job import Job, Units
from core.roll.cut_sequence import Blank, CutSequence, Knife, KnifeCut
from core.roll.model import SheetPlan
from core.write.cut_sheets import sheet_frame


@dataclass(frozen=True, slots=True)
class Stretch:
    """One page's share of a sheet.

    Attributes:
        cuts: those that are told on the page.
        slabs: numbers of the slabs that are worked on.
        span: from where to where along the sheet the picture reaches.
        is_for_retakes: whether only retakes are cut here.
    """

    sheet: SheetPlan
    sequence: CutSequence
    job: Job
    title: str
    cuts: tuple[KnifeCut, ...]
    slabs: tuple[int, ...]
    span: tuple[float, float]
    is_for_retakes: bool = False

    @property
    def units(self) -> Units:
        """What lengths are shown in."""
        return self.job.units

    @property
    def size(self) -> tuple[float, float]:
        """Along the sheet and across, mm."""
        return self.span[1] - self.span[0], self.sheet.sheet.width_mm


def stretches_of(
    sheet: SheetPlan, sequence: CutSequence, job: Job, title: str
) -> tuple[Stretch, ...]:
    """Return the stretch of the job, then that of its retakes, each if there is any."""
    spans = _slab_spans(sheet, sequence)
    found = []
    for is_for_retakes in (False, True):
        blanks = [b for b in sequence.blanks if b.is_retake == is_for_retakes]
        if not blanks:
            continue
        cuts = tuple(c for c in sequence.cuts if c.is_for_retakes == is_for_retakes)
        own = {c.slab for c in cuts} | {_slab_of(b, spans) for b in blanks}
        slabs = tuple(sorted(own))
        span = _span(spans, slabs)
        found.append(Stretch(sheet, sequence, job, title, cuts, slabs, span, is_for_retakes))
    return tuple(found)


def _slab_of(blank: Blank, spans: dict[int, tuple[float, float]]) -> int:
    """Return the slab in which a blank lies; the first where all slabs are as long."""
    middle = (blank.rectangle[0] + blank.rectangle[2]) / 2
    return min(spans, key=lambda k: (max(spans[k][0] - middle, middle - spans[k][1], 0.0), k))


def shared(stretch: Stretch, pages: int) -> tuple[Stretch, ...]:
    """Return a stretch in so many parts, about equally long, each of whole slabs."""
    spans = _slab_spans(stretch.sheet, stretch.sequence)
    start, end = stretch.span
    groups: dict[int, list[int]] = {}
    for slab in stretch.slabs:
        middle = sum(spans[slab]) / 2
        place = min(int((middle - start) / (end - start) * pages), pages - 1)
        groups.setdefault(place, []).append(slab)
    return tuple(
        Stretch(
            stretch.sheet,
            stretch.sequence,
            stretch.job,
            stretch.title,
            tuple(c for c in stretch.cuts if c.slab in group),
            tuple(group),
            _span(spans, group),
            stretch.is_for_retakes,
        )
        for _, group in sorted(groups.items())
    )


def _span(spans: dict[int, tuple[float, float]], slabs: Sequence[int]) -> tuple[float, float]:
    return min(spans[s][0] for s in slabs), max(spans[s][1] for s in slabs)


def _slab_spans(sheet: SheetPlan, sequence: CutSequence) -> dict[int, tuple[float, float]]:
    """Return from where to where along the sheet each slab lies."""
    start, _, end, _ = sheet_frame(sheet).bounds
    first = [c for c in sequence.cuts if not c.part]
    if any(c.knife is Knife.SLIT for c in first):
        return dict.fromkeys(sorted({c.slab for c in sequence.cuts}), (start, end))
    if sheet.sheet.kind == "roll":  # what is behind the last cut stays on the roll
        end = max([end, *(c.start[0] for c in first)])
    spans: dict[int, tuple[float, float]] = {}
    at = start
    for cut in sorted(first, key=lambda c: c.start[0]):
        spans[cut.slab] = (spans.get(cut.slab, (at, at))[0], cut.start[0])
        at = cut.start[0]
    if not spans or any(b.rectangle[2] > at + 1e-6 for b in sequence.blanks):
        spans[len(spans) + 1] = (at, end)
    if sheet.sheet.kind != "roll":
        last = max(spans)
        spans[last] = (spans[last][0], end)
    return spans

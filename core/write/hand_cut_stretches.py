"""What of a sheet stands on which page of hand cutting: the job first, then its retakes.

A page shows a stretch of the sheet: the sections that are cut off one after the other. Where
the whole would be too small to read, the sections are shared among pages.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from core.document.job import Job, Units
from core.roll.cut_sequence import CutSequence, Knife, KnifeCut
from core.roll.model import SheetPlan
from core.write.cut_sheets import sheet_frame


@dataclass(frozen=True, slots=True)
class Stretch:
    """One page's share of a sheet.

    Attributes:
        cuts: those that are told on the page.
        sections: numbers of the sections that are worked on.
        span: from where to where along the sheet the picture reaches.
        is_for_retakes: whether only retakes are cut here.
    """

    sheet: SheetPlan
    sequence: CutSequence
    job: Job
    title: str
    cuts: tuple[KnifeCut, ...]
    sections: tuple[int, ...]
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
    spans = _section_spans(sheet, sequence)
    found = []
    for is_for_retakes in (False, True):
        cuts = tuple(c for c in sequence.cuts if c.is_for_retakes == is_for_retakes)
        sections = tuple(dict.fromkeys(c.section for c in cuts))
        if not sequence.cuts:
            if is_for_retakes != all(b.is_retake for b in sequence.blanks):
                continue
            sections = tuple(spans)
        if sections:
            span = _span(spans, sections)
            found.append(
                Stretch(sheet, sequence, job, title, cuts, sections, span, is_for_retakes)
            )
    return tuple(found)


def shared(stretch: Stretch, pages: int) -> tuple[Stretch, ...]:
    """Return a stretch in so many parts, about equally long, each of whole sections."""
    spans = _section_spans(stretch.sheet, stretch.sequence)
    start, end = stretch.span
    groups: dict[int, list[int]] = {}
    for section in stretch.sections:
        middle = sum(spans[section]) / 2
        place = min(int((middle - start) / (end - start) * pages), pages - 1)
        groups.setdefault(place, []).append(section)
    return tuple(
        Stretch(
            stretch.sheet,
            stretch.sequence,
            stretch.job,
            stretch.title,
            tuple(c for c in stretch.cuts if c.section in group),
            tuple(group),
            _span(spans, group),
            stretch.is_for_retakes,
        )
        for _, group in sorted(groups.items())
    )


def _span(
    spans: dict[int, tuple[float, float]], sections: Sequence[int]
) -> tuple[float, float]:
    return min(spans[s][0] for s in sections), max(spans[s][1] for s in sections)


def _section_spans(sheet: SheetPlan, sequence: CutSequence) -> dict[int, tuple[float, float]]:
    """Return from where to where along the sheet each section lies."""
    start, _, end, _ = sheet_frame(sheet).bounds
    first = [c for c in sequence.cuts if not c.part]
    numbers = sorted({c.section for c in sequence.cuts}) or [1]
    if any(c.knife is Knife.SLIT for c in first):
        return dict.fromkeys(numbers, (start, end))
    if sheet.sheet.kind == "roll":  # what is behind the last cut stays on the roll
        end = max([end, *(c.start[0] for c in first)])
    spans: dict[int, tuple[float, float]] = {}
    at = start
    for cut in sorted(first, key=lambda c: c.start[0]):
        spans[cut.section] = (spans.get(cut.section, (at, at))[0], cut.start[0])
        at = cut.start[0]
    for number in numbers:
        spans.setdefault(number, (at, end))
    if sheet.sheet.kind != "roll":
        last = max(spans)
        spans[last] = (spans[last][0], end)
    return spans

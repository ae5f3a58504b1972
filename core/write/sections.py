"""Sections: a long layout cut into lengths that the plotter feeds at once.

A section takes pieces whole. It ends in a gap between pieces where there is one far enough on;
where pieces lie side by side all along, sections overlap: what is left lies beside what was
cut, as the film is cut on its liner and stays whole. A piece longer than the feed is refused,
or cut in parts that join. Sections that overlap share registration marks, by which the next
one is laid up.
"""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from core.errors import ExportFailed
from core.write.drawing import Drawing, Layer, Purpose, Run, Shape, Text, open_run
from core.write.part_labels import part_label

REGISTER = Layer("REGISTER-MARKS", Purpose.REGISTER)
JOINT_MM = 20.0
"""Length by which sections overlap where a piece is cut in parts, or marks must be shared."""
LEAD_MM = 5.0
"""Film left free before the first piece of a section and after the last."""
LEAST_PART_MM = 100.0
"""A piece that is cut in parts is not begun for less than this."""
MARK_MM, LEAST_MARK_MM = 8.0, 3.0
"""Size of a registration mark, and of one where sections share little."""
_BEYOND_MM = 1.0
"""The parts of a piece are cut this far past their joint, so that the cuts meet."""


@dataclass(frozen=True, slots=True)
class Span:
    """How far a piece reaches along the feed.

    Attributes:
        source: as in the drawing's shapes.
        label: what a person calls it.
    """

    source: str
    label: str
    start_mm: float
    end_mm: float

    @property
    def length_mm(self) -> float:
        """Its length along the feed."""
        return self.end_mm - self.start_mm


@dataclass(frozen=True, slots=True)
class Part:
    """The part of a piece that a section cuts.

    Attributes:
        words: which part it is.
    """

    source: str
    start_mm: float
    end_mm: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A length of the sheet that is cut at once.

    Attributes:
        whole: the sources of the pieces that are cut in it.
        parts: parts of pieces too long for it.
    """

    start_mm: float
    end_mm: float
    whole: frozenset[str]
    parts: tuple[Part, ...] = ()


def planned_sections(
    spans: Iterable[Span], end_mm: float, longest_feed_mm: float | None, *, splits_long: bool
) -> tuple[Section, ...]:
    """Return the sections of a sheet, in order along the feed.

    Args:
        spans: of all pieces on it.
        end_mm: where the sheet, or what is used of it, ends.
        longest_feed_mm: no section is longer; None: one section takes all.
        splits_long: cut pieces longer than the feed in parts; else they are refused.

    Raises:
        ExportFailed: for a piece longer than the feed, when it is not to be cut in parts.
    """
    all_spans = sorted(spans, key=lambda s: (s.start_mm, s.end_mm))
    feed = longest_feed_mm
    if feed is None or max([end_mm, *(s.end_mm for s in all_spans)]) <= feed:
        return (Section(0.0, end_mm, frozenset(s.source for s in all_spans)),)
    for span in all_spans:
        if span.length_mm > feed and not splits_long:
            raise ExportFailed(
                f"It lies {span.length_mm:.0f} mm long; the plotter feeds {feed:g} mm at most.",
                where=span.label,
                mend="Turn it, part it by a seam, or have long pieces cut in parts that join.",
            )
    return _with_words(list(_Cutter(feed, end_mm, all_spans).sections()))


def _with_words(sections: Sequence[Section]) -> tuple[Section, ...]:
    """Return the sections with each part told which of how many it is."""
    counts = Counter(part.source for section in sections for part in section.parts)
    met: Counter[str] = Counter()
    told = []
    for section in sections:
        parts = []
        for part in section.parts:
            met[part.source] += 1
            words = f"part {met[part.source]} of {counts[part.source]}"
            parts.append(replace(part, words=words))
        told.append(replace(section, parts=tuple(parts)))
    return tuple(told)


class _Cutter:
    """Takes pieces off the front of the sheet, a section at a time."""

    def __init__(self, feed: float, end: float, spans: list[Span]) -> None:
        self.feed, self.end = feed, end
        self.left = [s for s in spans if s.length_mm <= feed]
        self.long = {s: s.start_mm for s in spans if s.length_mm > feed}
        """Pieces that are cut in parts, and how far each is done."""

    def sections(self) -> Iterable[Section]:
        start = 0.0
        while self.left or self.long:
            whole, limit = self._whole(start)
            parts = self._parts(limit, is_needed=not whole)
            if whole or parts:
                yield self._section(start, limit, whole, parts)
                start = self._next_start(limit)
            else:
                start = self._next_start(-math.inf)

    def _whole(self, start: float) -> tuple[list[Span], float]:
        """Return the pieces that are cut whole in a section, and where it ends at most."""
        limit = start + self.feed
        fits = [s for s in self.left if s.end_mm <= limit + 1e-9]
        for end in sorted({s.end_mm for s in fits}, reverse=True):
            if end < start + self.feed / 2 and len(fits) < len(self.left):
                break
            if not any(s.start_mm < end < s.end_mm for s in (*self.left, *self.long)):
                fits = [s for s in fits if s.end_mm <= end]
                break
        taken = set(fits)
        self.left = [s for s in self.left if s not in taken]
        return fits, limit

    def _parts(self, limit: float, *, is_needed: bool) -> list[Part]:
        """Return parts of long pieces up to the end of a section; finished ones are dropped."""
        parts = []
        for span, done in list(self.long.items()):
            joint = limit - JOINT_MM / 2
            is_begun = done > span.start_mm
            if span.end_mm <= limit:
                parts.append(Part(span.source, done, span.end_mm))
                del self.long[span]
            elif joint - done >= LEAST_PART_MM or (joint > done and (is_begun or is_needed)):
                parts.append(Part(span.source, done, joint))
                self.long[span] = joint
        return parts

    def _section(
        self, start: float, limit: float, whole: Sequence[Span], parts: Sequence[Part]
    ) -> Section:
        last = max([*(s.end_mm for s in whole), *(p.end_mm for p in parts)])
        is_joined = any(p.end_mm == done for p in parts for done in self.long.values())
        end = limit if is_joined else min(limit, last + LEAD_MM)
        if not (self.left or self.long):
            end = min(limit, max(end, self.end))
        return Section(start, end, frozenset(s.source for s in whole), tuple(parts))

    def _next_start(self, before: float) -> float:
        """Return where the next section starts; ``before`` is where the last may have ended."""
        starts = [done - JOINT_MM / 2 for s, done in self.long.items() if done > s.start_mm]
        starts += [s.start_mm - LEAD_MM for s, done in self.long.items() if done == s.start_mm]
        if self.left:
            first = self.left[0]
            wanted = first.start_mm - LEAD_MM
            if first.start_mm < before:
                wanted = min(wanted, before - JOINT_MM)
            starts.append(max(wanted, first.end_mm - self.feed))
        return max(min(starts, default=0.0), 0.0)


def section_drawings(drawing: Drawing, sections: Sequence[Section]) -> tuple[Drawing, ...]:
    """Return a drawing of each section, its start at x = 0; the only one is the drawing itself.

    Args:
        drawing: of the whole sheet, x along the feed.
        sections: as planned for it.
    """
    if len(sections) == 1:
        return (drawing,)
    marks: list[list[Shape]] = [[] for _ in sections]
    pieces = _outlines(drawing)
    starts = [s.start_mm for s in sections] + [sections[-1].end_mm]
    for i, (one, following) in enumerate(pairwise(sections)):
        shared = one.end_mm - following.start_mm
        if shared >= LEAST_MARK_MM:
            x = (following.start_mm + one.end_mm) / 2
            crosses = _registration(x, min(MARK_MM, shared) / 2, drawing, pieces)
            marks[i].append(crosses)
            marks[i + 1].append(crosses)
    return tuple(
        _section_drawing(
            drawing,
            section,
            Part("", starts[i], starts[i + 1]),
            f"section {i + 1} of {len(sections)}",
            marks[i],
        )
        for i, section in enumerate(sections)
    )


def _section_drawing(
    drawing: Drawing, section: Section, own: Part, words: str, marks: Iterable[Shape]
) -> Drawing:
    """Return the drawing of a section; ``own`` is what it does not share with the next one."""
    _, y0, _, y1 = drawing.extent
    parts = {p.source: p for p in section.parts}
    labelled = _labelled_whole(drawing, section.parts)
    shapes: list[Shape] = []
    for shape in drawing.shapes:
        purpose = drawing.purpose(shape.layer)
        if purpose is Purpose.FRAME and not shape.source:
            shapes += _clipped_frame(shape, section, (y0, y1))
        elif purpose is Purpose.WEED:
            shapes += _clipped(shape, own, _BEYOND_MM)
        elif shape.source in section.whole:
            shapes.append(shape)
        elif purpose is Purpose.LABEL and shape.source not in labelled:
            continue
        elif (part := parts.get(shape.source)) is not None:
            shapes += _clipped(shape, part, _BEYOND_MM if purpose.is_cut else 0.0)
    texts = [t for t in drawing.texts if t.source in section.whole | labelled]
    texts += _part_labels(drawing, section, labelled)
    whole = replace(
        drawing,
        name=f"{drawing.name} {words}",
        extent=(section.start_mm, y0, section.end_mm, y1),
        layers=(*drawing.layers, REGISTER),
        shapes=(*shapes, *marks),
        texts=tuple(texts),
    )
    return moved(whole, -section.start_mm, 0.0)


def _labelled_whole(drawing: Drawing, parts: Iterable[Part]) -> set[str]:
    """Return the sources of parts in which the piece's own label stands from end to end."""
    whole = set()
    for part in parts:
        ends = [x for t in drawing.texts if t.source == part.source for x in _text_ends(t)]
        if ends and part.start_mm <= min(ends) and max(ends) <= part.end_mm:
            whole.add(part.source)
    return whole


def _text_ends(text: Text) -> tuple[float, float]:
    """Return where along the feed a line of text starts and ends, with room for its height."""
    angle = math.radians(text.angle_deg)
    far = text.at[0] + math.cos(angle) * text.height_mm * len(text.text)
    room = abs(math.sin(angle)) * text.height_mm
    return min(text.at[0], far) - room, max(text.at[0], far) + room


def _part_labels(drawing: Drawing, section: Section, labelled: set[str]) -> Iterator[Text]:
    """Yield labels for parts of pieces whose own label stands in another section."""
    for shape in drawing.shapes_for(Purpose.CUT):
        for part in section.parts:
            if part.source == shape.source and part.source not in labelled:
                yield from part_label(drawing, shape, (part.start_mm, part.end_mm), part.words)


def _clipped_frame(shape: Shape, section: Section, ys: tuple[float, float]) -> list[Shape]:
    frame = box(section.start_mm, ys[0], section.end_mm, ys[1])
    points = shapely.get_coordinates(frame.exterior)[:-1]
    return [replace(shape, runs=(Run(points, is_closed=True),))]


def _clipped(shape: Shape, part: Part, beyond_mm: float) -> list[Shape]:
    """Return what of a shape lies in a part: whole runs as they are, others as open ones."""
    x0, x1 = part.start_mm - beyond_mm, part.end_mm + beyond_mm
    runs: list[Run] = []
    for run in shape.runs:
        low, high = run.points[:, 0].min(), run.points[:, 0].max()
        if low >= x0 and high <= x1:
            runs.append(run)
        elif low < x1 and high > x0:
            runs += _clipped_run(run, x0, x1)
    return [replace(shape, runs=tuple(runs))] if runs else []


def _clipped_run(run: Run, x0: float, x1: float) -> list[Run]:
    points = np.vstack([run.points, run.points[:1]]) if run.is_closed else run.points
    y0, y1 = points[:, 1].min() - 1.0, points[:, 1].max() + 1.0
    inside = shapely.intersection(LineString(points), box(x0, y0, x1, y1))
    lines = [g for g in shapely.get_parts(inside) if isinstance(g, LineString)]
    merged = shapely.line_merge(shapely.MultiLineString(lines))
    return [
        replace(open_run(shapely.get_coordinates(line)), is_opening=run.is_opening)
        for line in shapely.get_parts(merged)
        if line.length > 0
    ]


def _outlines(drawing: Drawing) -> BaseGeometry:
    """Return the areas that the pieces cover, openings included."""
    rings = [
        Polygon(run.points)
        for shape in drawing.shapes_for(Purpose.CUT)
        for run in shape.runs
        if run.is_closed and not run.is_opening
    ]
    return shapely.union_all(rings)


def _registration(x: float, half: float, drawing: Drawing, pieces: BaseGeometry) -> Shape:
    """Return two crosses at a place along the feed, far apart, beside pieces if they can."""
    _, y0, _, y1 = drawing.extent
    line = LineString([(x, y0 + half), (x, y1 - half)])
    free = shapely.difference(line, shapely.buffer(pieces, half * math.sqrt(2)))
    ys = shapely.get_coordinates(free)[:, 1] if not free.is_empty else np.array([])
    low, high = (y0 + half, y1 - half) if len(ys) < 2 else (ys.min(), ys.max())
    runs = []
    for y in (low, high):
        runs.append(open_run([(x - half, y), (x + half, y)]))
        runs.append(open_run([(x, y - half), (x, y + half)]))
    return Shape(REGISTER.name, tuple(runs))


def moved(drawing: Drawing, dx: float, dy: float) -> Drawing:
    """Return the drawing moved."""
    x0, y0, x1, y1 = drawing.extent
    by = np.array([dx, dy])
    return replace(
        drawing,
        extent=(x0 + dx, y0 + dy, x1 + dx, y1 + dy),
        shapes=tuple(
            replace(s, runs=tuple(replace(r, points=r.points + by) for r in s.runs))
            for s in drawing.shapes
        ),
        texts=tuple(replace(t, at=(t.at[0] + dx, t.at[1] + dy)) for t in drawing.texts),
    )

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, Polygon, box
from shapely.affinity import translate

from core.errors import ExportFailed
from core.write.cut_path import ordered_cuts
from core.write.drawing import Drawing, Purpose, Shape, Text, area_runs
from core.write.plotter_steps import WEED, with_weed_box
from core.write.sections import (
    JOINT_MM,
    LEAD_MM,
    MARK_MM,
    Span,
    planned_sections,
    section_drawings,
)
from helpers.plotted import FRAME, cuts_of, drawing_of, line_of

WIDTH = 600.0


def spans_of(*ends):
    return [Span(f"p{i}", f"Lid {i + 1}", a, b) for i, (a, b) in enumerate(ends)]


def bounds(sections):
    return [(round(s.start_mm, 6), round(s.end_mm, 6)) for s in sections]


def sources(sections):
    return [sorted(s.whole) for s in sections]


def test_without_a_limit_or_below_it_all_is_one_section():
    spans = spans_of((10, 400), (405, 900))
    for feed in (None, 910.0):
        (only,) = planned_sections(spans, 910, feed, splits_long=False)
        assert (only.start_mm, only.end_mm, only.whole) == (0, 910, {"p0", "p1"})


def test_a_section_ends_in_the_gap_between_pieces():
    spans = spans_of((10, 400), (20, 380), (405, 900), (410, 700))
    sections = planned_sections(spans, 910, 500, splits_long=False)
    assert sources(sections) == [["p0", "p1"], ["p2", "p3"]]
    assert bounds(sections) == [(0, 405), (400, 900)]


def test_where_pieces_lie_side_by_side_sections_overlap_and_pieces_stay_whole():
    spans = spans_of((0, 300), (200, 500), (400, 700), (600, 900))
    sections = planned_sections(spans, 900, 520, splits_long=False)
    assert sources(sections) == [["p0", "p1"], ["p2", "p3"]]
    assert sections[1].start_mm == pytest.approx(400 - LEAD_MM)
    assert all(s.end_mm - s.start_mm <= 520 for s in sections)


def test_a_short_gap_early_on_is_passed_over_for_a_full_feed():
    spans = spans_of((0, 50), (60, 300), (200, 480), (470, 900))
    first, second = planned_sections(spans, 900, 500, splits_long=False)
    assert first.whole == {"p0", "p1", "p2"}
    assert second.whole == {"p3"}


def test_a_piece_as_long_as_the_feed_is_cut_whole():
    spans = spans_of((10, 510), (515, 600))
    sections = planned_sections(spans, 610, 500, splits_long=False)
    assert sources(sections) == [["p0"], ["p1"]]
    assert sections[0].start_mm == pytest.approx(10)


def test_a_piece_longer_than_the_feed_is_refused_by_its_name():
    with pytest.raises(ExportFailed, match=r"Lid 2: .* 600 mm long; the plotter feeds 500"):
        planned_sections(spans_of((0, 90), (100, 700)), 710, 500, splits_long=False)


def test_or_it_is_cut_in_parts_that_join():
    (first, second) = planned_sections(spans_of((0, 900)), 910, 500, splits_long=True)
    (a,), (b,) = first.parts, second.parts
    assert (a.start_mm, a.end_mm, b.end_mm) == (0, 490, 900)
    assert b.start_mm == a.end_mm
    assert first.end_mm - second.start_mm == pytest.approx(JOINT_MM)


@st.composite
def layouts(draw):
    """Spans along the feed, and a feed that some may be too long for."""
    feed = draw(st.floats(300, 1200))
    count = draw(st.integers(1, 25))
    ends = []
    for _ in range(count):
        start = draw(st.floats(0, 4000))
        ends.append((start, start + draw(st.floats(5, 1500))))
    return spans_of(*ends), feed


@settings(max_examples=60, deadline=None)
@given(layouts())
def test_every_piece_is_cut_once_within_the_feed(layout):
    spans, feed = layout
    end = max(s.end_mm for s in spans) + 10
    sections = planned_sections(spans, end, feed, splits_long=True)
    starts = [s.start_mm for s in sections]
    assert starts == sorted(starts)
    by_source = {s.source: s for s in spans}
    whole = [source for s in sections for source in s.whole]
    assert len(whole) == len(set(whole))
    parts: dict[str, list[tuple[float, float]]] = {}
    for section in sections:
        assert section.end_mm - section.start_mm <= feed + 1e-6
        for source in section.whole:
            span = by_source[source]
            assert section.start_mm - 1e-6 <= span.start_mm
            assert span.end_mm <= section.end_mm + 1e-6
        for part in section.parts:
            assert section.start_mm - 1e-6 <= part.start_mm < part.end_mm
            assert part.end_mm <= section.end_mm + 1e-6
            parts.setdefault(part.source, []).append((part.start_mm, part.end_mm))
    assert set(whole) | set(parts) == set(by_source)
    assert not set(whole) & set(parts)
    for source, cut in parts.items():
        span = by_source[source]
        assert span.length_mm > feed
        ends = [span.start_mm, *(b for _, b in cut)]
        assert [a for a, _ in cut] == ends[:-1]
        assert ends[-1] == span.end_mm


# Their drawings


def sheet(areas, length):
    base = drawing_of(areas, (0, 0, length, WIDTH))
    frame = Shape("FRAME", area_runs(box(0, 0, length, WIDTH)))
    texts = tuple(
        Text("LABEL", name, (a.centroid.x, a.centroid.y), 5, source=name)
        for name, a in areas.items()
    )
    return Drawing("Film r1", base.extent, base.layers, (frame, *base.shapes), texts)


def spans_in(areas):
    return [Span(n, n, a.bounds[0], a.bounds[2]) for n, a in areas.items()]


def sections_of(areas, length, feed, **more):
    planned = planned_sections(spans_in(areas), length, feed, splits_long=True)
    drawing = sheet(areas, length)
    if more.get("weed"):
        drawing = with_weed_box(drawing)
    return planned, section_drawings(drawing, planned)


LONG = (
    box(20, 50, 1480, 250)
    .difference(Point(480, 150).buffer(40))
    .difference(Point(900, 150).buffer(30))
)
AREAS = {"long": LONG, "short": box(20, 300, 400, 500), "late": box(900, 300, 1400, 500)}


def test_a_section_starts_at_zero_and_says_which_it_is():
    planned, drawings = sections_of(AREAS, 1500, 500)
    assert len(drawings) == len(planned) > 3
    for i, (section, drawing) in enumerate(zip(planned, drawings, strict=True)):
        assert drawing.name == f"Film r1 section {i + 1} of {len(planned)}"
        assert drawing.extent == pytest.approx((0, 0, section.end_mm - section.start_mm, WIDTH))
        (frame,) = drawing.shapes_for(Purpose.FRAME)
        assert Polygon(frame.runs[0].points).bounds == pytest.approx(drawing.extent)
        points = np.vstack([r.points for _, r in cuts_of(drawing)])
        assert points[:, 0].min() >= -1.0
        assert points[:, 0].max() <= 500.0 + 1.0


def test_all_sections_laid_together_are_the_pieces():
    planned, drawings = sections_of(AREAS, 1500, 500)
    back = [
        translate(line_of(run), section.start_mm, 0)
        for section, drawing in zip(planned, drawings, strict=True)
        for _, run in cuts_of(ordered_cuts(drawing, 0.0))
    ]
    cut = shapely.union_all(back, grid_size=1e-6)
    faces = shapely.build_area(MultiLineString(list(shapely.get_parts(cut))))
    wanted = shapely.union_all(list(AREAS.values()))
    assert shapely.symmetric_difference(faces, wanted).area < 1e-2


def test_openings_are_cut_before_outlines_in_every_part():
    _, drawings = sections_of(AREAS, 1500, 500)
    is_split = False
    for drawing in drawings:
        kinds = [r.is_opening for s, r in cuts_of(ordered_cuts(drawing, 0.5)) if s == "long"]
        assert kinds == sorted(kinds, reverse=True)
        is_split |= len(kinds) > 2
    assert is_split


def test_sections_that_join_share_marks_at_the_same_places_of_the_sheet():
    planned, drawings = sections_of(AREAS, 1500, 500)
    marks = []
    for section, drawing in zip(planned, drawings, strict=True):
        crosses = drawing.shapes_for(Purpose.REGISTER)
        for shape in crosses:
            assert len(shape.runs) == 4
            for run in shape.runs:
                line = LineString(run.points)
                assert line.length == pytest.approx(MARK_MM)
                assert box(*drawing.extent).covers(line)
        marks.append(
            {
                (round(x + section.start_mm, 6), round(y, 6))
                for s in crosses
                for r in s.runs
                for x, y in r.points.tolist()
            }
        )
    for one, following in pairwise(marks):
        assert len(one & following) == 8


def test_marks_keep_off_the_pieces_where_there_is_room():
    planned, drawings = sections_of(AREAS, 1500, 500)
    pieces = shapely.union_all(list(AREAS.values()))
    for section, drawing in zip(planned, drawings, strict=True):
        for shape in drawing.shapes_for(Purpose.REGISTER):
            for run in shape.runs:
                here = translate(LineString(run.points), section.start_mm, 0)
                assert not pieces.intersects(here)


def test_sections_in_gaps_have_no_marks():
    areas = {"a": box(10, 10, 400, 500), "b": box(450, 10, 900, 500)}
    _, drawings = sections_of(areas, 910, 500)
    assert len(drawings) == 2
    assert not any(d.shapes_for(Purpose.REGISTER) for d in drawings)


def test_every_piece_and_every_part_has_its_label_inside_it():
    planned, drawings = sections_of(AREAS, 1500, 500)
    said = [t.text for d in drawings for t in d.texts]
    parts = [p.words for s in planned for p in s.parts]
    assert parts == [f"part {i} of {len(parts)}" for i in range(1, len(parts) + 1)]
    assert [t for t in said if t in AREAS] == ["short", "long", "late"]
    others = [t for t in said if t not in AREAS]
    assert len(others) == len(parts) - 1  # one part has the piece's own label
    assert {t.removeprefix("long, ") for t in others} <= set(parts)
    for section, drawing in zip(planned, drawings, strict=True):
        assert {t.source for t in drawing.texts} == {s for s, _ in cuts_of(drawing)}
        for text in drawing.texts:
            at = Point(text.at[0] + section.start_mm, text.at[1])
            assert AREAS[text.source].contains(at)


def test_the_weed_box_runs_round_the_sheet_not_round_each_section():
    planned, drawings = sections_of(AREAS, 1500, 500, weed=True)
    lines = [
        translate(line_of(run), section.start_mm, 0)
        for section, drawing in zip(planned, drawings, strict=True)
        for shape in drawing.shapes_for(Purpose.WEED)
        for run in shape.runs
    ]
    (whole,) = with_weed_box(sheet(AREAS, 1500)).shapes_for(Purpose.WEED)
    ring = line_of(whole.runs[0])
    assert all(ring.buffer(1e-6).contains(line) for line in lines)
    assert shapely.union_all(lines).length == pytest.approx(ring.length, abs=1e-3)
    assert WEED in drawings[0].layers
    assert FRAME in drawings[0].layers

import pytest

from core.document.drafting import GuideLine
from core.plan.neighbours import (
    Aligned,
    align,
    gaps_beside,
    gaps_from,
    lines_within,
    panels_within,
)
from helpers.jobs import job_with, rect_panel, scheme, seam


def three():
    return job_with(
        [
            rect_panel("p1", 100, 100),
            rect_panel("p2", 50, 200, at=(130.0, -20.0)),
            rect_panel("p3", 60, 40, at=(10.0, 145.0)),
        ],
        guides=(GuideLine(id="h1", way="upright", at_mm=300.0),),
    )


def test_gaps_of_a_panel_to_those_beside_and_above() -> None:
    gaps = gaps_beside(three(), ["p1"])
    assert [(g.start, g.end, g.length_mm) for g in gaps] == [
        ((100, 50), (130, 50), 30),
        ((40, 100), (40, 145), 45),
    ]
    assert gaps_beside(three(), ["p1", "p2", "p3"]) == ()
    assert [g.length_mm for g in gaps_beside(three(), ["p1", "p3"])] == [30]


def test_gaps_of_a_point_inside_and_outside_a_panel() -> None:
    inside = gaps_from(three(), (20, 60))
    assert [g.length_mm for g in inside] == pytest.approx([20, 80, 60, 40])
    between = gaps_from(three(), (115, 50))
    assert [g.length_mm for g in between] == pytest.approx([15, 15])
    # A point on a rim is measured to the other rims.
    on_rim = {g.end for g in gaps_from(three(), (0, 60))}
    assert (100, 60) in on_rim


def test_panels_come_in_line_with_others_guides_and_grid() -> None:
    x, y = align(three(), ["p3"], (22.0, 1000.0), 5.0, None)
    # Its left comes to 32, its middle to 62, its right to 92: nothing of the others is near.
    assert (x.word, y.word) == ("", "")
    x, _ = align(three(), ["p3"], (27.5, 1000.0), 5.0, None)
    assert (x.step_mm, x.word) == (30, "in line with Panel p1")
    x, _ = align(three(), ["p3"], (229.0, 1000.0), 5.0, None)
    assert (x.step_mm, x.word) == (230, "guide")
    x, y = align(three(), ["p3"], (393.0, 1003.0), 5.0, 25.0)
    assert (x.word, y.word) == ("grid", "grid")
    assert (10 + x.step_mm, 145 + y.step_mm) == (410 - 10, 1150)


def test_what_lies_wholly_in_a_rectangle() -> None:
    job = job_with(three().panels, [scheme("p1", seam("s1", [(50, 0), (50, 100)]))])
    assert panels_within(job, (-5, -5, 101, 190)) == ("p1", "p3")
    assert panels_within(job, (5, -5, 101, 101)) == ()
    assert lines_within(job, "v1", (40, -5, 60, 101)) == ("s1",)
    assert lines_within(job, "v1", (40, 5, 60, 101)) == ()


def test_nothing_moved_has_no_gaps_and_no_line_to_come_into() -> None:
    assert gaps_beside(three(), ["p9"]) == ()
    assert align(three(), ["p9"], (3.0, 4.0), 5.0, None) == (Aligned(3), Aligned(4))
    beside = gaps_beside(three(), ["p2"])
    assert [(g.start, g.end) for g in beside] == [((100, 50), (130, 50))]


def test_gaps_in_the_open_end_at_the_first_rim_alone() -> None:
    gaps = gaps_from(three(), (-50, 50))
    assert [(g.end, g.length_mm) for g in gaps] == [((0, 50), 50)]

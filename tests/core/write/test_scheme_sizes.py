"""Kept dimensions in the scheme: where they lie, and what they say."""

import pytest

from core.document.drafting import Dimension, DimensionEnd
from core.document.edits.drafting import add_dimension
from core.document.edits.panels import move_panel
from core.plan.plan import plan_job
from core.units import Units
from core.write.scheme import scheme_drawing
from core.write.scheme_sizes import _reading_deg, panel_sizes
from helpers.jobs import job_with, rect_panel


def sized_job():
    def end(panel, node):
        return DimensionEnd(at=(0, 0), panel=panel, owner=panel, node=node)

    job = job_with(
        [rect_panel("p1", 400, 200, is_pair=True), rect_panel("p2", 100, 100, at=(500.0, 0.0))]
    )
    job = add_dimension(
        job, Dimension(id="d1", start=end("p1", "n1"), end=end("p1", "n2"), offset_mm=-20.0)
    )
    return add_dimension(job, Dimension(id="d2", start=end("p1", "n1"), end=end("p2", "n1")))


def test_sizes_of_a_panel_are_in_its_frame() -> None:
    job = move_panel(sized_job(), "p1", (-1000.0, 50.0))
    (size,) = panel_sizes(job, "v1", "p1")
    assert (size.start, size.end, size.words) == ((0, 0), (400, 0), "400 mm")
    assert panel_sizes(job, "v1", "p2") == ()


def test_the_scheme_shows_them_on_the_left_and_the_right_one() -> None:
    drawing = scheme_drawing(plan_job(sized_job()))
    sizes = [t for t in drawing.texts if t.text == "400 mm"]
    assert len(sizes) == 2
    assert all(t.angle_deg == pytest.approx(0) for t in sizes)
    plain = scheme_drawing(plan_job(job_with([rect_panel("p1", 400, 200)], units=Units.IN)))
    assert not [t for t in plain.texts if t.text.endswith("15.748 in")]


@pytest.mark.parametrize(
    ("angle", "read"),
    [(0, 0), (45, 45), (90, 90), (135, -45), (180, 0), (270, -90), (300, -60)],
)
def test_text_is_never_upside_down(angle, read) -> None:
    assert _reading_deg(angle) == pytest.approx(read)

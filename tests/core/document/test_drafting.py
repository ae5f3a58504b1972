"""Guides and dimensions: kept with the job, following what they were snapped to."""

import pytest
from msgspec.structs import replace

from core.document.drafting import Dimension, DimensionEnd, GuideLine
from core.document.edits.drafting import (
    add_dimension,
    add_guide,
    delete_dimensions,
    delete_guides,
    dimension_line,
    distance_to_line,
    ends_of,
    measure,
    move_guide,
    offset_through,
    outer_offset,
    place_of_end,
    replace_dimension,
)
from core.document.edits.lines import delete_lines, set_line_nodes
from core.document.edits.panels import delete_panels, move_panel, set_outline
from core.document.edits.paths import move_node
from core.document.edits.variants import add_variant
from core.document.file import JobFile, from_bytes, to_bytes
from core.errors import EditRefused, FileError
from helpers.jobs import hole, job_with, path, rect_panel, scheme, seam


def panel_job():
    drawn = scheme("p1", seam("s1", [(100, 0), (100, 200)]))
    return job_with(
        [
            rect_panel("p1", 400, 200, openings=(hole("o1", 300, 100, 30),)),
            rect_panel("p2", 50, 50, at=(500.0, 0.0)),
        ],
        [drawn],
    )


def node_end(panel, owner, node, at=(0.0, 0.0)):
    return DimensionEnd(at=at, panel=panel, owner=owner, node=node)


def test_measures_are_those_of_a_right_triangle() -> None:
    # Euclid, Elements I.47; 3-4-5 is the smallest whole one.
    found = measure((10, 10), (7, 14))
    assert (found.length_mm, found.dx_mm, found.dy_mm) == (5, -3, 4)
    assert found.angle_deg == pytest.approx(126.8699, abs=1e-4)
    assert measure((1, 1), (1, 1)).length_mm == 0


def test_guides_are_added_moved_deleted_and_saved() -> None:
    job = add_guide(panel_job(), GuideLine(id="h1", way="upright", at_mm=120))
    job = add_guide(job, GuideLine(id="h2", way="level", at_mm=-5))
    job = move_guide(job, "h2", 7.5)
    assert [g.at_mm for g in job.guides] == [120, 7.5]
    assert from_bytes(to_bytes(JobFile(job)), "here").job == job
    assert [g.id for g in delete_guides(job, ["h1"]).guides] == ["h2"]
    with pytest.raises(EditRefused, match="h1"):
        add_guide(job, GuideLine(id="h1", way="level", at_mm=1))
    with pytest.raises(EditRefused):
        move_guide(job, "h1", float("nan"))
    with pytest.raises(KeyError):
        delete_guides(job, ["h9"])


def test_a_dimension_follows_its_nodes_and_panels() -> None:
    one = Dimension(id="d1", start=node_end("p1", "p1", "n2"), end=node_end("p1", "s1", "n2"))
    job = add_dimension(panel_job(), one)
    assert ends_of(job, "v1", one) == ((400, 0), (100, 200))
    wider = set_outline(job, "p1", move_node(job.panel("p1").outline, "n2", (450, 0)))
    moved = move_panel(wider, "p1", (0.0, 1000.0))
    seam_moved = set_line_nodes(moved, "v1", "s1", path([(100, 0), (120, 200)]))
    assert ends_of(seam_moved, "v1", one) == ((450, 1000), (120, 1200))


def test_mere_points_move_with_their_panel_or_stay() -> None:
    one = Dimension(
        id="d1", start=DimensionEnd(at=(10, 10), panel="p2"), end=DimensionEnd(at=(0, 0))
    )
    job = move_panel(add_dimension(panel_job(), one), "p2", (0.0, 100.0))
    assert ends_of(job, "v1", one) == ((10, 110), (0, 0))


def test_a_dimension_whose_node_is_gone_is_not_shown_and_dropped_in_time() -> None:
    one = Dimension(id="d1", start=node_end("p1", "s1", "n1"), end=node_end("p1", "o1", "n1"))
    job = add_dimension(panel_job(), one)
    gone = delete_lines(job, "v1", ["s1"])
    assert ends_of(gone, "v1", one) is None
    assert from_bytes(to_bytes(JobFile(gone)), "here").job.dimensions == (one,)
    other = Dimension(id="d2", start=node_end("p1", "p1", "n1"), end=node_end("p1", "p1", "n3"))
    assert [d.id for d in add_dimension(gone, other).dimensions] == ["d2"]
    assert [d.id for d in add_dimension(job, other).dimensions] == ["d1", "d2"]


def test_dimensions_go_with_their_panel() -> None:
    one = Dimension(
        id="d1", start=node_end("p1", "p1", "n1"), end=DimensionEnd(at=(5, 5), panel="p2")
    )
    job = add_dimension(panel_job(), one)
    assert delete_panels(job, ["p2"]).dimensions == ()
    assert replace_dimension(job, replace(one, offset_mm=12)).dimensions[0].offset_mm == 12
    assert delete_dimensions(job, ["d1"]).dimensions == ()


def test_what_cannot_be_measured_is_refused() -> None:
    point = DimensionEnd(at=(5, 5))
    with pytest.raises(EditRefused, match="nothing between"):
        add_dimension(panel_job(), Dimension(id="d1", start=point, end=point))
    with pytest.raises(KeyError):
        add_dimension(
            panel_job(),
            Dimension(id="d1", start=point, end=DimensionEnd(at=(0, 0), panel="p9")),
        )


@pytest.mark.parametrize(
    "end",
    [
        DimensionEnd(at=(1, 1), panel="p9"),
        DimensionEnd(at=(1, 1), panel="p1", owner="p1"),
        DimensionEnd(at=(1, 1), owner="p1", node="n1"),
    ],
)
def test_half_a_reference_does_not_load(end) -> None:
    one = Dimension(id="d1", start=DimensionEnd(at=(0, 0)), end=end)
    with pytest.raises(FileError):
        to_bytes(JobFile(replace(panel_job(), dimensions=(one,))))


def test_a_runaway_script_is_stopped() -> None:
    many = tuple(GuideLine(id=f"h{i}", way="level", at_mm=float(i)) for i in range(1, 501))
    with pytest.raises(EditRefused, match="too many"):
        add_guide(replace(panel_job(), guides=many), GuideLine(id="h999", way="level", at_mm=0))


def test_lines_are_those_of_the_variant_that_is_shown() -> None:
    one = Dimension(id="d1", start=node_end("p1", "s1", "n1"), end=node_end("p1", "o1", "n1"))
    job = add_variant(add_dimension(panel_job(), one), "Bare", like=None)
    assert ends_of(job, "v2", one) is None
    assert ends_of(job, None, one) is not None
    assert place_of_end(job, "v1", DimensionEnd(at=(0, 0), panel="p9")) is None


def test_dimension_lines_stand_off_to_the_left() -> None:
    assert dimension_line((0, 0), (10, 0), 4) == ((0, 4), (10, 4))
    assert dimension_line((0, 0), (0, 10), 4) == ((-4, 0), (-4, 10))
    assert dimension_line((3, 3), (3, 3), 4) == ((3, 3), (3, 3))
    assert offset_through((0, 0), (10, 0), (3, -7)) == -7
    assert offset_through((3, 3), (3, 3), (5, 5)) == 0
    assert outer_offset((0, 0), (10, 0), (5, 50), 4) == -4
    assert outer_offset((0, 0), (10, 0), (5, -50), 4) == 4


def test_distance_to_a_stretch_is_to_its_ends_beyond_them() -> None:
    assert distance_to_line((0, 0), (10, 0), (5, 3)) == 3
    assert distance_to_line((0, 0), (10, 0), (14, 3)) == 5
    assert distance_to_line((2, 2), (2, 2), (5, 6)) == 5

"""Relief cuts as lines of a scheme: drawn, moved, copied, mirrored, made longer."""

import math

import pytest

from core.document.edits.copies import copy_lines, copy_panels, paste_lines, paste_panels
from core.document.edits.lines import (
    add_line,
    delete_lines,
    find_line,
    move_line,
    set_hole,
    set_lap,
)
from core.document.edits.outlines import middle_axis, mirror_panel
from core.document.edits.reliefs import path_length_mm, set_relief_length
from core.document.lines import line_name
from core.errors import EditRefused
from helpers.jobs import job_with, rect_panel, relief, scheme, seam


@pytest.fixture
def job():
    things = scheme("p1", seam("s1", [(0, 100), (400, 100)]), relief("e1", [(0, 50), (90, 50)]))
    return job_with([rect_panel("p1", 400, 200), rect_panel("p2", 400, 200)], [things])


def cut(job, line="e1"):
    return find_line(job, "v1", line)[1]


def test_it_is_drawn_moved_and_deleted_as_other_lines_are(job):
    assert line_name(cut(job)) == "Relief cut 1"
    two = add_line(job, "v1", "p2", relief("e2", [(0, 50), (40, 50)]))
    (moved,) = move_line(two, "v1", "e2", 3, 4).scheme("v1", "p2").reliefs
    assert moved.nodes[1].at == (43, 54)
    left = delete_lines(two, "v1", ["e1", "e2"])
    assert [line.id for v in left.variants for s in v.schemes for line in s.lines] == ["s1"]


def test_it_comes_along_with_copies(job):
    panels, made = paste_panels(job, "v1", copy_panels(job, "v1", ["p1"]), (0.0, -300.0))
    (twin,) = panels.scheme("v1", made[0]).reliefs
    assert (twin.id, twin.nodes) == ("e2", cut(job).nodes)
    lines, ids = paste_lines(job, "v1", copy_lines(job, "v1", ["e1"]), "p2")
    assert lines.scheme("v1", "p2").reliefs[0].id == ids[0] == "e2"


def test_it_is_mirrored_with_its_panel(job):
    axis = middle_axis(job.panel("p1"), is_level=False)
    mirrored = cut(mirror_panel(job, "p1", axis))
    assert [n.at for n in mirrored.nodes] == [(400, 50), (310, 50)]


def test_no_films_meet_along_it(job):
    with pytest.raises(EditRefused, match="no films meet"):
        set_lap(job, "v1", "e1", 5.0)
    with pytest.raises(EditRefused, match="Only a relief cut"):
        set_hole(job, "v1", "s1", 5.0)
    assert cut(set_hole(job, "v1", "e1", 0.0)).hole_mm == 0.0


@pytest.mark.parametrize("keeps_start", [True, False])
@pytest.mark.parametrize("length", [20.0, 90.0, 140.5])
def test_its_length_is_typed_and_the_end_at_the_rim_stays(job, length, keeps_start):
    fresh = cut(set_relief_length(job, "v1", "e1", length, keeps_start=keeps_start))
    assert path_length_mm(fresh.nodes) == pytest.approx(length, abs=1e-3)
    kept = 0 if keeps_start else -1
    assert fresh.nodes[kept].at == cut(job).nodes[kept].at


def test_a_bent_one_moves_its_last_node_as_far_as_it_can(job):
    job = add_line(job, "v1", "p2", relief("e2", [(0, 50), (30, 50), (30, 90)]))
    fresh = cut(set_relief_length(job, "v1", "e2", 100.0, keeps_start=True), "e2")
    assert math.dist(fresh.nodes[2].at, (30, 120)) < 1e-3
    with pytest.raises(EditRefused, match="so short"):
        set_relief_length(job, "v1", "e2", 20.0, keeps_start=True)

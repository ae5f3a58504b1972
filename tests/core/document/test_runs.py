"""Stripes over several panels: one line on the canvas, whatever is done to it."""

import itertools
import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.document.edits.lines import (
    add_line,
    delete_lines,
    find_line,
    move_line,
    rename_line,
    replace_line,
    set_line_nodes,
    set_stripe_widths,
)
from core.document.edits.panels import move_panel
from core.document.edits.paths import (
    insert_node,
    move_handle,
    move_node,
    reverse_path,
    translate_path,
)
from core.document.edits.run_paths import join_paths
from core.document.edits.runs import add_run, find_run, panels_along, set_run, unlink_run
from core.document.file import JobFile, from_bytes, to_bytes
from core.document.flatten import flatten
from core.document.hit import reversed_line, stripe_ends
from core.document.path import Node
from core.errors import EditRefused
from core.plan.plan import plan_job
from helpers.jobs import job_with, path, poly_panel, rect_panel, stripe

coordinate = st.integers(-60, 360).map(float)
width = st.integers(0, 90).map(float)


def three_panels():
    """Three panels of 300 x 300 beside each other, 20 mm and 40 mm apart."""
    rects = [
        rect_panel(f"p{i}", 300, 300, at=at)
        for i, at in enumerate([(0.0, 0.0), (320.0, 0.0)], 1)
    ]
    return job_with(
        [*rects, poly_panel("p3", [(0, 0), (300, 40), (300, 300), (0, 260)], at=(660.0, 5.0))]
    )


def swung(y0, y1, bend):
    """A curve from x = -30 to 990 that rises and falls."""
    return (
        Node(id="n1", at=(-30.0, y0), after=(300.0, bend)),
        Node(id="n2", at=(990.0, y1), before=(-300.0, bend)),
    )


def with_run(line, widths=(20.0, 80.0)):
    return add_run(
        three_panels(), "v1", line, ("p1", "p2", "p3"), stripe("t1", [(0, 0), (1, 0)], widths)
    )


def ends_on_canvas(job):
    """Each stripe's two ends, on the canvas, with their corners and widths."""
    found = {}
    for scheme in job.variant("v1").schemes:
        for one in scheme.stripes:
            dx, dy = job.panel(scheme.panel).at
            found[scheme.panel] = [
                [(x + dx, y + dy) for x, y in (e.at, e.left, e.right)] + [e.width_mm]
                for e in stripe_ends(one)
            ]
    return found


def assert_one_line(job, tolerance=1e-6):
    """Neighbouring stripes meet: their middle lines, both their sides, and their widths."""
    ends = ends_on_canvas(job)
    assert list(ends) == ["p1", "p2", "p3"]
    for here, there in itertools.pairwise(ends.values()):
        *end, end_width = here[1]
        *start, start_width = there[0]
        assert end_width == pytest.approx(start_width, abs=tolerance)
        for a, b in zip(end, start, strict=True):
            assert math.dist(a, b) < tolerance


def middle_line(job):
    lines = [
        flatten(translate_path(one.nodes, *job.panel(panel).at), closed=False)
        for panel in ("p1", "p2", "p3")
        for one in job.scheme("v1", panel).stripes
    ]
    return shapely.union_all([shapely.LineString(line) for line in lines])


@settings(max_examples=60, deadline=None)
@given(coordinate, coordinate, st.integers(-150, 150).map(float), width, width.filter(bool))
def test_the_parts_are_the_line_that_was_drawn(y0, y1, bend, w0, w1) -> None:
    line = swung(min(max(y0, 60), 250), min(max(y1, 60), 250), bend / 3)
    job, ids = with_run(line, (w0, w1))
    assert len(ids) == 3
    assert_one_line(job)
    drawn = shapely.LineString(flatten(line, closed=False))
    # Both polylines keep within 0.05 mm of the curve.
    assert shapely.hausdorff_distance(middle_line(job), drawn) < 0.11
    ends = ends_on_canvas(job)
    assert ends["p1"][0][3] == pytest.approx(w0)
    assert ends["p3"][1][3] == pytest.approx(w1)


@settings(max_examples=60, deadline=None)
@given(coordinate, coordinate, st.integers(-150, 150).map(float))
def test_what_was_parted_joins_to_what_was_drawn(y0, y1, bend) -> None:
    line = swung(min(max(y0, 60), 250), min(max(y1, 60), 250), bend / 3)
    job, ids = with_run(line)
    run = find_run(job, "v1", ids[1])
    assert run.is_in_line
    assert len(run.path) == 2
    for new, old in zip(run.path, line, strict=True):
        assert new.at == pytest.approx(old.at, abs=1e-6)
        for a, b in ((new.before, old.before), (new.after, old.after)):
            assert (a is None) == (b is None)
            assert a is None or a == pytest.approx(b, abs=1e-4)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["p1", "p2", "p3"]),
    st.integers(0, 1),
    st.integers(-25, 25).map(float),
    st.integers(-25, 25).map(float),
)
def test_a_node_moved_on_one_panel_takes_its_neighbours_along(panel, end, dx, dy) -> None:
    job, _ = with_run(swung(120.0, 180.0, 40.0))
    (one,) = job.scheme("v1", panel).stripes
    node = one.nodes[-end]
    moved = move_node(one.nodes, node.id, (node.at[0] + dx / 10, node.at[1] + dy))
    after = set_line_nodes(job, "v1", one.id, moved)
    assert_one_line(after)
    assert find_run(after, "v1", one.id).is_in_line
    x, y = (
        node.at[0] + dx / 10 + job.panel(panel).at[0],
        node.at[1] + dy + job.panel(panel).at[1],
    )
    assert middle_line(after).distance(shapely.Point(x, y)) < 0.06


def test_a_bend_at_a_joint_stays_smooth_across_it() -> None:
    job, ids = with_run(swung(120.0, 180.0, 60.0))
    (first,) = job.scheme("v1", "p1").stripes
    bent = move_handle(first.nodes, first.nodes[-1].id, "before", (-80.0, -30.0))
    after = set_line_nodes(job, "v1", ids[0], bent)
    assert_one_line(after)
    (second,) = after.scheme("v1", "p2").stripes
    ax, ay = second.nodes[0].after
    assert ay / ax == pytest.approx(30 / 80)


def test_moving_one_stripe_moves_all() -> None:
    job, ids = with_run(path([(0, 100), (960, 160)]))
    before = find_run(job, "v1", ids[0]).path
    after = move_line(job, "v1", ids[1], 0.0, 15.0)
    assert_one_line(after)
    for node, old in zip(find_run(after, "v1", ids[2]).path, before, strict=True):
        assert node.at == pytest.approx((old.at[0], old.at[1] + 15), abs=1e-6)


def test_widths_of_one_stripe_set_the_taper_of_the_whole() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]), (30.0, 30.0))
    after = set_stripe_widths(job, "v1", ids[1], 40.0, 60.0)
    assert_one_line(after)
    middle = find_line(after, "v1", ids[1])[1]
    assert (middle.start_width_mm, middle.end_width_mm) == pytest.approx((40, 60))
    # The parts are 310, 330 and 320 mm long, so the width grows by 20 mm in 330.
    start, end = find_run(after, "v1", ids[0]).widths
    assert start == pytest.approx(40 - 20 * 310 / 330, abs=1e-3)
    assert end == pytest.approx(60 + 20 * 320 / 330, abs=1e-3)
    with pytest.raises(EditRefused, match="taper"):
        set_stripe_widths(job, "v1", ids[1], 5.0, 90.0)


def test_reversing_one_stripe_reverses_the_run() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]), (30.0, 60.0))
    panel, line = find_line(job, "v1", ids[1])
    after = replace_line(job, "v1", panel, reversed_line(line))
    run = find_run(after, "v1", ids[0])
    assert run.lines == ids[::-1]
    assert run.is_in_line
    assert run.widths == (60, 30)


def test_a_run_over_panels_moved_apart_is_edited_stripe_by_stripe() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]))
    apart = move_panel(job, "p2", (320.0, 400.0))
    assert not find_run(apart, "v1", ids[0]).is_in_line
    edited = move_line(apart, "v1", ids[1], 0.0, 5.0)
    assert edited.scheme("v1", "p1") == apart.scheme("v1", "p1")
    back = move_panel(apart, "p2", (320.0, 0.0))
    assert find_run(back, "v1", ids[0]).is_in_line
    together = apart
    for panel in ("p1", "p2", "p3"):
        x, y = job.panel(panel).at
        together = move_panel(together, panel, (x + 50, y - 9))
    assert find_run(together, "v1", ids[0]).is_in_line


def test_unlinked_stripes_go_their_own_ways() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]))
    alone = unlink_run(job, "v1", ids[0])
    assert find_run(alone, "v1", ids[0]) is None
    moved = move_line(alone, "v1", ids[1], 0.0, 5.0)
    assert moved.scheme("v1", "p3") == alone.scheme("v1", "p3")
    with pytest.raises(EditRefused, match="no run"):
        unlink_run(alone, "v1", ids[0])


def test_a_run_that_loses_its_middle_is_no_longer_in_line_and_still_edits() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]))
    left = delete_lines(job, "v1", ids[1:2])
    assert not find_run(left, "v1", ids[0]).is_in_line
    assert move_line(left, "v1", ids[0], 0, 3).scheme("v1", "p3") == left.scheme("v1", "p3")
    assert find_run(delete_lines(left, "v1", ids[:1]), "v1", ids[2]) is None


def test_a_run_cannot_leave_one_of_its_panels() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]))
    run = find_run(job, "v1", ids[0])
    with pytest.raises(EditRefused, match="Panel p3"):
        set_run(job, "v1", run, path([(0, 150), (640, 150)]), (20.0, 20.0))
    with pytest.raises(EditRefused, match="no width"):
        set_run(job, "v1", run, run.path, (0.0, 0.0))


def test_panels_over_each_other_refuse_a_run() -> None:
    job = job_with([rect_panel("p1", 300, 300), rect_panel("p2", 300, 300)])
    one = stripe("t1", [(0, 0), (1, 0)])
    with pytest.raises(EditRefused, match="two panels"):
        add_run(job, "v1", path([(0, 150), (300, 150)]), ("p1",), one)
    over = add_run(job, "v1", path([(0, 150), (300, 150)]), ("p1", "p2"), one)[0]
    # One on top of the other: parted in the middle of what they share.
    assert find_run(over, "v1", "t1").is_in_line


def test_panels_that_a_line_crosses_are_named_in_its_order() -> None:
    job = three_panels()
    line = path([(900, 150), (-10, 150)])
    assert panels_along(job, line) == ("p3", "p2", "p1")
    hidden = replace(
        job, panels=(job.panels[0], replace(job.panels[1], is_hidden=True), job.panels[2])
    )
    assert panels_along(hidden, line) == ("p3", "p1")
    assert panels_along(job, path([(-50, 150), (0, 150)])) == ()


def test_a_node_in_a_gap_becomes_the_joint() -> None:
    job, ids = with_run(path([(0, 100), (312, 150), (960, 200)]))
    assert find_line(job, "v1", ids[0])[1].nodes[-1].at == (312, 150)
    assert [n.at for n in find_run(job, "v1", ids[0]).path] == [
        (0, 100),
        (312, 150),
        (960, 200),
    ]


def test_a_run_is_saved_and_planned_on_each_panel() -> None:
    job, ids = with_run(swung(120.0, 180.0, 30.0))
    file = JobFile(job)
    assert from_bytes(to_bytes(file), "here").job == job
    for panel in plan_job(job).panels:
        assert len(panel.regions) == 3
    twice = add_line(job, "v1", "p1", replace(find_line(job, "v1", ids[0])[1], id="t9"))
    with pytest.raises(Exception, match="two stripes"):
        to_bytes(JobFile(twice))


def test_reversed_path_of_a_run_parts_as_well() -> None:
    job, ids = with_run(reverse_path(swung(120.0, 180.0, 30.0)))
    run = find_run(job, "v1", ids[0])
    assert [p.panel for p in run.parts] == ["p3", "p2", "p1"]
    assert run.is_in_line


def test_a_panel_within_another_refuses_a_run() -> None:
    job = job_with([rect_panel("p1", 1000, 300), rect_panel("p2", 200, 300, at=(400.0, 0.0))])
    line = path([(0, 150), (1000, 150)])
    with pytest.raises(EditRefused, match="over each other"):
        add_run(job, "v1", line, ("p1", "p2"), stripe("t1", [(0, 0), (1, 0)]))


def test_the_whole_of_a_run_is_given_as_one_stripe() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]), (30.0, 60.0))
    whole = find_run(job, "v1", ids[1]).stripe
    assert [n.at for n in whole.nodes] == [(0, 150), (960, 150)]
    assert (whole.start_width_mm, whole.end_width_mm) == (30, 60)


def test_other_edits_of_a_stripe_leave_its_neighbours_alone() -> None:
    job, ids = with_run(path([(0, 150), (960, 150)]))
    named = rename_line(job, "v1", ids[1], "Swoosh")
    assert named.scheme("v1", "p1") is job.scheme("v1", "p1")
    out = replace_line(job, "v1", "p2", replace(find_line(job, "v1", ids[1])[1], run=None))
    assert [p.panel for p in find_run(out, "v1", ids[0]).parts] == ["p1", "p3"]


def test_a_node_inserted_on_one_panel_stays_and_the_run_holds() -> None:
    job, ids = with_run(swung(120.0, 180.0, 40.0))
    line = find_line(job, "v1", ids[1])[1]
    longer = insert_node(line.nodes, line.nodes[0].id, 0.5, closed=False)
    after = set_line_nodes(job, "v1", ids[1], longer)
    assert_one_line(after)
    assert len(find_run(after, "v1", ids[0]).path) == 3


def test_a_handle_taken_away_at_a_joint_leaves_the_neighbour_s() -> None:
    job, ids = with_run(swung(120.0, 180.0, 60.0))
    line = find_line(job, "v1", ids[1])[1]
    bare = (replace(line.nodes[0], after=None), replace(line.nodes[1], before=None))
    after = set_line_nodes(job, "v1", ids[1], bare)
    assert_one_line_of_centres(after)
    old, new = (find_line(j, "v1", ids[0])[1].nodes[-1] for j in (job, after))
    assert new.before == pytest.approx(old.before)


def assert_one_line_of_centres(job):
    """Neighbouring centre lines meet; at a corner their sides do not."""
    ends = ends_on_canvas(job)
    for here, there in itertools.pairwise(ends.values()):
        assert math.dist(here[1][0], there[0][0]) < 1e-6


def test_a_second_run_and_its_unlinking_leave_the_first_alone() -> None:
    job, ids = with_run(path([(0, 80), (960, 80)]))
    like = stripe("t1", [(0, 0), (1, 0)])
    both, more = add_run(job, "v1", path([(0, 200), (960, 200)]), ("p1", "p2"), like)
    assert {find_line(both, "v1", i)[1].run for i in (*ids, *more)} == {"u1", "u2"}
    apart = unlink_run(both, "v1", more[0])
    assert find_run(apart, "v1", ids[0]).is_in_line
    assert apart.scheme("v1", "p3") is both.scheme("v1", "p3")


def test_joining_keeps_what_is_no_mere_joint() -> None:
    kink = [
        (Node(id="n1", at=(0.0, 0.0)), Node(id="j1", at=(10.0, 0.0))),
        (Node(id="j1", at=(10.0, 0.0)), Node(id="n2", at=(20.0, 9.0))),
    ]
    assert [n.at for n in join_paths(kink)] == [(0, 0), (10, 0), (20, 9)]
    same = [
        (Node(id="n1", at=(0.0, 0.0)), Node(id="n2", at=(10.0, 0.0))),
        (Node(id="n1", at=(10.0, 0.0)), Node(id="n2", at=(20.0, 9.0))),
    ]
    assert [n.id for n in join_paths(same)] == ["n1", "n2", "n3"]
    half = [
        (Node(id="n1", at=(0.0, 0.0)), Node(id="j1", at=(10.0, 0.0), before=(-3.0, 0.0))),
        (Node(id="j1", at=(10.0, 0.0)), Node(id="n2", at=(20.0, 0.0))),
    ]
    assert len(join_paths(half)) == 3
    bent = [
        (Node(id="n1", at=(0.0, 0.0), after=(3.0, 3.0)), Node(id="j1", at=(10.0, 0.0))),
        (Node(id="j1", at=(10.0, 0.0)), Node(id="n2", at=(20.0, 0.0))),
    ]
    assert len(join_paths(bent)) == 3
    flat = [
        (Node(id="n1", at=(0.0, 0.0)), Node(id="j1", at=(10.0, 0.0), before=(0.0, 0.0))),
        (Node(id="j1", at=(10.0, 0.0), after=(0.0, 0.0)), Node(id="n2", at=(20.0, 0.0))),
    ]
    assert len(join_paths(flat)) == 3

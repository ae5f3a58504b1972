"""Openings and marks of a panel kept symmetric: added, changed, deleted with their images."""

import pytest
from msgspec.structs import replace

from core.document.edits import built_up, outlines
from core.document.edits.ids import taken_ids
from core.document.edits.panels import replace_panel
from core.document.panel import Mark, MarkKind
from core.document.path import Node
from helpers.jobs import bolt, circle_path, hole, job_with, poly_panel, rect_panel

UPRIGHT = outlines.Axis((200.0, 0.0), 90.0)
ASLANT = outlines.Axis((0.0, 0.0), 45.0)


def kept(*, openings=(), marks=(), axis=UPRIGHT, size=(400, 300)):
    panel = replace(rect_panel("p1", *size), openings=openings, marks=marks)
    job = job_with([panel, rect_panel("p2", 50, 50, at=(900.0, 0.0))])
    return built_up.make_symmetric(job, "p1", axis, keeps_left=True, is_kept=True)


def changed(job, **parts):
    return replace_panel(job, replace(job.panel("p1"), **parts))


def spots(job):
    return sorted((m.path[0], m.kind, m.radius_mm) for m in job.panel("p1").marks)


def middles(job):
    """The middle of each opening's nodes, left to right."""
    rings = [[n.at for n in o.nodes] for o in job.panel("p1").openings]
    return sorted(
        (sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring))
        for ring in rings
    )


def ridge(*points):
    return Mark(id="m9", kind=MarkKind.RIDGE, path=points, radius_mm=2.0)


def test_an_opening_added_later_gets_its_image_under_an_id_of_its_own():
    job = kept(openings=(hole("o1", 60, 60, 20),))
    fresh = replace(hole("o8", 120, 200, 15), turn_mm=3.0, name="Lamp")
    after = changed(job, openings=(*job.panel("p1").openings, fresh))
    assert middles(after) == [
        pytest.approx(m) for m in ((60, 60), (120, 200), (280, 200), (340, 60))
    ]
    panel = after.panel("p1")
    assert len({o.id for o in panel.openings}) == 4
    assert {o.name for o in panel.openings if o.turn_mm == 3.0} == {"Lamp"}
    assert panel.symmetry is not None
    assert len(taken_ids(after)) == len(taken_ids(job)) + 2


def test_what_is_added_with_its_image_stays_as_it_is():
    job = kept()
    both = (hole("o3", 60, 60, 20), hole("o4", 340, 60, 20))
    assert changed(job, openings=both).panel("p1").openings == both
    spot = (hole("o3", 200, 60, 20),)
    assert changed(job, openings=spot).panel("p1").openings == spot


def test_an_opening_added_across_the_axis_becomes_symmetric():
    job = kept()
    ring = tuple(
        Node(id=f"n{i}", at=at)
        for i, at in enumerate([(150.0, 50.0), (220.0, 50.0), (220.0, 90.0), (150.0, 90.0)], 1)
    )
    (made,) = (
        changed(job, openings=(replace(hole("o3", 0, 0, 5), nodes=ring),)).panel("p1").openings
    )
    xs = [n.at[0] for n in made.nodes]
    assert (min(xs), max(xs)) == pytest.approx((150, 250))


def test_deleting_an_opening_deletes_its_image_and_undoing_is_the_old_value():
    job = kept(openings=(hole("o1", 60, 60, 20), hole("o2", 200, 200, 20)))
    openings = job.panel("p1").openings
    twin = next(o for o in openings if o.id not in ("o1", "o2"))
    after = changed(job, openings=tuple(o for o in openings if o.id != twin.id))
    assert [o.id for o in after.panel("p1").openings] == ["o2"]
    both_gone = tuple(o for o in openings if o.id == "o2")
    assert changed(job, openings=both_gone).panel("p1").openings == both_gone


def test_the_turn_into_an_opening_goes_to_its_image():
    job = kept(openings=(hole("o1", 60, 60, 20),))
    openings = tuple(
        replace(o, turn_mm=4.0) if o.id == "o1" else o for o in job.panel("p1").openings
    )
    assert [o.turn_mm for o in changed(job, openings=openings).panel("p1").openings] == [4, 4]


def test_marks_are_added_moved_and_deleted_with_their_images():
    job = kept(marks=(bolt("m1", 50, 100),))
    assert [at for at, *_ in spots(job)] == [(50, 100), (350, 100)]
    marks = job.panel("p1").marks
    fresh = Mark(id="m7", kind=MarkKind.DAMAGE, path=((120.0, 30.0),), radius_mm=12.0)
    more = changed(job, marks=(*marks, fresh))
    assert [at for at, *_ in spots(more)] == [(50, 100), (120, 30), (280, 30), (350, 100)]
    assert [r for *_, r in spots(more)] == [5, 12, 12, 5]
    moved = tuple(replace(m, path=((60.0, 90.0),)) if m.id == "m1" else m for m in marks)
    assert [at for at, *_ in spots(changed(job, marks=moved))] == [(60, 90), (340, 90)]
    assert changed(job, marks=marks[1:]).panel("p1").marks == ()


def test_a_mark_on_the_axis_stays_on_it_and_has_no_image():
    job = changed(kept(), marks=(bolt("m1", 200, 100),))
    assert len(job.panel("p1").marks) == 1
    moved = (replace(job.panel("p1").marks[0], path=((230.0, 140.0),)),)
    (mark,) = changed(job, marks=moved).panel("p1").marks
    assert mark.path == (pytest.approx((200, 140)),)


def test_a_ridge_across_the_axis_that_is_its_own_image_stays_so():
    job = changed(kept(), marks=(ridge((150.0, 100.0), (250.0, 100.0)),))
    (mark,) = job.panel("p1").marks
    bent = replace(mark, path=((140.0, 120.0), (250.0, 100.0)))
    (made,) = changed(job, marks=(bent,)).panel("p1").marks
    (ax, ay), (bx, by) = made.path
    assert (ax + bx, ay) == pytest.approx((400, by))
    (other,) = kept(marks=(ridge((100.0, 50.0), (100.0, 90.0)),)).panel("p1").marks[1:]
    assert other.path == ((300.0, 50.0), (300.0, 90.0))


def test_a_ridge_beside_the_axis_takes_its_image_along_whichever_way_it_runs():
    first = ridge((100.0, 50.0), (100.0, 90.0))
    other = replace(first, id="m8", path=((300.0, 90.0), (300.0, 50.0)))
    job = changed(kept(), marks=(first, other))
    assert job.panel("p1").marks == (first, other)
    moved = (replace(first, path=((110.0, 50.0), (100.0, 95.0))), other)
    assert changed(job, marks=moved).panel("p1").marks[1].path == ((300, 95), (290, 50))


def test_images_lie_right_about_an_axis_aslant():
    job = kept(axis=ASLANT, size=(300, 300))
    after = changed(
        job, openings=(hole("o3", 60, 200, 15),), marks=(bolt("m1", 30, 120),)
    ).panel("p1")
    assert [m.path[0] for m in after.marks] == [(30, 120), pytest.approx((120, 30))]
    assert middles(replace_panel(job, after))[1] == pytest.approx((200, 60))


def test_setting_the_axis_again_keeps_both_halves():
    job = kept(openings=(hole("o1", 60, 60, 20),), marks=(bolt("m1", 50, 100),))
    again = built_up.make_symmetric(job, "p1", UPRIGHT, keeps_left=True, is_kept=True)
    assert middles(again) == middles(job)
    assert spots(again) == spots(job)


def test_turning_over_about_the_own_axis_and_moving_the_panel_leave_all_pairs():
    job = kept(openings=(hole("o1", 60, 60, 20),), marks=(bolt("m1", 50, 100),))
    over = outlines.mirror_panel(job, "p1", UPRIGHT)
    assert middles(over) == [pytest.approx(m) for m in middles(job)]
    assert [at for at, *_ in spots(over)] == [pytest.approx(at) for at, *_ in spots(job)]


def test_a_hole_cut_by_another_panel_is_cut_on_both_halves():
    job = kept()
    cutter = replace(poly_panel("p2", [(0, 0), (40, 0), (40, 40), (0, 40)]), at=(60.0, 60.0))
    after = built_up.cut_away(replace_panel(job, cutter), "p1", "p2")
    assert middles(after) == [pytest.approx((80, 80)), pytest.approx((320, 80))]
    assert after.panel("p1").symmetry is not None


def test_a_bay_cut_into_one_side_is_cut_into_the_other():
    job = kept()
    cutter = replace(poly_panel("p2", [(0, 0), (60, 0), (60, 50), (0, 50)]), at=(-20.0, 60.0))
    after = built_up.cut_away(replace_panel(job, cutter), "p1", "p2").panel("p1")
    corners = {(round(x, 6), round(y, 6)) for x, y in (n.at for n in after.outline)}
    assert {(40, 60), (40, 110), (360, 60), (360, 110)} <= corners
    assert len(corners) == 12
    assert after.symmetry is not None


def test_free_halves_stay_free():
    job = kept()
    free = replace_panel(job, replace(job.panel("p1"), symmetry=None))
    one = (replace(hole("o3", 0, 0, 5), nodes=circle_path(60, 60, 20)),)
    assert changed(free, openings=one).panel("p1").openings == one

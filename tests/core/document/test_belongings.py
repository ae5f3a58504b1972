"""Openings and marks: added, moved, changed, deleted, and what is refused."""

import math

import pytest
from msgspec.structs import replace

from core.document.edits.belongings import (
    add_mark,
    add_opening,
    delete_belongings,
    find_belonging,
    mark_at,
    move_belongings,
    set_mark,
    set_opening,
    set_opening_size,
)
from core.document.edits.panels import replace_panel
from core.document.flatten import flatten
from core.document.measures import ring_size
from core.document.panel import Mark, MarkKind, Opening
from core.document.path import straight_path
from core.document.plain_rings import rectangle_ring, round_ring
from core.errors import EditRefused
from helpers.jobs import bolt, hole, job_with, rect_panel


@pytest.fixture
def job():
    """A panel with an opening and two marks, and a bare one."""
    marks = (bolt("m1", 300, 100), bolt("m2", 400, 100))
    first = rect_panel("p1", 600, 300, openings=(hole("o1", 500, 100, 30),), marks=marks)
    return job_with([first, rect_panel("p2", 200, 300, at=(700.0, 0.0))], [])


def square(name, x, y, side=20.0):
    return Opening(id=name, nodes=rectangle_ring((x, y), (x + side, y + side)))


def test_an_opening_is_added_and_all_else_stays_the_same_object(job):
    made = add_opening(job, "p1", square("o2", 100, 100))
    assert [o.id for o in made.panel("p1").openings] == ["o1", "o2"]
    assert made.panel("p2") is job.panel("p2")
    assert made.variants is job.variants


def test_one_drawn_clockwise_is_turned_round(job):
    clockwise = straight_path([(100, 100), (100, 120), (120, 120), (120, 100)])
    made = add_opening(job, "p1", Opening(id="o2", nodes=clockwise))
    ring = flatten(made.panel("p1").openings[1].nodes, closed=True)
    x, y = ring[:, 0], ring[:, 1]
    # The shoelace formula is positive counter-clockwise.
    assert sum(x * [*y[1:], y[0]] - y * [*x[1:], x[0]]) / 2 == pytest.approx(400)


@pytest.mark.parametrize(
    ("opening", "why"),
    [
        (square("o2", 590, 100), "within its panel"),
        (square("o2", 580, 100), "within its panel"),  # it touches the rim
        (square("o2", 800, 100), "within its panel"),
        (square("o2", 520, 100), "across another"),
        (square("o2", 490, 90), "across another"),
        (square("o2", 440, 40, 120), "across another"),
        (square("o1", 100, 100), "id o1"),
    ],
)
def test_where_an_opening_cannot_be_it_is_refused(job, opening, why):
    with pytest.raises(EditRefused, match=why):
        add_opening(job, "p1", opening)


def test_a_ring_that_crosses_itself_or_has_no_area_is_no_opening(job):
    bow = straight_path([(100, 100), (150, 150), (150, 100), (100, 150)])
    flat = straight_path([(100, 100), (150, 100), (200, 100)])
    for nodes in (bow, flat):
        with pytest.raises(EditRefused, match="no plain shape"):
            add_opening(job, "p1", Opening(id="o2", nodes=nodes))


def test_an_old_opening_that_lies_wrong_hinders_nothing(job):
    panel = job.panel("p1")
    wrong = replace_panel(job, replace(panel, openings=(square("o1", 590, 0),)))
    assert len(add_opening(wrong, "p1", square("o2", 100, 100)).panel("p1").openings) == 2
    assert set_opening(wrong, "o1", turn_mm=2.0).panel("p1").openings[0].turn_mm == 2.0


def test_a_mark_may_lie_on_the_rim_but_not_beyond(job):
    assert len(add_mark(job, "p2", bolt("m3", 0, 10)).panel("p2").marks) == 1
    with pytest.raises(EditRefused, match="A ridge lies on its panel"):
        add_mark(job, "p2", Mark(id="m3", kind=MarkKind.RIDGE, path=((9, 9), (300, 9))))
    with pytest.raises(EditRefused):
        add_mark(job, "p2", bolt("m3", 10, 10, -1))


def test_marks_and_openings_move_as_they_are(job):
    made = move_belongings(job, ["m1", "o1"], 5, -20)
    assert made.panel("p1").marks[0].path == ((305.0, 80.0),)
    assert made.panel("p1").marks[1] == job.panel("p1").marks[1]
    assert made.panel("p1").openings[0].nodes[0].at == (535.0, 80.0)
    with pytest.raises(EditRefused, match="within its panel"):
        move_belongings(job, ["o1"], 80, 0)
    with pytest.raises(KeyError):
        move_belongings(job, ["m9"], 1, 1)


def test_a_mark_is_changed_one_value_at_a_time(job):
    made = set_mark(job, "m1", kind=MarkKind.BADGE)
    made = set_mark(set_mark(made, "m1", radius_mm=9.0), "m1", note="Screwed on")
    mark = Mark(
        id="m1", kind=MarkKind.BADGE, path=((300, 100),), radius_mm=9.0, note="Screwed on"
    )
    assert find_belonging(made, "m1")[1] == mark
    with pytest.raises(EditRefused):
        set_mark(job, "m1", radius_mm=math.inf)


def test_an_opening_is_scaled_about_its_middle(job):
    made = set_opening_size(job, "o1", 40.0, None).panel("p1").openings[0]
    assert ring_size(made.nodes) == pytest.approx((40, 60))
    for size in (0.0, -5.0):
        with pytest.raises(EditRefused, match="size"):
            set_opening_size(job, "o1", size, None)
    with pytest.raises(EditRefused, match="within its panel"):
        set_opening_size(job, "o1", 400.0, None)


def test_several_are_deleted_at_once(job):
    made = delete_belongings(job, ["m1", "o1"])
    assert [m.id for m in made.panel("p1").marks] == ["m2"]
    assert made.panel("p1").openings == ()


def test_of_marks_that_overlap_the_nearest_is_found(job):
    panel = add_mark(job, "p1", bolt("m3", 300, 100, 80)).panel("p1")
    panel = replace(panel, marks=panel.marks[::-1])
    found = mark_at(panel, (398, 100), 4)
    assert found is not None
    assert found.id == "m2"
    assert mark_at(panel, (340, 100), 4, is_close=True) is None


def test_a_round_ring_is_a_circle_to_a_few_hundredths_of_a_percent():
    ring = flatten(round_ring((10, 20), 50), closed=True)
    away = [math.dist(p, (10, 20)) for p in ring]
    assert max(away) == pytest.approx(50, rel=3e-4)
    assert min(away) == pytest.approx(50, rel=3e-4)
    for make in (lambda: round_ring((0, 0), 0.4), lambda: rectangle_ring((0, 0), (9, 0))):
        with pytest.raises(EditRefused, match="no size"):
            make()

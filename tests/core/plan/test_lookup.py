import numpy as np
import pytest
from shapely import LineString, Point

from core.document.lines import Side
from core.geometry.snapping import find_catch
from core.plan import lookup
from core.plan.plan import plan_job
from helpers.jobs import (
    bolt,
    hole,
    job_with,
    poly_panel,
    rect_panel,
    scheme,
    seam,
    spot,
    stripe,
)


@pytest.fixture
def plan():
    first = rect_panel("p1", 400, 200, is_pair=True, edge_turn_mm=10.0)
    second = rect_panel("p2", 100, 100, at=(350.0, 50.0))
    drawn = scheme(
        "p1",
        seam("s1", [(200, 0), (200, 200)]),
        stripe("t1", [(0, 100), (400, 100)], 40),
        spot("c1", 300, 20, "f3"),
    )
    return plan_job(job_with([first, second], [drawn]))


def test_drawn_plans_are_the_first_copies_unmirrored(plan):
    plans = lookup.drawn_plans(plan)
    assert {k: v.id for k, v in plans.items()} == {"p1": "p1L", "p2": "p2"}


def test_the_later_panel_lies_above(plan):
    assert lookup.find_panel_at(plan, (360, 60)).id == "p2"
    assert lookup.find_panel_at(plan, (340, 60)).id == "p1"
    assert lookup.find_panel_at(plan, (-30, 60)) is None
    assert lookup.find_panel_at(plan, (-30, 60), 25).id == "p1"


def test_an_opening_belongs_to_its_panel():
    plan = plan_job(job_with([rect_panel("p1", 100, 100, openings=(hole("o1", 50, 50, 20),))]))
    assert lookup.find_panel_at(plan, (50, 50)).id == "p1"


def test_an_outline_that_is_no_shape_is_found_by_its_bounds():
    bow = poly_panel("p1", [(0, 0), (100, 100), (100, 0), (0, 100)])
    plan = plan_job(job_with([bow]))
    own = lookup.drawn_plans(plan)["p1"]
    assert own.outline.is_empty
    assert lookup.panel_bounds(bow, own) == (0, 0, 100, 100)
    assert lookup.find_panel_at(plan, (50, 20)).id == "p1"


def test_region_and_its_spots_at_a_point(plan):
    own = lookup.drawn_plans(plan)["p1"]
    region = lookup.find_region_at(own, (300, 20))
    assert region.film == "f3"
    assert lookup.spots_in(region, plan.job.scheme("v1", "p1")) == ("c1",)
    assert lookup.find_region_at(own, (900, 20)) is None


def test_nearest_stretch_within_reach(plan):
    own = lookup.drawn_plans(plan)["p1"]
    assert lookup.find_stretch_near(own, (203, 30), 5).line == "s1"
    assert lookup.find_stretch_near(own, (100, 83), 5).line == "t1"
    assert lookup.find_stretch_near(own, (100, 30), 5) is None


def test_labels_lie_in_their_regions_clear_of_marks():
    panel = rect_panel("p1", 100, 100, marks=(bolt("m1", 50, 50, 8),))
    own = lookup.drawn_plans(plan_job(job_with([panel])))["p1"]
    ((at, room),) = lookup.label_places(own, panel.marks).values()
    assert own.regions[0].polygon.contains(Point(at))
    assert Point(at).distance(Point(50, 50)) > 8
    assert room > 0


def test_scales_stand_on_the_side_that_lies_on_top(plan):
    own = lookup.drawn_plans(plan)["p1"]
    stretch = max((s for s in own.stretches if s.line == "s1"), key=lambda s: s.length_mm)
    marks = lookup.scale_marks(stretch, 20, 4)
    assert len(marks) == int(stretch.length_mm / 20)
    tips = marks[:, 1]
    # The seam runs up, so its left is at smaller x.
    assert np.all(tips[:, 0] < 200) == (stretch.top_side is Side.LEFT)
    assert np.allclose(marks[:, [0, 2], 0], 200)


def test_a_short_stretch_gets_one_scale(plan):
    own = lookup.drawn_plans(plan)["p1"]
    assert len(lookup.scale_marks(own.stretches[0], 1e5, 4)) == 1


def test_the_sides_of_a_stripe_are_caught_but_not_what_is_left_out(plan):
    own, panel = lookup.drawn_plans(plan)["p1"], plan.job.panel("p1")
    drawn = plan.job.scheme("v1", "p1")
    field = lookup.snap_field(panel, drawn, own)
    caught = find_catch(field, (100, 82), 5)
    assert (caught.track, caught.at) == ("t1", pytest.approx((100, 80)))
    assert lookup.name_of_track("t1", panel, drawn) == "Stripe 1"
    assert find_catch(lookup.snap_field(panel, drawn, own, ("t1",)), (100, 82), 5) is None
    assert find_catch(lookup.snap_field(panel, drawn, own, ("p1",)), (2, 40), 5) is None


def test_places_of_a_mirrored_copy_are_shown_on_the_drawn_one(plan):
    assert lookup.find_place(plan, "p1R", (-30, 40)) == (30, 40)
    assert lookup.find_place(plan, "p2", (1, 2)) == (351, 52)
    assert lookup.find_place(plan, "p9", (1, 2)) is None


def test_same_points_are_the_same_shape():
    a, b = LineString([(0, 0), (1, 1)]), LineString([(0, 0), (1, 1)])
    assert lookup.is_same_shape(a, b)
    assert not lookup.is_same_shape(a, LineString([(0, 0), (1, 1.0001)]))


def test_regions_of_the_other_copy_are_shown_on_the_drawn_one(plan):
    right = next(p for p in plan.panels if p.id == "p1R")
    left = next(p for p in plan.panels if p.id == "p1L")
    for own, twin in zip(right.regions, left.regions, strict=True):
        assert lookup.drawn_id(plan, own.id) == twin.id
        assert own.film == twin.film
    assert lookup.drawn_id(plan, "s1") == "s1"

"""Colours stay with their regions when a line is dragged over the spot that painted them."""

from msgspec.structs import replace
from shapely import Point

from core.document.edits.lines import add_line, delete_lines, move_line
from core.document.edits.spots import delete_spots, paint
from core.document.job import Job
from core.plan.colours import carry_colours
from core.plan.plan import plan_job
from helpers.jobs import inlay, job_with, poly_panel, rect_panel, scheme, seam, spot, stripe


def halves() -> Job:
    return job_with(
        [rect_panel("p1", 400, 300)],
        [scheme("p1", seam("s1", [(200, 0), (200, 300)]), spot("c1", 220, 150))],
    )


def film_at(job: Job, x: float, y: float) -> str:
    regions = plan_job(job).panels[0].regions
    return next(r.film for r in regions if r.polygon.contains(Point(x, y)))


def test_a_seam_dragged_over_a_spot_keeps_both_colours_where_they_were():
    job = halves()
    moved = move_line(job, "v1", "s1", 60.0, 0.0)
    assert film_at(moved, 100, 150) == "f2"  # as a point alone would have it
    carried = carry_colours(plan_job(job), moved)
    assert film_at(carried, 100, 150) == "f1"
    assert film_at(carried, 300, 150) == "f2"
    assert plan_job(carried).findings == ()


def test_a_drag_that_meets_no_spot_changes_nothing():
    job = halves()
    moved = move_line(job, "v1", "s1", -60.0, 0.0)
    assert carry_colours(plan_job(job), moved) is moved


def test_dragged_past_all_it_had_the_region_still_keeps_its_colour():
    job = job_with(
        [rect_panel("p1", 400, 300)],
        [
            scheme(
                "p1",
                seam("s1", [(200, 0), (200, 300)]),
                seam("s2", [(240, 0), (240, 300)]),
                spot("c1", 220, 150),
            )
        ],
    )
    moved = move_line(move_line(job, "v1", "s2", 120.0, 0.0), "v1", "s1", 110.0, 0.0)
    carried = carry_colours(plan_job(job), moved)
    assert [film_at(carried, x, 150) for x in (100, 330, 380)] == ["f1", "f2", "f1"]


def test_two_spots_that_would_meet_stay_apart():
    job = halves()
    job = paint(job, "v1", "p1", (100.0, 150.0), "f3")
    carried = carry_colours(plan_job(job), move_line(job, "v1", "s1", 60.0, 0.0))
    assert plan_job(carried).findings == ()
    assert film_at(carried, 100, 150) == "f3"


def test_spots_that_the_edit_itself_changed_are_left_alone():
    job = halves()
    repainted = paint(job, "v1", "p1", (100.0, 150.0), "f3", replacing=["c1"])
    assert carry_colours(plan_job(job), repainted) is repainted
    gone = delete_spots(job, "v1", ["c1"])
    assert carry_colours(plan_job(job), gone) is gone


def test_when_its_region_is_gone_a_spot_stays():
    job = halves()
    whole = delete_lines(job, "v1", ["s1"])
    assert carry_colours(plan_job(job), whole) is whole


def test_regions_that_share_a_name_are_not_guessed_at():
    # A U: one seam across both legs leaves two regions on its left.
    u = [(0, 0), (400, 0), (400, 300), (300, 300), (300, 100), (100, 100), (100, 300), (0, 300)]
    job = job_with(
        [poly_panel("p1", u)],
        [scheme("p1", seam("s1", [(0, 200), (400, 200)]), spot("c1", 350, 210))],
    )
    moved = move_line(job, "v1", "s1", 0.0, 40.0)
    assert carry_colours(plan_job(job), moved) is moved


def test_a_variant_that_is_gone_carries_nothing():
    job = halves()
    other = replace(job, variants=(replace(job.variants[0], id="v9"),))
    assert carry_colours(plan_job(job), other) is other


def test_a_seam_across_a_painted_region_leaves_both_halves_in_its_film():
    job = halves()
    cut = add_line(job, "v1", "p1", seam("s2", [(0, 100), (400, 100)]))
    assert film_at(cut, 300, 50) == "f1"  # as a point alone would have it
    carried = carry_colours(plan_job(job), cut)
    assert [film_at(carried, *at) for at in ((300, 50), (300, 250))] == ["f2", "f2"]
    assert [film_at(carried, *at) for at in ((100, 50), (100, 250))] == ["f1", "f1"]
    assert plan_job(carried).findings == ()


def test_an_inlay_over_the_spot_of_a_region_keeps_its_own_film_and_the_regions():
    job = halves()
    ring = inlay("i1", [(205, 100), (260, 100), (260, 200), (205, 200)], film="f3")
    carried = carry_colours(plan_job(job), add_line(job, "v1", "p1", ring))
    assert film_at(carried, 220, 150) == "f3"
    assert film_at(carried, 350, 150) == "f2"
    assert plan_job(carried).findings == ()


def test_a_stripe_across_a_painted_region_leaves_both_sides_in_its_film():
    job = halves()
    band = stripe("t1", [(0, 150), (400, 150)], 40, film="f3")
    carried = carry_colours(plan_job(job), add_line(job, "v1", "p1", band))
    assert [film_at(carried, 300, y) for y in (50, 150, 250)] == ["f2", "f3", "f2"]
    assert [film_at(carried, 100, y) for y in (50, 150, 250)] == ["f1", "f3", "f1"]


def test_a_seam_across_what_has_no_spot_paints_nothing():
    job = halves()
    cut = add_line(job, "v1", "p1", seam("s2", [(0, 100), (200, 100)]))
    assert carry_colours(plan_job(job), cut) is cut

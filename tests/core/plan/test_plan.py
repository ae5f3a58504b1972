"""Planning as a pure function: nothing is planned twice, names last, colours stay."""

import msgspec
import pytest
from msgspec.structs import replace
from shapely import Point, box

from core.document.edits.lines import add_line, move_line, rename_line, set_line_nodes
from core.document.edits.panels import move_panel
from core.document.file import JobFile, from_bytes, to_bytes
from core.document.job import Job, Settings
from core.document.variant import Variant
from core.errors import InputError
from core.plan.model import JobPlan, PanelPlan
from core.plan.plan import find_variant, plan_job
from helpers.jobs import (
    disc_panel,
    film,
    inlay,
    job_with,
    path,
    poly_panel,
    rect_panel,
    scheme,
    seam,
    spot,
    stripe,
)


def two_panels() -> Job:
    return job_with(
        [rect_panel("p1", 400, 300, edge_turn_mm=10.0), disc_panel("p2", 200, is_pair=True)],
        [
            scheme(
                "p1",
                seam("s1", [(150, 0), (150, 300)]),
                seam("s2", [(300, 0), (300, 300)]),
                spot("c1", 200, 150),
            ),
            scheme("p2", stripe("t1", [(-200, 20), (200, 40)], 30)),
        ],
    )


def only(plan: JobPlan, of: str = "p1") -> PanelPlan:
    return next(p for p in plan.panels if p.of == of)


def film_at(plan: JobPlan, x: float, y: float) -> str:
    return next(r.film for r in only(plan).regions if r.polygon.contains(Point(x, y)))


def test_the_same_job_gives_the_very_same_plan():
    job = two_panels()
    assert plan_job(job) is plan_job(job)
    assert plan_job(job, "v1") is plan_job(job, "As drawn")


def test_an_edit_of_one_panel_leaves_the_others_plans_as_they_are():
    job = two_panels()
    before = plan_job(job)
    after = plan_job(move_line(job, "v1", "s1", 5.0, 0.0))
    assert after.panels[1] is before.panels[1]
    assert after.panels[2] is before.panels[2]
    assert after.panels[0] is not before.panels[0]


def test_going_back_to_an_earlier_job_costs_nothing():
    job = two_panels()
    before = plan_job(job)
    plan_job(move_line(job, "v1", "s1", 5.0, 0.0))
    assert all(a is b for a, b in zip(plan_job(job).panels, before.panels, strict=True))


@pytest.mark.parametrize(
    "change",
    [
        lambda job: replace(job, name="Other", currency="EUR"),
        lambda job: replace(
            job, films=tuple(replace(f, name=f"{f.name}!", price_per_m=9.0) for f in job.films)
        ),
    ],
    ids=["job", "films"],
)
def test_what_does_not_matter_to_a_panel_plans_nothing_anew(change):
    job = two_panels()
    before, after = plan_job(job), plan_job(change(job))
    assert all(a is b for a, b in zip(before.panels, after.panels, strict=True))


@pytest.mark.parametrize(
    "change",
    [
        lambda job: replace(job, settings=Settings(lap_mm=20.0)),
        lambda job: replace(job, films=tuple(replace(f, rank=9 - f.rank) for f in job.films)),
    ],
    ids=["lap", "ranks"],
)
def test_what_matters_does(change):
    job = two_panels()
    before, after = plan_job(job), plan_job(change(job))
    assert [p.final.wkb for p in before.pieces] != [p.final.wkb for p in after.pieces]


def geometry(plan: JobPlan) -> list[object]:
    return [
        (p.id, [(r.id, r.film, r.polygon.wkb) for r in p.regions],
         [(s.id, s.top, s.under, s.path.wkb) for s in p.stretches],
         [(x.id, x.order, x.final.wkb, x.cut.wkb, [t.wkb for t in x.ticks]) for x in p.pieces],
         p.findings)
        for p in plan.panels
    ]  # fmt: skip


def test_equal_jobs_give_equal_plans():
    job = two_panels()
    twin = msgspec.json.decode(msgspec.json.encode(job), type=Job)
    assert twin == job
    assert twin is not job
    assert geometry(plan_job(job)) == geometry(plan_job(twin))


def test_a_saved_job_has_the_plan_it_had():
    job = two_panels()
    again = from_bytes(to_bytes(JobFile(job)), "memory").job
    assert geometry(plan_job(job)) == geometry(plan_job(again))


def test_variants_are_found_by_id_and_by_name():
    job = replace(
        two_panels(), variants=(*two_panels().variants, Variant(id="v2", name="Quiet"))
    )
    assert find_variant(job, "v2") is job.variants[1]
    assert find_variant(job, "Quiet") is job.variants[1]
    assert plan_job(job).variant.id == "v1"
    assert len(plan_job(job, "Quiet").pieces) == 3
    with pytest.raises(InputError, match='"As drawn", "Quiet"'):
        plan_job(job, "Loud")


def test_a_job_without_panels_has_an_empty_plan():
    plan = plan_job(job_with())
    assert (plan.panels, plan.findings, plan.is_stopped) == ((), (), False)


def ids(plan: JobPlan) -> dict[str, str]:
    return {r.id: r.film for r in only(plan).regions}


@pytest.mark.parametrize("dx", [-60.0, -0.3, 25.0, 45.0])
def test_a_moved_seam_leaves_every_region_its_name_and_colour(dx):
    job = two_panels()
    assert ids(plan_job(move_line(job, "v1", "s1", dx, 0.0))) == ids(plan_job(job))


def test_a_bent_seam_leaves_every_region_its_name_and_colour():
    job = two_panels()
    bent = path([(150, 0), (120, 100), (170, 200), (150, 300)])
    assert ids(plan_job(set_line_nodes(job, "v1", "s1", bent))) == ids(plan_job(job))


def test_a_line_elsewhere_leaves_untouched_regions_their_names():
    job = two_panels()
    before = ids(plan_job(job))
    more = add_line(job, "v1", "p1", inlay("i1", [(20, 20), (80, 20), (50, 90)], film="f3"))
    after = ids(plan_job(more))
    untouched = {i for i in before if "s1R" in i or "s2" in i}
    assert len(untouched) == 2
    assert {i: before[i] for i in untouched} == {i: after[i] for i in untouched}


def test_a_rename_changes_nothing_else():
    job = two_panels()
    renamed = rename_line(job, "v1", "s1", "Shoulder")
    assert geometry(plan_job(renamed)) == geometry(plan_job(job))


def test_a_panel_moved_on_the_canvas_keeps_its_plan():
    job = two_panels()
    assert geometry(plan_job(move_panel(job, "p1", (900.0, -50.0)))) == geometry(plan_job(job))


def test_the_first_of_two_areas_is_covered_by_the_second():
    # Later lines colour over earlier ones: inlays over stripes.
    job = job_with(
        [rect_panel("p1", 400, 300)],
        [
            scheme(
                "p1",
                stripe("t1", [(0, 150), (400, 150)], 60, film="f2"),
                inlay("i1", [(150, 100), (250, 100), (250, 200), (150, 200)], film="f3"),
            )
        ],
    )
    plan = plan_job(job)
    assert film_at(plan, 200, 150) == "f3"
    assert film_at(plan, 50, 150) == "f2"
    assert film_at(plan, 200, 110) == "f3"


def test_a_painted_spot_goes_before_the_colour_of_a_stripe():
    job = job_with(
        [rect_panel("p1", 400, 300)],
        [scheme("p1", stripe("t1", [(0, 150), (400, 150)], 60), spot("c1", 200, 150, "f3"))],
    )
    assert film_at(plan_job(job), 200, 150) == "f3"


def test_a_films_rank_decides_and_its_inside_radius_rounds():
    job = two_panels()
    rounder = replace(job, films=(film("f1", min_inside_radius_mm=9.0), *job.films[1:]))
    before, after = plan_job(job), plan_job(rounder)
    assert [p.final.wkb for p in before.pieces] == [p.final.wkb for p in after.pieces]
    assert after.pieces[0].spec.inside_radius_mm == 9.0


def test_a_stripe_reaches_the_turned_rim_where_that_bulges_beside_its_centre_line():
    # The left rim leans outwards: above the centre line it lies further left than on it.
    lean = [(0, 0), (400, 0), (400, 300), (-30, 300)]
    panel = poly_panel("p1", lean, edge_turn_mm=15.0)
    job = job_with([panel], [scheme("p1", stripe("t1", [(-15, 150), (400, 150)], 60))])
    (planned,) = plan_job(job).panels
    (band,) = [r for r in planned.regions if r.film == "f2"]
    middle = planned.extended.intersection(box(-100, 120, 500, 180))
    assert band.polygon.area == pytest.approx(middle.area, rel=1e-6)

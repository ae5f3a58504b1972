import pytest
from msgspec.structs import replace

from core.document.edits.built_up import split_panel
from core.plan.keep_colours import join_in_colour, split_in_colour
from core.plan.plan import plan_job
from helpers.jobs import inlay, job_with, rect_panel, scheme, seam, spot, stripe


@pytest.fixture
def job():
    drawn = scheme(
        "p1",
        seam("s1", [(0, 50), (400, 60)]),
        stripe("t1", [(0, 100), (400, 100)], (20, 40)),
        inlay("i1", [(180, 130), (340, 130), (340, 180), (180, 180)]),
        spot("c1", 10, 10, "f3"),
    )
    return job_with([rect_panel("p1", 400, 200)], [drawn])


def by_film(job):
    films = {}
    for plan in plan_job(job, "v1").panels:
        for region in plan.regions:
            films[region.film] = films.get(region.film, 0.0) + region.polygon.area
    return films


def test_a_cut_panel_looks_as_the_whole_did(job):
    cut = split_in_colour(job, "p1", ("n1", "n3"))
    for film, area in by_film(job).items():
        # The slant ends of a taper differ by a little.
        assert by_film(cut)[film] == pytest.approx(area, abs=3.0)
    # Without help the half of the painted region that has no spot would lose its film.
    bare = by_film(split_panel(job, "p1", "n1", "n3"))
    assert bare["f3"] < by_film(job)["f3"] - 1000


def test_a_cut_needs_no_more_spots_than_regions_that_lost_theirs(job):
    cut = split_in_colour(job, "p1", ("n1", "n3"))
    spots = [s for p in cut.panels for s in cut.scheme("v1", p.id).spots]
    assert sorted(s.film for s in spots) == ["f3", "f3"]
    assert len({s.id for s in spots}) == 2


def test_joined_panels_keep_the_films_that_a_line_parts():
    right = rect_panel("p2", 300, 200, at=(300.0, 0.0), base_film="f2")
    drawn = scheme("p1", seam("s1", [(300, 0), (300, 200)]))
    job = job_with([rect_panel("p1", 310, 200), right], [drawn])
    joined = by_film(join_in_colour(job, "p1", "p2"))
    assert joined == {"f1": pytest.approx(60_000), "f2": pytest.approx(60_000)}


def test_other_panels_and_variants_stay_as_they_are(job):
    other = rect_panel("p2", 100, 100, at=(900.0, 0.0))
    first = job.variants[0]
    wide = replace(
        job,
        panels=(*job.panels, other),
        variants=(first, replace(first, id="v2", name="Plain", schemes=())),
    )
    cut = split_in_colour(wide, "p1", ("n1", "n3"))
    assert cut.variants[1].schemes == ()
    assert cut.panel("p2") == other

"""Strain over a panel's map, and proposals drawn, on a cap of a ball."""

from dataclasses import replace as replace_proposal

import numpy as np
import pytest
from msgspec.structs import replace
from shapely import LineString

from core.document.film import Film
from core.document.lines import Seam, SeamRule, Stripe, Under
from core.document.panel import Mark, MarkKind
from core.document.surface import MeasuredSurface
from core.errors import EditRefused
from core.plan.lookup import drawn_plans
from core.plan.plan import plan_job
from core.plan.proposal_check import laid
from core.plan.seam_proposals import (
    accent_film,
    adopt,
    distinct,
    question_for,
)
from core.plan.strain_map import strain_map, strain_words
from core.progress import Silent
from core.read.scan import ScanMesh
from core.read.scan_panel import PanelWish, panel_from_scan
from core.shape.proposals.model import LineKind, Proposal, ProposedLine
from core.shape.scanned import mesh_from_bytes
from helpers.jobs import job_with, rect_panel, seam, stripe
from helpers.surfaces import cap


@pytest.fixture(scope="module")
def made():
    """A job with a cap of 40 degrees of a ball, laid flat, and its network by file."""
    mesh = ScanMesh(*cap(40.0, rings=10))
    chosen = np.ones(len(mesh.triangles), dtype=bool)
    made = panel_from_scan(job_with([]), mesh, chosen, PanelWish("Cap", "f1"))
    return made, {made.file: mesh_from_bytes(made.data, "cap").network}


def with_limits(job, bunching, stretch):
    film = replace(
        job.films[0],
        bunching_limit_pct=bunching,
        stretch_limit_pct=stretch,
        warm_stretch_limit_pct=stretch,
    )
    return replace(job, films=(film, *job.films[1:]))


def mapped(made, bunching, stretch):
    job = with_limits(made[0].job, bunching, stretch)
    panel = plan_job(job, None, made[1]).panels[0]
    x, y = panel.outline.centroid.coords[0]
    reach = (panel.outline.bounds[2] - panel.outline.bounds[0]) / 2
    return strain_map(panel, job), (x, y), reach


def test_a_cap_stretches_in_the_middle_and_bunches_at_its_rim(made):
    # The least elastic energy of a disc on a ball: Grason & Davidovitch, PNAS 110 (2013).
    found, (x, y), reach = mapped(made, 2.0, 5.0)
    middle, rim = found.at(x, y), found.at(x + 0.97 * reach, y)
    assert middle.stretch_pct > 2.0
    assert middle.share > 0
    assert rim.bunching_pct > 2.0
    assert rim.share < -1.0
    assert strain_words(rim).startswith("bunches")
    assert strain_words(middle).startswith("stretches")
    assert found.at(x + 2 * reach, y) is None


def test_a_film_that_takes_enough_stays_within_its_limits(made):
    # Milnor 1969: a cap of 40 degrees can be laid with a range of 8.6 %, not with less.
    enough, _, _ = mapped(made, 4.0, 8.0)
    too_little, _, _ = mapped(made, 2.0, 5.0)
    assert np.quantile(enough.shares.values, 0.98) < 1.0
    assert np.quantile(too_little.shares.values, 0.98) > 1.0
    stretch = too_little.shares.values[..., 1]
    assert np.quantile(stretch[stretch > 0], 0.98) < 1.02  # pulled no further than it goes


def test_a_flat_panel_has_no_strain():
    job = job_with([rect_panel("p1", 600, 300)])
    assert strain_map(plan_job(job).panels[0], job) is None


# Proposals


def proposal(*lines, can_lay=True):
    return Proposal(
        lines=lines,
        family="straight",
        ranges_pct=(3.0 if can_lay else 30.0,),
        seam_mm=100.0,
        hidden_share=0.0,
        limit_pct=7.0,
        sentence="Two seams: that is all.",
    )


def across(x, kind=LineKind.SEAM, width=0.0):
    return ProposedLine(kind, LineString([(x, -300), (x, 300)]), width)


def planned(made):
    job = made[0].job
    return job, plan_job(job, None, made[1])


def drawn_of(plan):
    return next(iter(drawn_plans(plan).values()))


def test_seams_and_stripes_are_drawn_and_divide_the_panel(made):
    job, plan = planned(made)
    x = drawn_of(plan).outline.centroid.x
    wanted = proposal(across(x - 80), across(x + 60, LineKind.STRIPE, 40.0))
    fresh = adopt(job, "v1", drawn_of(plan), wanted, "f2")
    scheme = fresh.scheme("v1", "p1")
    assert isinstance(scheme.seams[0], Seam)
    assert isinstance(scheme.stripes[0], Stripe)
    assert (scheme.stripes[0].film, scheme.stripes[0].start_width_mm) == ("f2", 40.0)
    again = plan_job(fresh, None, made[1])
    assert len(again.panels[0].pieces) == 4
    seen = laid(again, "p1", Silent())
    assert len(seen.shapes) == len(seen.areas) == 4
    whole = sum(area.area for area, _ in seen.areas)
    assert whole == pytest.approx(drawn_of(plan).outline.area, rel=1e-6)


def test_a_bent_seam_runs_smoothly_through_its_points(made):
    job, plan = planned(made)
    path = LineString([(-50, -300), (-20, 0), (-50, 300)])
    fresh = adopt(job, "v1", drawn_of(plan), proposal(ProposedLine(LineKind.SEAM, path)), "f2")
    nodes = fresh.scheme("v1", "p1").seams[0].nodes
    assert [n.smooth for n in nodes] == [False, True, False]
    assert nodes[1].after == pytest.approx((0.0, 100.0))


def test_what_is_drawn_already_is_not_drawn_twice(made):
    job, plan = planned(made)
    x = drawn_of(plan).outline.centroid.x
    once = adopt(job, "v1", drawn_of(plan), proposal(across(x)), "f2")
    again = drawn_of(plan_job(once, None, made[1]))
    near = across(x + 1).path.intersection(drawn_of(plan).outline)
    with pytest.raises(EditRefused, match="already"):
        adopt(once, "v1", again, proposal(ProposedLine(LineKind.SEAM, near)), "f2")


def test_proposals_that_look_alike_are_shown_once():
    one, near, other = (proposal(across(x)) for x in (0.0, 3.0, 60.0))
    relief = proposal(across(9.0, LineKind.RELIEF))
    assert distinct([relief, one, near, other]) == [relief, one, other]


def test_the_question_holds_the_film_and_what_hides_seams(made):
    job, _ = planned(made)
    ridge = Mark(id="m1", kind=MarkKind.RIDGE, path=((-50.0, 0.0), (50.0, 0.0)))
    panel = replace(job.panels[0], marks=(ridge,))
    scheme = replace(job.scheme("v1", "p1"), seams=(seam("s1", [(0, -400), (0, 400)]),))
    variant = replace(job.variants[0], schemes=(scheme,))
    job = replace(with_limits(job, 1.0, 3.0), panels=(panel,), variants=(variant,))
    question = question_for(plan_job(job, None, made[1]), "p1")
    assert (question.window.bunching_pct, question.window.stretch_pct) == (1.0, 3.0)
    assert len(question.own_lines) == 1
    assert len(question.hiding) == 2
    assert question.stripe_mm > 0
    # A stripe's edges divide, too, and no second one is tried; film that runs on beneath in one
    # is not divided.
    overlay = SeamRule(under=Under.FULL)
    lines = {
        "seams": (seam("s1", [(0, -400), (0, 400)], rule=overlay),),
        "stripes": (stripe("t1", [(90, -400), (90, 400)]),),
    }
    variant = replace(job.variants[0], schemes=(replace(scheme, **lines),))
    job = replace(job, variants=(variant,))
    question = question_for(plan_job(job, None, made[1]), "p1")
    assert question.stripe_mm == 0
    places = sorted({round(line.bounds[0]) for line in question.own_lines})
    assert places == [70, 110]
    assert len(question.hiding) == 4


def test_a_seam_up_to_a_drawn_one_divides_only_what_is_beyond(made):
    job, plan = planned(made)
    x, y = drawn_of(plan).outline.centroid.coords[0]
    job = adopt(job, "v1", drawn_of(plan), proposal(across(x)), "f2")
    drawn = drawn_of(plan_job(job, None, made[1]))
    own = next(s.path for s in drawn.stretches)
    part = LineString([(x, y), (x + 400, y)]).intersection(drawn.outline)
    wanted = replace_proposal(proposal(ProposedLine(LineKind.SEAM, part)), drawn=(own,))
    fresh = adopt(job, "v1", drawn, wanted, "f2")
    assert len(plan_job(fresh, None, made[1]).panels[0].pieces) == 3


def test_why_nothing_can_be_proposed_is_told(made):
    flat = job_with([rect_panel("p1", 600, 300)])
    with pytest.raises(EditRefused, match="flat"):
        question_for(plan_job(flat), "p1")
    row, gap = ((100.0,), (100.0,)), ((150.0,),) * 3
    three = MeasuredSurface(offsets=(row,) * 3, lengths=(gap,) * 2)
    job = replace(flat, panels=(replace(flat.panels[0], surface=three),))
    with pytest.raises(EditRefused, match="shoulder"):
        question_for(plan_job(job), "p1")
    empty = MeasuredSurface(offsets=(((),) * 4,) * 3, lengths=(((),) * 5,) * 2)
    job = replace(flat, panels=(replace(flat.panels[0], surface=empty),))
    with pytest.raises(EditRefused, match="not complete"):
        question_for(plan_job(job), "p1")
    with pytest.raises(EditRefused, match="not there"):
        question_for(plan_job(made[0].job), "p1")


def test_a_stripe_takes_the_highest_film_beside_the_base():
    job = job_with([rect_panel("p1", 600, 300)])
    ranks = {f.id: f.rank for f in job.films}
    best = max((f for f in job.films if f.id != "f1"), key=lambda f: ranks[f.id])
    assert accent_film(job, "f1") == best.id
    alone = replace(job, films=(Film(id="f1", name="Only", colour="#000000"),))
    assert accent_film(alone, "f1") == "f1"

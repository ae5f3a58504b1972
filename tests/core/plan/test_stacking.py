"""Which film lies on top, which piece goes down when, and rings in which none can go first."""

import math

import numpy as np
import pytest
from shapely import Point

from core.document.edits.lines import flip_top
from core.document.job import Job
from core.document.lines import SeamRule, Side
from core.document.panel import Panel
from core.plan.model import PanelPlan, Reason, Severity
from core.plan.plan import plan_job
from helpers.jobs import (
    disc_panel,
    film,
    films,
    hole,
    inlay,
    job_with,
    rect_panel,
    relief,
    scheme,
    seam,
    spot,
    stripe,
)
from helpers.plan_laws import assert_lawful

UPRIGHT = [(200.0, 0.0), (200.0, 300.0)]


def plan(panel: Panel, *things: object, **kw: object) -> PanelPlan:
    made = plan_job(job_with([panel], [scheme(panel.id, *things)], **kw)).panels[0]
    assert_lawful(made)
    return made


def top_at(made: PanelPlan, x: float, y: float) -> Reason | None:
    """Return why what lies at a point is on top at the only seam; None when it is not."""
    (stretch,) = made.stretches
    if made.region(stretch.top).polygon.contains(Point(x, y)):
        return stretch.reason
    return None


def panel(**kw: object) -> Panel:
    return rect_panel("p1", 400, 300, **kw)


LEFT, RIGHT = (100, 150), (300, 150)


def test_the_film_of_higher_rank_lies_on_top():
    for x, y in (LEFT, RIGHT):
        made = plan(panel(flow_deg=0.0), seam("s1", UPRIGHT), spot("c1", x, y))
        assert top_at(made, x, y) is Reason.RANK
        assert made.pieces[0].film == "f1"
        assert made.pieces[1].film == "f2"


def test_what_the_user_says_goes_before_rank():
    for side, at in ((Side.LEFT, LEFT), (Side.RIGHT, RIGHT)):
        made = plan(
            panel(), seam("s1", UPRIGHT, rule=SeamRule(on_top=side)), spot("c1", *RIGHT)
        )
        assert top_at(made, *at) is Reason.USER
        assert made.stretches[0].top_side is side


@pytest.mark.parametrize(
    ("flow", "at"), [(0.0, LEFT), (180.0, RIGHT), (30.0, LEFT), (-150.0, RIGHT), (360.0, LEFT)]
)
def test_of_one_rank_the_piece_upstream_lies_on_top_like_a_roof_tile(flow, at):
    # Water that runs along the arrow leaves the upper tile over the lower one's head.
    made = plan(panel(flow_deg=flow), seam("s1", UPRIGHT))
    assert top_at(made, *at) is Reason.FLOW


def test_water_that_runs_down_leaves_the_upper_piece_on_top():
    made = plan(panel(flow_deg=-90.0), seam("s1", [(0, 150), (400, 150)]))
    assert top_at(made, 200, 250) is Reason.FLOW


def test_without_flow_the_smaller_piece_lies_on_top():
    made = plan(panel(), seam("s1", [(150, 0), (150, 300)]))
    assert top_at(made, 100, 150) is Reason.SIZE


def test_two_films_of_one_rank_are_decided_by_size_too():
    two = (film("f1"), film("f2", rank=0))
    made = plan(panel(), seam("s1", [(150, 0), (150, 300)]), spot("c1", 300, 100), films=two)
    assert top_at(made, 100, 150) is Reason.SIZE


def test_flow_across_the_seam_leaves_it_to_size():
    # Both pieces lie equally far up the flow.
    made = plan(panel(flow_deg=90.0), seam("s1", [(150, 0), (150, 300)]))
    assert top_at(made, 100, 150) is Reason.SIZE


def test_three_strips_go_down_from_the_lowest_tile_up():
    made = plan(
        panel(flow_deg=0.0),
        seam("s1", [(100, 0), (100, 300)]),
        seam("s2", [(250, 0), (250, 300)]),
    )
    starts = [made.region(p.id).polygon.bounds[0] for p in made.pieces]
    assert starts == [250, 100, 0]


def test_one_film_is_laid_in_one_go_and_the_largest_piece_first():
    made = plan(
        panel(),
        stripe("t1", [(0, 80), (400, 80)], 20),
        stripe("t2", [(0, 200), (400, 200)], 30),
    )
    assert [p.film for p in made.pieces] == ["f1", "f1", "f1", "f2", "f2"]
    bases = [made.region(p.id).polygon.area for p in made.pieces[:3]]
    assert bases == sorted(bases, reverse=True)
    assert made.pieces[3].final.area > made.pieces[4].final.area


def test_the_lay_order_is_a_topological_order_of_the_stretches():
    made = plan(
        panel(flow_deg=20.0),
        seam("s1", UPRIGHT),
        seam("s2", [(0, 100), (400, 160)]),
        stripe("t1", [(0, 200), (400, 40)], (30, 60)),
        inlay("i1", [(150, 100), (260, 90), (230, 220)], film="f3"),
    )
    order = {r: p.order for p in made.pieces for r in p.regions}
    assert len(made.stretches) > 10
    assert all(order[s.under] < order[s.top] for s in made.stretches)


def ring_of_seams(rule: SeamRule) -> Job:
    """A disc with an opening and three seams from it to the rim, all in one sense."""
    angles = (0.3, 2.2, 4.4)
    seams = [
        seam(
            f"s{i}",
            [(40 * math.cos(a), 40 * math.sin(a)), (200 * math.cos(a), 200 * math.sin(a))],
            rule=rule,
        )
        for i, a in enumerate(angles, 1)
    ]
    return job_with(
        [disc_panel("p1", 200, openings=(hole("o1", 0, 0, 40),))],
        [scheme("p1", *seams, relief("e1", [(-200, 0), (-120, 0)]))],
    )


@pytest.mark.parametrize("side", list(Side))
def test_a_ring_of_seams_set_by_the_user_is_named_with_what_breaks_it(side):
    job = ring_of_seams(SeamRule(on_top=side))
    made = plan_job(job)
    assert made.is_stopped
    assert made.panels[0].pieces == ()
    (ring,) = [f for f in made.findings if f.check == "S207"]
    assert ring.severity is Severity.STOP
    assert set(ring.lines) == {"s1", "s2", "s3"}
    assert "Seam 1, Seam 2 and Seam 3" in ring.text or "Seam 2" in ring.text
    named = [i for i in ring.lines if f"on top at Seam {i[1:]}." in ring.text]
    assert len(named) == 1
    assert not plan_job(flip_top(job, "v1", named[0], side)).is_stopped


def test_the_same_ring_left_to_itself_has_an_order():
    made = plan_job(ring_of_seams(SeamRule()))
    assert not made.is_stopped
    assert len(made.pieces) == 3
    assert_lawful(made.panels[0])


def test_a_seam_that_puts_two_pieces_on_each_other_is_named_alone():
    # A crooked seam over a stripe: on its left now one film, now the other.
    made = plan_job(
        job_with(
            [rect_panel("p1", 400, 300, openings=(hole("o1", 200, 150, 60),))],
            [
                scheme(
                    "p1",
                    seam("s1", [(200, 0), (200, 90)], rule=SeamRule(on_top=Side.LEFT)),
                    seam("s2", [(200, 210), (200, 300)], rule=SeamRule(on_top=Side.RIGHT)),
                )
            ],
        )
    )
    (ring,) = [f for f in made.findings if f.check == "S207"]
    assert set(ring.lines) == {"s1", "s2"}


def test_a_flip_sets_a_line_with_mixed_sides_alike_and_the_advice_knows_it():
    # Seam 1 is left to rank: its two stretches have different sides on top.
    right = SeamRule(on_top=Side.RIGHT)
    job = job_with(
        [rect_panel("p1", 400, 400)],
        [
            scheme(
                "p1",
                seam("s1", [(0, 200), (400, 200)]),
                seam("s2", [(200, 0), (200, 200)], rule=right),
                seam("s3", [(200, 400), (200, 200)], rule=right),
                spot("c1", 100, 100, "f2"),
                spot("c2", 300, 300, "f2"),
            )
        ],
        films=films(2),
    )
    made = plan_job(job)
    for ring in (f for f in made.findings if f.check == "S207"):
        named = [i for i in ring.lines if f"on top at Seam {i[1:]}." in ring.text]
        if not named:
            continue
        tops = [s.top_side for s in made.panels[0].stretches if s.line == named[0]]
        assert any(
            not plan_job(flip_top(job, "v1", named[0], top)).is_stopped for top in set(tops)
        )


def test_equal_pieces_have_one_order_wherever_they_lie():
    for turn in np.linspace(0, 1, 7):
        ends = [
            (200 * math.cos(a), 200 * math.sin(a)) for a in turn + np.arange(6) * math.tau / 6
        ]
        made = plan(
            disc_panel("p1", 200), *(seam(f"s{i}", [(0, 0), e]) for i, e in enumerate(ends, 1))
        )
        assert len(made.pieces) == 6

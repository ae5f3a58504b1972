"""What the review finds, and that it is silent on sound plans."""

import pytest
from msgspec.structs import replace

from core.document.lines import SeamCut, SeamRule, Side
from core.document.panel import Mark, MarkKind, Panel
from core.plan.model import Finding, Severity
from core.plan.plan import plan_job
from helpers.jobs import (
    bolt,
    disc_panel,
    hole,
    inlay,
    job_with,
    poly_panel,
    rect_panel,
    scheme,
    seam,
    spot,
    stripe,
)
from helpers.plan_laws import assert_lawful

UPRIGHT = [(200.0, 0.0), (200.0, 300.0)]


def found(panel: Panel, *things: object, **kw: object) -> list[Finding]:
    made = plan_job(job_with([panel], [scheme(panel.id, *things)], **kw))
    if made.panels[0].regions:
        assert_lawful(made.panels[0])
    assert made.is_stopped == any(f.severity is Severity.STOP for f in made.findings)
    for finding in made.findings:
        assert finding.panel == "p1"
        assert finding.where is not None
        assert finding.text.endswith(".")
    return list(made.findings)


def checks(panel: Panel, *things: object, **kw: object) -> list[str]:
    return sorted({f.check for f in found(panel, *things, **kw)})


def rect(**kw: object) -> Panel:
    return rect_panel("p1", 400, 300, **kw)


@pytest.mark.parametrize(
    "things",
    [
        (),
        (seam("s1", UPRIGHT),),
        (seam("s1", [(200, 0.1), (200, 299.9)]),),
        (seam("s1", UPRIGHT), seam("s2", [(200, 100), (400, 100)])),
        (seam("s1", UPRIGHT), seam("s2", [(200, 100.1), (400, 100)])),
        (seam("s1", UPRIGHT), seam("s2", [(199.9, 100), (400, 100)])),
        (seam("s1", [(0, 150), (200, 150)]), seam("s2", [(200, 150), (400, 150)])),
        (seam("s1", [(100, 300), (200, 0)]), seam("s2", [(200, 0), (300, 300)])),
        (stripe("t1", [(0, 150), (400, 150)], 40), seam("s1", [(200, 0), (200, 130)])),
        (stripe("t1", [(0, 150), (200, 150)], 40), seam("s1", UPRIGHT)),
        (inlay("i1", [(100, 100), (200, 100), (150, 200)]), spot("c1", 150, 130, "f3")),
        (spot("c1", 50, 50), spot("c2", 60, 60)),
    ],
)
@pytest.mark.parametrize("turn", [0.0, 15.0])
def test_sound_plans_have_nothing_to_find(things, turn):
    assert checks(rect(edge_turn_mm=turn), *things) == []


def test_an_outline_that_crosses_itself_stops_the_panel_at_the_crossing():
    (finding,) = found(poly_panel("p1", [(0, 0), (400, 300), (400, 0), (0, 300)]))
    assert (finding.check, finding.severity) == ("G101", Severity.STOP)
    assert finding.where == pytest.approx((200, 150))


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (400, 0)],
        [(0, 0), (400, 0), (200, 0)],
        [(5, 5), (5, 5), (5, 5)],
        [(0, 0), (0.5, 0), (0, 0.5)],
    ],
)
def test_an_outline_of_no_area_stops_the_panel(corners):
    assert checks(poly_panel("p1", corners)) == ["G101"]


def test_an_opening_that_crosses_itself_is_named():
    bow = hole("o1", 200, 150, 50)
    nodes = (bow.nodes[0], bow.nodes[2], bow.nodes[1], bow.nodes[3])
    flat = tuple(replace(n, before=None, after=None, smooth=False) for n in nodes)
    (finding,) = found(rect(openings=(replace(bow, nodes=flat, name="Filler cap"),)))
    assert finding.check == "G102"
    assert finding.text.startswith("Filler cap ")


@pytest.mark.parametrize("x", [-100, 390, 350])
def test_an_opening_outside_or_on_the_rim_stops_the_panel(x):
    assert checks(rect(openings=(hole("o1", x, 150, 50),))) == ["G103"]


@pytest.mark.parametrize(
    ("x", "radius", "want"), [(260, 50, ["G104"]), (200, 20, ["G104"]), (310, 50, [])]
)
def test_openings_that_meet_stop_the_panel(x, radius, want):
    pair = (hole("o1", 200, 150, 50), hole("o2", x, 150, radius))
    assert checks(rect(openings=pair)) == want


def test_an_opening_that_turned_film_closes_is_noted():
    small = rect(openings=(hole("o1", 200, 150, 8, turn_mm=10.0),))
    assert checks(small) == ["A305"]
    assert checks(small, seam("s1", UPRIGHT)) == ["A305"]
    assert checks(rect(openings=(hole("o1", 200, 150, 15, turn_mm=10.0),))) == []


@pytest.mark.parametrize(
    "line",
    [
        seam("s1", [(500, 0), (500, 300)]),
        seam("s1", [(-50, -5), (450, -5)]),
        stripe("s1", [(0, 900), (400, 900)], 40),
        inlay("s1", [(500, 100), (600, 100), (550, 200)]),
    ],
)
def test_a_line_that_misses_the_panel_is_found_and_cuts_nothing(line):
    job = job_with([rect(edge_turn_mm=15.0)], [scheme("p1", line)])
    made = plan_job(job)
    assert [f.check for f in made.findings] == ["S201"]
    assert made.findings[0].lines == ("s1",)
    assert len(made.panels[0].pieces) == 1


@pytest.mark.parametrize("turn", [0.0, 15.0])
def test_a_seam_along_the_rim_is_found(turn):
    assert "S202" in checks(rect(edge_turn_mm=turn), seam("s1", [(0, 0), (400, 0)]))
    assert "S202" in checks(
        rect(edge_turn_mm=turn), seam("s1", [(50, 0.1), (350, 0.1), (350, 300)])
    )


def test_an_inlay_that_touches_the_rim_from_inside_is_told_to_reach_over_it():
    touching = inlay("i1", [(100, 0), (200, 0), (200, 100), (100, 100)])
    assert "S202" in checks(rect(edge_turn_mm=10.0), touching)
    over = inlay("i1", [(100, -50), (200, -50), (200, 100), (100, 100)])
    assert checks(rect(edge_turn_mm=10.0), over) == []


def test_seams_that_cross_at_a_sharp_angle_are_found():
    sharp = seam("s1", [(0, 100), (400, 120)]), seam("s2", [(0, 120), (400, 100)])
    (finding,) = [f for f in found(rect(), *sharp) if f.check == "S203"]
    assert finding.lines == ("s1", "s2")
    assert finding.where == pytest.approx((200, 110), abs=0.5)
    square = seam("s1", [(0, 100), (400, 120)]), seam("s2", UPRIGHT)
    assert "S203" not in checks(rect(), *square)


def test_a_seam_that_runs_into_another_at_a_sharp_angle_is_found():
    assert "S203" in checks(
        rect(), seam("s1", [(0, 100), (400, 100)]), seam("s2", [(0, 130), (300, 100)])
    )


def test_a_seam_that_carries_on_another_is_sound():
    assert (
        checks(rect(), seam("s1", [(0, 150), (170, 151)]), seam("s2", [(170, 151), (400, 152)]))
        == []
    )


def test_a_seam_drawn_twice_is_found():
    assert "S203" in checks(rect(), seam("s1", UPRIGHT), seam("s2", UPRIGHT[::-1]))


def test_slivers_are_found():
    narrow = seam("s1", [(4, 0), (4, 300)]), seam("s2", [(200, 0), (200, 300)])
    assert "S204" in checks(rect(), *narrow)
    wide = seam("s1", [(20, 0), (20, 300)]), seam("s2", [(200, 0), (200, 300)])
    assert "S204" not in checks(rect(), *wide)


@pytest.mark.parametrize(
    "points",
    [
        [(200, 0), (200, 200)],
        [(100, 150), (300, 150)],
        [(200, 0.5), (200, 299.5)],
        [(200, 0), (200, 299)],
    ],
)
def test_a_seam_that_ends_in_the_middle_divides_nothing_and_is_found(points):
    job = job_with([rect()], [scheme("p1", seam("s1", points))])
    made = plan_job(job)
    assert {f.check for f in made.findings} == {"S205"}
    assert len(made.panels[0].regions) == 1


def test_a_seam_from_the_rim_to_an_opening_divides_nothing_and_is_found():
    framed = rect(openings=(hole("o1", 200, 150, 50),))
    assert checks(framed, seam("s1", [(200, 0), (200, 100)])) == ["S205"]


@pytest.mark.parametrize(
    "line",
    [
        seam("s1", [(0, 50), (300, 50), (300, 200), (100, 200), (100, 0)]),
        seam("s1", [(100, 0), (100, 200), (100, 50)]),
        inlay("s1", [(100, 100), (200, 200), (200, 100), (100, 200)]),
        inlay("s1", [(100, 100), (200, 100)]),
        stripe("s1", [(100, 100), (300, 100), (300, 200), (100, 200), (100, 100)], 20),
        seam("s1", [(100, 100), (100, 100)]),
    ],
)
def test_a_line_that_crosses_itself_stops_the_job_and_cuts_nothing(line):
    job = job_with([rect()], [scheme("p1", line)])
    made = plan_job(job)
    assert [(f.check, f.severity, f.lines) for f in made.findings] == [
        ("S206", Severity.STOP, ("s1",))
    ]
    assert len(made.panels[0].regions) == 1


def test_a_seam_through_a_bolt_or_badge_is_noted():
    badge = Mark(
        id="m2", kind=MarkKind.BADGE, path=((150.0, 50.0), (250.0, 50.0)), radius_mm=3.0
    )
    for mark in (bolt("m1", 203, 100), badge):
        (finding,) = found(rect(marks=(mark,)), seam("s1", UPRIGHT))
        assert (finding.check, finding.severity) == ("S208", Severity.NOTE)
    assert checks(rect(marks=(bolt("m1", 206, 100),)), seam("s1", UPRIGHT)) == []


def test_a_colour_off_the_panel_is_found():
    assert checks(rect(), spot("c1", 500, 100)) == ["A302"]
    assert checks(rect(edge_turn_mm=15.0), spot("c1", 410, 100)) == []


def test_two_colours_in_one_region_are_found_and_the_earlier_holds():
    job = job_with([rect()], [scheme("p1", spot("c1", 50, 50, "f3"), spot("c2", 90, 50, "f2"))])
    made = plan_job(job)
    assert [f.check for f in made.findings] == ["A301"]
    assert made.findings[0].where == (90, 50)
    assert made.pieces[0].film == "f3"


def test_a_lap_cut_short_is_found():
    # 6 mm between two seams; the strip lies on top of both its neighbours.
    lines = (
        seam("s1", [(200, 0), (200, 300)], rule=SeamRule(on_top=Side.RIGHT)),
        seam("s2", [(206, 0), (206, 300)], rule=SeamRule(on_top=Side.LEFT)),
    )
    assert "A303" in checks(rect(), *lines)
    fitting = (lines[0], seam("s2", [(220, 0), (220, 300)], rule=SeamRule(on_top=Side.LEFT)))
    assert "A303" not in checks(rect(), *fitting)


def test_a_narrow_strip_with_more_film_on_top_of_it_beyond_is_no_matter():
    # The lap of 8 mm reaches past the strip of 6 mm, beneath the third film, which lies above.
    lines = (
        seam("s1", [(200, 0), (200, 300)], rule=SeamRule(on_top=Side.RIGHT)),
        seam("s2", [(206, 0), (206, 300)], rule=SeamRule(on_top=Side.RIGHT)),
    )
    assert "A303" not in checks(rect(), *lines)


def test_butt_seams_are_noted():
    (finding,) = found(rect(), seam("s1", UPRIGHT, rule=SeamRule(cut=SeamCut.BUTT)))
    assert (finding.check, finding.severity) == ("A304", Severity.NOTE)


def test_a_hair_between_two_lines_is_told():
    pair = seam("s1", [(200, 0), (200, 300)]), seam("s2", [(200.015, 0), (200.015, 300)])
    assert checks(rect(), *pair)


def test_an_opening_smaller_than_the_inside_radius_is_cut_on_the_part():
    assert checks(rect(openings=(hole("o1", 200, 150, 1.5),))) == ["F403"]
    assert checks(rect(openings=(hole("o1", 200, 150, 2.5),))) == []


def test_a_line_that_just_touches_a_round_panel_from_outside_misses_it():
    made = checks(
        disc_panel("p1", 200, edge_turn_mm=10.0), seam("s1", [(-300, 200), (300, 200)])
    )
    assert made == ["S201"]


def test_findings_that_stop_come_first():
    job = job_with(
        [rect(), rect_panel("p2", 100, 100)],
        [
            scheme("p1", seam("s1", UPRIGHT, rule=SeamRule(cut=SeamCut.BUTT))),
            scheme("p2", seam("s2", [(0, 0), (50, 50), (50, 0), (0, 50)])),
        ],
    )
    assert [f.severity for f in plan_job(job).findings] == [Severity.STOP, Severity.NOTE]

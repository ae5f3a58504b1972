"""Pieces of panels small enough to be worked out with pencil and paper."""

import math

import pytest
import shapely
from msgspec.structs import replace
from shapely import Point, Polygon, box

from core.document.job import Job, Settings
from core.document.lines import Inlay, SeamCut, SeamRule, Side, Under
from core.document.panel import Panel, Trim
from core.plan.model import PanelPlan, Piece, Reason
from core.plan.plan import plan_job
from helpers.jobs import (
    circle_path,
    disc_panel,
    film,
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

LAP = 8.0
UPRIGHT = [(200.0, 0.0), (200.0, 300.0)]
FULL = SeamRule(under=Under.FULL)


def plan(panel: Panel, *things: object, **kw: object) -> PanelPlan:
    made = plan_job(job_with([panel], [scheme(panel.id, *things)], **kw)).panels[0]
    assert_lawful(made)
    return made


def piece_at(made: PanelPlan, x: float, y: float) -> Piece:
    region = next(r for r in made.regions if r.polygon.contains(Point(x, y)))
    return next(p for p in made.pieces if region.id in p.regions)


def test_a_panel_with_no_line_is_one_piece_with_its_edge_turn():
    made = plan(rect_panel("p1", 400, 300, edge_turn_mm=15.0))
    (piece,) = made.pieces
    assert piece.final.equals(box(-15, -15, 415, 315))
    assert (piece.film, piece.order, piece.regions) == ("f1", 1, (made.regions[0].id,))
    assert piece.cut.equals(piece.final)


def test_two_halves_one_lapped_under_the_other():
    made = plan(
        rect_panel("p1", 400, 300, edge_turn_mm=15.0),
        seam("s1", UPRIGHT),
        spot("c1", 300, 100),
        settings=Settings(lap_mm=10.0),
    )
    base, accent = made.pieces
    assert base.film == "f1"
    assert base.final.bounds == pytest.approx((-15, -15, 210, 315))
    assert base.final.area == pytest.approx(225 * 330)
    assert accent.film == "f2"
    assert accent.final.bounds == pytest.approx((200, -15, 415, 315))
    assert accent.final.area == pytest.approx(215 * 330)
    (stretch,) = made.stretches
    assert (stretch.lap_mm, stretch.length_mm) == (10.0, pytest.approx(330))


def test_the_seams_own_lap_goes_before_the_jobs():
    made = plan(rect_panel("p1", 400, 300), seam("s1", UPRIGHT, rule=SeamRule(lap_mm=25.0)))
    assert sum(p.final.area for p in made.pieces) == pytest.approx(400 * 300 + 25 * 300)


@pytest.mark.parametrize(
    "rule",
    [
        SeamRule(lap_mm=0.0),
        SeamRule(cut=SeamCut.BUTT),
        SeamRule(cut=SeamCut.BUTT, under=Under.FULL),
    ],
)
def test_no_lap_and_butt_seams_leave_the_regions_as_they_are(rule):
    made = plan(rect_panel("p1", 400, 300), seam("s1", UPRIGHT, rule=rule))
    assert [p.final.area for p in made.pieces] == pytest.approx([60_000, 60_000])
    assert made.stretches[0].lap_mm == 0
    assert not made.stretches[0].is_full


def test_a_cross_of_seams_gives_four_pieces_with_laps_both_ways():
    made = plan(
        rect_panel("p1", 400, 300), seam("s1", UPRIGHT), seam("s2", [(0, 100), (400, 100)])
    )
    areas = sorted(r.polygon.area for r in made.regions)
    assert areas == pytest.approx([20_000, 20_000, 40_000, 40_000])
    # The large ones lie at the bottom. One lies under all its neighbours and has laps on two
    # sides and round the corner; the last laid has none.
    assert made.pieces[-1].final.area == pytest.approx(20_000)
    first = made.pieces[0]
    corner = math.pi * LAP**2 / 4
    assert first.final.area == pytest.approx(40_000 + 200 * LAP * 2, abs=LAP**2)
    assert first.final.area >= 40_000 + 200 * LAP * 2 - LAP * LAP + corner - 0.5


def test_a_t_of_seams_gives_three_pieces():
    made = plan(
        rect_panel("p1", 400, 300), seam("s1", UPRIGHT), seam("s2", [(200, 100), (400, 100)])
    )
    assert sorted(r.polygon.area for r in made.regions) == pytest.approx(
        [20_000, 40_000, 60_000]
    )
    assert len(made.stretches) == 3
    assert piece_at(made, 100, 150).final.area == pytest.approx(60_000 + 300 * LAP)


def test_a_stripe_across_a_panel_is_a_band_with_base_on_both_sides():
    made = plan(
        rect_panel("p1", 400, 300, edge_turn_mm=10.0), stripe("t1", [(0, 150), (400, 150)], 40)
    )
    assert [r.film for r in made.regions].count("f2") == 1
    band = piece_at(made, 200, 150)
    assert band.final.equals(box(-10, 130, 410, 170))
    for y in (50, 250):
        assert piece_at(made, 200, y).final.area == pytest.approx(420 * (140 + LAP))


def test_a_tapering_stripe_is_a_trapezium_that_keeps_its_width_on_the_turned_edge():
    made = plan(
        rect_panel("p1", 400, 300, edge_turn_mm=10.0),
        stripe("t1", [(0, 150), (400, 150)], (60, 20)),
    )
    band = piece_at(made, 200, 150)
    assert band.final.area == pytest.approx(400 * 40 + 10 * 60 + 10 * 20, rel=1e-6)
    assert made.outline.intersection(band.final).area == pytest.approx(400 * 40, rel=1e-6)


def test_a_tapering_stripe_across_a_seam_is_cut_in_two_by_it():
    made = plan(
        rect_panel("p1", 400, 300),
        seam("s1", UPRIGHT),
        stripe("t1", [(0, 150), (400, 150)], (60, 20)),
    )
    bands = sorted(r.polygon.area for r in made.regions if r.film == "f2")
    # 60 to 40 over the left half, 40 to 20 over the right one.
    assert bands == pytest.approx([30 * 200, 50 * 200])
    assert len(made.regions) == 6


def test_a_stripe_that_ends_inside_has_base_round_its_end():
    made = plan(rect_panel("p1", 400, 300), stripe("t1", [(0, 150), (250, 150)], 40))
    base, band = made.pieces
    assert band.final.equals(box(0, 130, 250, 170))
    assert made.region(base.id).polygon.area == pytest.approx(120_000 - 250 * 40)
    # Beneath its two sides and its end the base runs on by a lap; the bands meet in corners.
    lap = (250 + 250 + 40) * LAP - 2 * LAP**2
    assert base.final.area == pytest.approx(110_000 + lap, rel=1e-6)


def test_a_stripe_that_ends_on_a_slanted_seam_ends_along_it():
    made = plan(
        rect_panel("p1", 400, 300),
        seam("s1", [(200, 0), (260, 300)]),
        stripe("t1", [(0, 150), (230, 150)], 40),
    )
    band = next(r for r in made.regions if r.film == "f2")
    # Mid-length 230 at half height; the seam leans by as much above as below.
    assert band.polygon.area == pytest.approx(230 * 40)
    assert band.polygon.bounds == pytest.approx((0, 130, 234, 170))
    assert len(made.regions) == 4


def test_an_inlay_inside_leaves_a_hole_in_the_base_with_a_lap_beneath():
    made = plan(
        rect_panel("p1", 400, 300),
        inlay("i1", [(100, 100), (200, 100), (200, 200), (100, 200)]),
    )
    base, shape = made.pieces
    assert shape.final.equals(box(100, 100, 200, 200))
    (rim,) = base.final.interiors
    assert Polygon(rim).equals(box(108, 108, 192, 192))


def test_a_round_inlay_has_a_lap_of_even_width():
    made = plan(
        rect_panel("p1", 400, 300), Inlay(id="i1", nodes=circle_path(200, 150, 80), film="f2")
    )
    (rim,) = made.pieces[0].final.interiors
    assert Polygon(rim).area == pytest.approx(math.pi * 72**2, rel=2e-3)


def test_an_inlay_over_the_rim_is_clipped_by_it_and_turned_with_it():
    made = plan(
        rect_panel("p1", 400, 300, edge_turn_mm=10.0),
        inlay("i1", [(300, 100), (500, 100), (500, 200), (300, 200)]),
    )
    assert piece_at(made, 350, 150).final.equals(box(300, 100, 410, 200))


def test_full_film_beneath_an_inlay_has_no_hole():
    made = plan(
        rect_panel("p1", 400, 300),
        inlay("i1", [(100, 100), (200, 100), (200, 200), (100, 200)], rule=FULL),
    )
    base, shape = made.pieces
    assert base.final.equals(box(0, 0, 400, 300))
    assert shape.final.area == pytest.approx(10_000)
    assert made.stretches[0].is_full


def test_full_film_beneath_a_stripe_makes_both_sides_one_piece():
    made = plan(
        rect_panel("p1", 400, 300, edge_turn_mm=10.0),
        stripe("t1", [(0, 150), (400, 150)], 40, rule=FULL),
    )
    base, band = made.pieces
    assert len(base.regions) == 2
    assert base.final.equals(box(-10, -10, 410, 310))
    assert base.id in base.regions
    assert band.final.area == pytest.approx(420 * 40)


def test_full_film_of_two_colours_beneath_a_stripe_stays_two_pieces():
    made = plan(
        rect_panel("p1", 400, 300),
        stripe("t1", [(0, 150), (400, 150)], 40, film="f3", rule=FULL),
        spot("c1", 200, 50, "f2"),
    )
    assert len(made.pieces) == 3
    assert [len(p.regions) for p in made.pieces] == [1, 1, 1]
    # Both run on beneath the whole stripe.
    assert piece_at(made, 200, 50).final.area == pytest.approx(400 * 170)
    assert piece_at(made, 200, 250).final.area == pytest.approx(400 * 170)


def test_an_inlay_of_the_base_film_is_still_a_piece_of_its_own():
    made = plan(
        rect_panel("p1", 400, 300),
        inlay("i1", [(100, 100), (200, 100), (200, 200), (100, 200)], film="f1"),
    )
    assert [p.film for p in made.pieces] == ["f1", "f1"]
    assert made.stretches[0].reason is Reason.SIZE


def test_an_inlay_that_covers_the_panel_gives_it_its_film():
    made = plan(
        rect_panel("p1", 400, 300),
        inlay("i1", [(-50, -50), (450, -50), (450, 350), (-50, 350)]),
    )
    assert [p.film for p in made.pieces] == ["f2"]


def test_film_is_turned_into_an_opening():
    made = plan(rect_panel("p1", 400, 300, openings=(hole("o1", 200, 150, 50, turn_mm=10.0),)))
    (rim,) = made.pieces[0].final.interiors
    assert Polygon(rim).area == pytest.approx(math.pi * 40**2, rel=2e-3)


def test_a_seam_through_an_opening_leaves_a_half_of_it_to_each_piece():
    made = plan(
        rect_panel("p1", 400, 300, openings=(hole("o1", 200, 150, 50),)), seam("s1", UPRIGHT)
    )
    left, right = (made.region(s) for s in (made.stretches[0].top, made.stretches[0].under))
    assert left.polygon.area == pytest.approx(right.polygon.area, abs=0.5)
    assert made.stretches[0].length_mm == pytest.approx(200, abs=0.1)
    # The lap does not reach across the opening.
    assert all(not p.final.contains(Point(204, 150)) for p in made.pieces)


def test_two_seams_from_an_opening_to_the_rim_divide_the_panel():
    made = plan(
        rect_panel("p1", 400, 300, openings=(hole("o1", 200, 150, 50, turn_mm=5.0),)),
        seam("s1", [(200, 0), (200, 100)]),
        seam("s2", [(200, 200), (200, 300)]),
    )
    assert len(made.pieces) == 2


def test_a_seam_through_a_corner_divides_the_turned_corner_too():
    made = plan(rect_panel("p1", 400, 300, edge_turn_mm=15.0), seam("s1", [(0, 0), (400, 300)]))
    assert [r.polygon.area for r in made.regions] == pytest.approx([430 * 330 / 2] * 2)


def test_a_seam_drawn_from_outside_to_outside_is_cut_at_the_turned_rim():
    made = plan(
        rect_panel("p1", 400, 300, edge_turn_mm=15.0), seam("s1", [(200, -80), (200, 390)])
    )
    assert made.stretches[0].length_mm == pytest.approx(330)
    assert made.findings == ()


def test_an_outline_drawn_clockwise_gives_the_same_pieces():
    corners = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)]
    one = plan(poly_panel("p1", corners, edge_turn_mm=15.0), seam("s1", UPRIGHT))
    two = plan(poly_panel("p1", corners[::-1], edge_turn_mm=15.0), seam("s1", UPRIGHT))
    for a, b in zip(one.pieces, two.pieces, strict=True):
        assert a.id == b.id
        assert a.final.equals(b.final)


def test_an_edge_of_its_own_turn_keeps_it_whichever_way_the_outline_runs():
    forth = rect_panel("p1", 400, 300)
    nodes = list(forth.outline)
    turned = replace(forth, outline=(replace(nodes[0], turn_mm=20.0), *nodes[1:]))
    assert plan(turned).extended.equals(box(0, -20, 400, 300))
    # Backwards the bottom edge starts at the corner (400, 0).
    back = [nodes[0], nodes[3], nodes[2], replace(nodes[1], turn_mm=20.0)]
    assert plan(replace(forth, outline=tuple(back))).extended.equals(box(0, -20, 400, 300))


def test_an_inside_corner_is_rounded_in_the_cut_shape_only():
    ell = [(0, 0), (200, 0), (200, 100), (100, 100), (100, 200), (0, 200)]
    radius = 6.0
    made = plan(
        poly_panel("p1", ell),
        films=(film("f1", min_inside_radius_mm=radius), film("f2", rank=1)),
    )
    (piece,) = made.pieces
    assert piece.final.area == pytest.approx(30_000)
    # What a fillet adds in a right angle: the square of its radius less the quarter disc.
    assert piece.cut.area - 30_000 == pytest.approx(radius**2 * (1 - math.pi / 4), rel=0.01)
    assert shapely.difference(piece.final, piece.cut).area < 1e-9


def test_outside_corners_stay_sharp():
    made = plan(rect_panel("p1", 400, 300), films=(film("f1", min_inside_radius_mm=20.0),))
    assert made.pieces[0].cut.equals(box(0, 0, 400, 300))


def test_a_blank_has_grip_on_each_side():
    # Rule of thumb at the bench: a part of 750 by 800 mm wants a blank of 950 by 1000 mm
    # (common practice, no source).
    made = plan(rect_panel("p1", 750, 800, trim=Trim.ON_PART), settings=Settings(grip_mm=100.0))
    (piece,) = made.pieces
    assert piece.is_blank
    assert piece.cut.bounds == pytest.approx((-100, -100, 850, 900))
    assert piece.cut.area == pytest.approx(950 * 1000)


@pytest.mark.parametrize(
    ("width", "blank"), [(100.0, 120.0), (100.1, 125.0), (104.9, 125.0), (105.0, 125.0)]
)
def test_a_blanks_sides_are_rounded_up_to_the_step(width, blank):
    made = plan(
        rect_panel("p1", width, 200, trim=Trim.ON_PART),
        settings=Settings(grip_mm=10.0, blank_step_mm=5.0),
    )
    x0, _, x1, _ = made.pieces[0].cut.bounds
    assert x1 - x0 == pytest.approx(blank)
    assert (x0 + x1) / 2 == pytest.approx(width / 2)


def test_a_blank_lies_along_the_flow():
    leaning = math.radians(30)
    points = [
        (
            x * math.cos(leaning) - y * math.sin(leaning),
            x * math.sin(leaning) + y * math.cos(leaning),
        )
        for x, y in ((0, 0), (400, 0), (400, 300), (0, 300))
    ]
    made = plan(
        poly_panel("p1", points, trim=Trim.ON_PART, flow_deg=30.0),
        settings=Settings(grip_mm=50.0),
    )
    assert made.pieces[0].cut.area == pytest.approx(500 * 400)


def test_a_seam_cut_by_tape_gives_a_blank_on_top_and_a_run_of_tape():
    made = plan(
        rect_panel("p1", 400, 300, edge_turn_mm=10.0),
        seam("s1", UPRIGHT, rule=SeamRule(cut=SeamCut.CUTTING_TAPE)),
        spot("c1", 300, 100),
    )
    base, accent = made.pieces
    assert (base.is_blank, accent.is_blank) == (False, True)
    assert accent.cut.area == pytest.approx((210 + 200) * (320 + 200))
    (run,) = made.tape_runs
    assert (run.line, run.piece, run.length_mm) == ("s1", accent.id, pytest.approx(320))


def test_tape_runs_stand_in_the_lay_order_of_what_is_cut_along_them():
    tape = SeamRule(cut=SeamCut.CUTTING_TAPE)
    made = plan(
        rect_panel("p1", 400, 300),
        seam("s1", [(300, 0), (300, 300)], rule=tape),
        seam("s2", [(100, 0), (100, 300)], rule=tape),
        spot("c1", 350, 100, "f3"),
        spot("c2", 50, 100, "f2"),
    )
    order = {p.id: p.order for p in made.pieces}
    assert [order[r.piece] for r in made.tape_runs] == sorted(
        order[r.piece] for r in made.tape_runs
    )
    assert [r.line for r in made.tape_runs] == ["s2", "s1"]


def test_match_ticks_stand_at_the_same_places_on_both_pieces():
    made = plan(
        rect_panel("p1", 400, 600), seam("s1", [(200, 0), (200, 600)]), spot("c1", 300, 100)
    )
    heights = []
    for piece in made.pieces:
        assert all(piece.final.buffer(1e-6).covers(t) for t in piece.ticks)
        assert all(t.length > 0.5 for t in piece.ticks)
        heights.append([round(t.centroid.y, 6) for t in piece.ticks])
    # 600 mm at most 250 apart: two, which part it in three.
    assert heights == [[200, 400], [200, 400]]


def test_ticks_are_no_farther_apart_than_the_job_says():
    made = plan(
        disc_panel("p1", 400),
        Inlay(id="i1", nodes=circle_path(0, 0, 250), film="f2"),
        settings=Settings(tick_spacing_mm=120.0),
    )
    around = math.tau * 250
    for piece in made.pieces:
        assert len(piece.ticks) >= math.floor(around / 120)


def test_a_panel_without_seams_has_no_ticks():
    assert plan(rect_panel("p1", 400, 300)).pieces[0].ticks == ()


def test_the_area_of_a_film_is_that_of_its_pieces():
    panels = [rect_panel("p1", 400, 300), rect_panel("p2", 100, 100, base_film="f2", count=3)]
    made = plan_job(
        Job(
            name="J", films=job_with().films, panels=tuple(panels), variants=job_with().variants
        )
    )
    assert made.film_area_mm2("f1") == pytest.approx(120_000)
    assert made.film_area_mm2("f2") == pytest.approx(30_000)


def test_a_piece_tells_how_many_tries_it_may_take():
    job = job_with(
        [rect_panel("p1", 90, 90), rect_panel("p2", 90, 90, tries=4)],
        settings=Settings(tries=2),
    )
    assert [p.tries for p in plan_job(job).pieces] == [2, 4]


def test_left_of_a_stripes_rule_is_the_stripe_itself():
    for side, top_film in ((Side.LEFT, "f2"), (Side.RIGHT, "f1")):
        made = plan(
            rect_panel("p1", 400, 300),
            stripe("t1", [(0, 150), (400, 150)], 40, rule=SeamRule(on_top=side)),
        )
        assert {made.region(s.top).film for s in made.stretches} == {top_film}

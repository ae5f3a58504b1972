"""Defects once found in core/geometry and core/plan: each of these tests has failed."""

import itertools
import math

import numpy as np
import pytest
import shapely
from shapely import LineString

from core.document.edits.lines import flip_top
from core.document.flatten import flatten, flatten_owned
from core.document.lines import SeamRule, Side, Under
from core.document.panel import Panel
from core.geometry.ribbon import ribbon, widths_along
from core.plan.model import PanelPlan, SourceKind
from core.plan.plan import plan_job
from helpers.jobs import (
    disc_panel,
    job_with,
    path,
    poly_panel,
    rect_panel,
    scheme,
    seam,
    spot,
    stripe,
)
from helpers.plan_laws import assert_lawful
from helpers.random_plans import Recipe, random_job


def planned(panel: Panel, *things: object, **settings: object) -> PanelPlan:
    made = plan_job(job_with([panel], [scheme(panel.id, *things)], **settings)).panels[0]
    if made.regions:
        assert_lawful(made)
    return made


def checks(plan: PanelPlan) -> set[str]:
    return {f.check for f in plan.findings}


def test_a_ring_that_ends_twice_on_its_first_point_does_not_repeat_it():
    ring = flatten(path([(0, 0), (100, 0), (100, 100), (0, 0), (0, 0)]), closed=True)
    assert ring.tolist() == [[0, 0], [100, 0], [100, 100]]


def test_of_doubled_nodes_the_edge_is_named_after_the_one_it_really_starts_from():
    doubled = path([(0, 0), (0, 0), (100, 0), (100, 100)])
    points, owner = flatten_owned(doubled, closed=True)
    assert len(points) == 3
    assert doubled[owner[0]].id == "n2"  # n1 to n2 has no length


def test_rim_edges_keep_their_name_where_two_seams_split_them_in_three_alike():
    # The middle third of an edge has the edge's own midpoint.
    plan = planned(
        rect_panel("p1", 400, 300),
        seam("s1", [(100, 0), (100, 300)]),
        seam("s2", [(300, 0), (300, 300)]),
    )
    for region in plan.regions:
        ring = region.rings[0]
        nxt = np.roll(ring.points, -1, axis=0)
        for (x0, y0), (x1, y1), source in zip(ring.points, nxt, ring.sources, strict=True):
            want = {
                (0, 0): (SourceKind.RIM, "n1"),
                (300, 300): (SourceKind.RIM, "n3"),
            }.get((y0, y1))
            want = (
                want
                or {
                    0: (SourceKind.RIM, "n4"),
                    100: (SourceKind.SEAM, "s1"),
                    300: (SourceKind.SEAM, "s2"),
                    400: (SourceKind.RIM, "n2"),
                }[x0 if x0 == x1 else -1]
            )
            assert (source.kind, source.id) == want


def test_a_seam_crossed_evenly_by_two_others_borders_all_six_regions():
    plan = planned(
        rect_panel("p1", 400, 300),
        seam("s1", [(0, 150), (400, 150)]),
        seam("s2", [(100, 0), (100, 300)]),
        seam("s3", [(300, 0), (300, 300)]),
    )
    assert len(plan.regions) == 6
    length = {
        name: sum(s.length_mm for s in plan.stretches if s.line == name)
        for name in ("s1", "s2", "s3")
    }
    assert length == pytest.approx({"s1": 400.0, "s2": 300.0, "s3": 300.0})


def test_stretches_are_numbered_along_their_line():
    plan = planned(
        rect_panel("p1", 500, 300),
        seam("s1", [(0, 150), (500, 150)]),
        *(seam(f"s{i}", [(100 * i - 100, 0), (100 * i - 90, 300)]) for i in range(2, 6)),
    )
    own = [s for s in plan.stretches if s.line == "s1"]
    assert [s.id for s in own] == [f"s1.{i}" for i in range(1, 6)]
    starts = [s.path.coords[0][0] for s in own]
    assert starts == sorted(starts)


def test_three_equal_sectors_of_one_film_have_a_lay_order():
    ends = [
        (200 * math.cos(a), 200 * math.sin(a))
        for a in (0.3, 0.3 + math.tau / 3, 0.3 - math.tau / 3)
    ]
    plan = planned(
        disc_panel("p1", 200),
        *(seam(f"s{i}", [(0, 0), end]) for i, end in enumerate(ends, 1)),
    )
    assert len(plan.regions) == 3
    assert "S207" not in checks(plan)
    assert len(plan.pieces) == 3


def test_four_equal_quarters_round_one_point_have_a_lay_order():
    plan = planned(
        rect_panel("p1", 400, 400),
        seam("s1", [(200, 200), (200, 0)]),
        seam("s2", [(200, 200), (400, 200)]),
        seam("s3", [(200, 200), (200, 400)]),
        seam("s4", [(200, 200), (0, 200)]),
    )
    assert len(plan.regions) == 4
    assert "S207" not in checks(plan)


def test_the_top_side_of_a_mirrored_stretch_is_the_side_it_lies_on():
    panel = rect_panel("p1", 400, 300, is_pair=True)
    lines = scheme("p1", seam("s1", [(150, 0), (170, 300)]), spot("c1", 300, 100))
    for made in plan_job(job_with([panel], [lines])).panels:
        (stretch,) = made.stretches
        a, b = (np.array(p) for p in (stretch.path.coords[0], stretch.path.coords[-1]))
        along = (b - a) / np.hypot(*(b - a))
        left = np.array([-along[1], along[0]])
        beside = (a + b) / 2 + (left if stretch.top_side is Side.LEFT else -left)
        assert made.region(stretch.top).polygon.contains(shapely.Point(beside))


def test_a_stripe_that_returns_to_its_start_does_not_fill_what_it_goes_round():
    square = [(100, 100), (300, 100), (300, 300), (100, 300), (100, 100)]
    plan = planned(rect_panel("p1", 400, 400), stripe("t1", square, 20))
    inside = next(r for r in plan.regions if r.polygon.contains(shapely.Point(200, 200)))
    assert inside.film == "f1"


def test_a_stripe_that_crosses_itself_does_not_fill_its_loop():
    loop = [(0, 100), (300, 100), (300, 300), (150, 300), (150, 0)]
    plan = planned(rect_panel("p1", 400, 400), stripe("t1", loop, 20))
    inside = next(r for r in plan.regions if r.polygon.contains(shapely.Point(225, 200)))
    assert inside.film == "f1"


@pytest.mark.parametrize("degrees", [100, 120, 135, 150])
def test_a_ribbon_keeps_its_width_on_the_way_to_a_sharp_corner(degrees):
    turn = math.radians(degrees)
    points = np.array(
        [(0.0, 0.0), (300.0, 0.0), (300 + 300 * math.cos(turn), 300 * math.sin(turn))]
    )
    shape = ribbon(points, widths_along(points, 40.0, 40.0))
    assert shape is not None
    assert shape.contains(LineString(points[:2]).buffer(19.9, cap_style="flat"))


def test_a_seam_that_only_meets_turned_film_misses_the_panel_and_cuts_nothing():
    plan = planned(
        rect_panel("p1", 400, 300, edge_turn_mm=15.0), seam("s1", [(-50, -5), (450, -5)])
    )
    assert checks(plan) == {"S201"}
    assert len(plan.regions) == 1


def test_a_stripe_with_three_regions_beneath_it_joins_those_of_one_film():
    # Both ends of one film run on beneath the stripe, whatever else does between them.
    full = SeamRule(under=Under.FULL)
    panel = rect_panel("p1", 600, 300)
    for spot_x in (150, 300, 450):
        plan = planned(
            panel,
            seam("s1", [(200, 0), (200, 150)]),
            seam("s2", [(400, 0), (400, 150)]),
            stripe("t1", [(0, 150), (600, 150)], 40, film="f3", rule=full),
            spot("c1", spot_x, 50),
        )
        assert len(plan.regions) == 5
        # Neighbours below meet at a seam and stay apart; the outer two do not meet.
        assert max(len(p.regions) for p in plan.pieces) == (3 if spot_x == 300 else 2)


def test_a_lap_cut_short_far_from_the_middle_of_a_straight_seam_is_found():
    # Between two seams film is left that widens from 4 mm to 16 mm: at half-way the lap fits.
    plan = planned(
        rect_panel("p1", 800, 400),
        seam("s1", [(200, 0), (200, 400)], rule=SeamRule(on_top=Side.RIGHT)),
        seam("s2", [(204, 0), (216, 400)], rule=SeamRule(on_top=Side.LEFT)),
    )
    assert "A303" in checks(plan)


def test_two_seams_that_meet_on_the_rim_leave_no_scrap_on_the_turned_edge():
    plan = planned(
        rect_panel("p1", 400, 300, edge_turn_mm=15.0),
        seam("s1", [(100, 300), (200, 0)]),
        seam("s2", [(200, 0), (300, 300)]),
        spot("c1", 200, 200),
    )
    assert len(plan.regions) == 3
    assert "S204" not in checks(plan)


def test_the_seam_named_for_a_flip_breaks_the_ring_when_it_is_flipped():
    user = SeamRule(on_top=Side.LEFT)
    panel = disc_panel("p1", 200)
    ends = [(200 * math.cos(a), 200 * math.sin(a)) for a in (0.3, 2.2, 4.4)]
    lines = scheme(
        "p1", *(seam(f"s{i}", [(0, 0), e], rule=user) for i, e in enumerate(ends, 1))
    )
    job = job_with([panel], [lines])
    plan = plan_job(job)
    (ring,) = [f for f in plan.findings if f.check == "S207"]
    assert set(ring.lines) == {"s1", "s2", "s3"}
    named = next(i for i in ring.lines if f"at Seam {i[1:]}." in ring.text)
    assert not plan_job(flip_top(job, "v1", named, Side.LEFT)).is_stopped


def test_areas_of_a_stripe_ending_square_on_a_slanted_seam_leave_nothing_between():
    a, b = np.array([100.0, 0.0]), np.array([237.0, 300.0])
    across = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a))
    foot = a + (b - a) * 0.47
    plan = planned(
        rect_panel("p1", 500, 300),
        seam("s1", [tuple(a), tuple(b)]),
        stripe("t1", [tuple(foot - across * 400), tuple(foot)], 40),
    )
    assert "S209" not in checks(plan)
    assert "S204" not in checks(plan)
    assert len(plan.regions) == 4


def test_a_ring_drawn_as_a_seam_with_a_gap_of_a_tenth_is_closed():
    points = [(100, 100), (300, 100), (300, 200), (100, 200), (100, 100.1)]
    plan = planned(rect_panel("p1", 400, 300), seam("s1", points))
    assert len(plan.regions) == 2


@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_three_seam_ends_within_reach_of_each_other_join(order):
    jitter = [(0.08, 0.05), (-0.08, 0.08), (0.0, -0.09)]
    ends = [(200, 400), (0, 0), (400, 0)]
    lines = [
        seam(f"s{n}", [(200 + jitter[k][0], 200 + jitter[k][1]), ends[k]])
        for n, k in enumerate(order, 1)
    ]
    plan = planned(rect_panel("p1", 400, 400), *lines)
    assert len(plan.regions) == 3


def test_a_stripe_with_sharp_corners_is_laid_not_refused():
    plan = planned(
        rect_panel("p1", 400, 300),
        stripe("t1", [(0, 50), (350, 100), (50, 150), (400, 200)], 30),
    )
    assert not plan.findings or "S206" not in checks(plan)
    assert any(r.film == "f2" for r in plan.regions)


def test_full_film_beneath_a_stripe_does_not_run_on_beneath_what_lies_over_the_stripe():
    plan = planned(
        rect_panel("p1", 400, 300),
        seam("s1", [(200, 0), (200, 130)]),
        stripe("t1", [(0, 150), (400, 150)], 40, rule=SeamRule(under=Under.FULL)),
        spot("c1", 100, 50, "f3"),
    )
    accent = next(p for p in plan.pieces if p.film == "f2")
    lap = 8.0
    assert accent.final.area == pytest.approx(400 * 40 + 200 * lap, abs=lap**2)


def test_a_slot_that_turned_film_closes_wholly_is_found():
    slot = [
        (0, 0),
        (400, 0),
        (400, 300),
        (205, 300),
        (205, 150),
        (195, 150),
        (195, 300),
        (0, 300),
    ]
    plan = planned(poly_panel("p1", slot, edge_turn_mm=10.0))
    assert [f.check for f in plan.findings] == ["A306"]
    wide = [(x + 30 if 200 < x < 400 else x, y) for x, y in slot]
    assert planned(poly_panel("p1", wide, edge_turn_mm=10.0)).findings == ()


def test_a_seam_that_turns_back_at_a_crossing_does_not_break_the_review():
    plan = planned(
        rect_panel("p1", 400, 300),
        seam("s1", [(200, 300), (200, 0.3), (200.01, 0.35), (200.02, 0.1)]),
        seam("s2", [(0, 0.3), (400, 0.3)]),
    )
    assert "S204" in checks(plan)


def test_a_lap_that_reaches_round_a_corner_is_part_of_its_piece():
    # A plain union of what was clipped, and so rounded, lost parts of the lap.
    recipe = Recipe(seed=36700, corners=3, openings=0, seams=0, stripes=2, inlays=0, turns=True)
    plan = plan_job(random_job(recipe)).panels[0]
    shape = {r.id: r.polygon for r in plan.regions}
    for piece in plan.pieces:
        own = shapely.union_all([shape[i] for i in piece.regions])
        on_top = [s.top for s in plan.stretches if s.under in piece.regions]
        cover = shapely.union_all([shape[i] for i in on_top], grid_size=1e-6)
        laps = [s for s in plan.stretches if s.under in piece.regions and not s.is_full]
        reach = shapely.union_all([s.path.buffer(0.98 * s.lap_mm) for s in laps])
        want = shapely.intersection(reach, cover, grid_size=1e-6)
        beside = [p for p in shapely.get_parts(want) if p.distance(own) < 1e-4 and p.area > 0]
        lacking = shapely.difference(shapely.union_all(beside), piece.final, grid_size=1e-6)
        assert lacking.area < 0.01

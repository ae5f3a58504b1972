import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import LineString

from core.document.edits.built_up import (
    cut_away,
    join_panels,
    make_symmetric,
    overlapping_panels,
    split_panel,
)
from core.document.edits.lines import find_line
from core.document.edits.outlines import (
    align_nodes,
    axis_between,
    find_ring,
    middle_axis,
    mirror_panel,
    offset_outline,
    rotate_panel,
    rotate_to_flow,
    round_corners,
    scale_to_length,
    scale_to_size,
    set_length_of_edge,
    simplify_outline,
    straighten_outline,
    weld_nodes,
)
from core.document.file import JobFile, from_bytes, to_bytes
from core.document.lines import SeamRule, Side
from core.document.measures import length_between, ring_size
from core.document.panel import Mark, MarkKind
from core.errors import EditRefused
from core.geometry.path_offset import Corners
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

NEAR = 1e-9


@pytest.fixture
def job():
    """A panel with all that can lie on one, in two variants, and a disc over its edge."""
    panel = rect_panel(
        "p1", 400, 200, openings=(hole("o1", 100, 140, 20),), marks=(bolt("m1", 300, 50),),
        flow_deg=90.0,
    )  # fmt: skip
    drawn = scheme(
        "p1",
        seam("s1", [(0, 50), (400, 60)], rule=SeamRule(on_top=Side.LEFT)),
        stripe("t1", [(0, 100), (400, 100)], (20, 40)),
        inlay("i1", [(300, 150), (340, 150), (340, 180), (300, 180)]),
        spot("c1", 10, 10, "f3"),
    )
    job = job_with([panel, disc_panel("p2", 60, at=(400.0, 100.0))], [drawn])
    first = job.variants[0]
    return replace(job, variants=(first, replace(first, id="v2", name="Other")))


def areas(job, variant="v1"):
    """Area of each film on each drawn panel, as planned."""
    result = {}
    for plan in plan_job(job, variant).panels:
        for region in plan.regions:
            key = (plan.of, region.film)
            result[key] = result.get(key, 0.0) + region.polygon.area
    return result


def by_film(job, *panels):
    films = {}
    for (panel, film), area in areas(job).items():
        if panel in panels:
            films[film] = films.get(film, 0.0) + area
    return films


def loads_again(job):
    return from_bytes(to_bytes(JobFile(job)), "again").job == job


def test_a_mirrored_panel_is_planned_alike(job):
    panel = job.panel("p1")
    mirrored = mirror_panel(job, "p1", middle_axis(panel, is_level=False))
    for film, area in by_film(job, "p1").items():
        assert by_film(mirrored, "p1")[film] == pytest.approx(area, abs=0.5)
    assert mirrored.panel("p1").marks[0].path == ((100.0, 50.0),)
    assert mirrored.panel("p1").flow_deg == 90.0
    assert loads_again(mirrored)


def test_the_same_film_stays_on_top_when_mirrored(job):
    def on_top(job):
        """The film on top along the most of the seam."""
        plan = plan_job(job, "v1").panels[0]
        films = {r.id: r.film for r in plan.regions}
        lap = [s for s in plan.stretches if s.line == "s1"]
        return {films[s.top] for s in lap}

    mirrored = mirror_panel(job, "p1", middle_axis(job.panel("p1"), is_level=False))
    assert find_line(mirrored, "v1", "s1")[1].rule.on_top is Side.RIGHT
    assert find_line(mirrored, "v2", "s1")[1].rule.on_top is Side.RIGHT
    assert on_top(mirrored) == on_top(job)


def test_a_panel_turns_to_its_flow_arrow_with_its_lines(job):
    turned = rotate_to_flow(job, "p1")
    assert turned.panel("p1").flow_deg == 0.0
    assert ring_size(turned.panel("p1").outline) == pytest.approx((200, 400))
    for film, area in by_film(job, "p1").items():
        assert by_film(turned, "p1")[film] == pytest.approx(area, abs=0.5)
    back = rotate_panel(turned, "p1", 90)
    assert back.panel("p1").outline == job.panel("p1").outline
    with pytest.raises(EditRefused, match="no set direction"):
        rotate_to_flow(job, "p2")


@given(st.floats(50, 3000), st.booleans())
def test_a_measured_length_holds_after_scaling(length, is_along):
    job = job_with([rect_panel("p1", 400, 200), disc_panel("p2", 60)])
    for panel in ("p1", "p2"):
        scaled = scale_to_length(job, panel, ("n1", "n3"), length, is_along=is_along)
        outline = scaled.panel(panel).outline
        found = length_between(outline, "n1", "n3", is_along=is_along)
        assert found == pytest.approx(length, rel=NEAR)


@given(st.floats(50, 3000), st.floats(50, 3000))
def test_measured_width_and_height_hold_for_curves_too(width, height):
    disc = disc_panel("p1", 60)
    first, second, third, fourth = disc.outline
    third = replace(third, smooth=False, after=(-40.0, 90.0))
    bowed = replace(disc, outline=(first, second, third, fourth))
    scaled = scale_to_size(job_with([bowed]), "p1", width, height)
    assert ring_size(scaled.panel("p1").outline) == pytest.approx((width, height), rel=NEAR)


def test_scaling_takes_what_is_drawn_along_and_leaves_what_was_typed(job):
    scaled = scale_to_size(job, "p1", 800, None)
    assert find_line(scaled, "v1", "s1")[1].nodes[1].at == pytest.approx((800, 60))
    assert find_line(scaled, "v1", "t1")[1].end_width_mm == 40
    assert scaled.panel("p1").marks[0].radius_mm == 5
    with pytest.raises(EditRefused, match="thousandfold"):
        scale_to_size(job, "p1", 500_000, None)
    with pytest.raises(EditRefused, match="longer than nothing"):
        scale_to_length(job, "p1", ("n1", "n2"), 0, is_along=False)
    with pytest.raises(EditRefused, match="one spot"):
        scale_to_length(job, "p1", ("n1", "n1"), 5, is_along=False)


def test_ring_edits_reach_openings_and_refuse_to_break_them(job):
    assert (
        len(find_ring(straighten_outline(job, "p1", "o1", "n1", "n3").panel("p1"), "o1")) == 3
    )
    longer = set_length_of_edge(job, "p1", "p1", "n1", 500)
    assert longer.panel("p1").outline[1].at == (500, 0)
    assert len(round_corners(job, "p1", "p1", ["n1"], 20).panel("p1").outline) == 5
    with pytest.raises(EditRefused, match="Opening 1 would not lie inside"):
        offset_outline(job, "p1", -60, Corners.SHARP)
    with pytest.raises(EditRefused, match="Opening 1 would not lie inside"):
        weld_nodes(job, "p1", "p1", "n3", "n4")
    with pytest.raises(KeyError):
        find_ring(job.panel("p1"), "o9")


def test_an_edit_that_lets_the_outline_cross_itself_is_refused():
    job = job_with([poly_panel("p1", [(0, 0), (300, 0), (300, 200), (150, 50), (0, 200)])])
    with pytest.raises(EditRefused, match="cross"):
        align_nodes(job, "p1", "p1", ["n2", "n4"], is_level=False)
    assert align_nodes(job, "p1", "p1", ["n3", "n5"], is_level=True)


def test_simplify_tells_how_far_it_strays(job):
    many = [(x, 0.1 * (x % 20 == 10)) for x in range(0, 401, 10)] + [(400, 200), (0, 200)]
    dense = job_with([poly_panel("p1", many)])
    simpler, off = simplify_outline(dense, "p1", "p1", 0.5)
    assert len(simpler.panel("p1").outline) == 4
    assert off == pytest.approx(0.1, abs=0.01)
    assert simplify_outline(job, "p1", "p1", 0.5) == (job, 0.0)


def test_a_cut_panel_s_marks_and_lines_go_to_their_side(job):
    clear = replace(job, panels=(replace(job.panel("p1"), openings=()), job.panel("p2")))
    cut = split_panel(clear, "p1", "n1", "n3")
    parts = [p.id for p in cut.panels if p.id != "p2"]
    assert parts == ["p1", "p3"]
    assert [m.id for p in parts for m in cut.panel(p).marks] == ["m1"]
    for variant in ("v1", "v2"):
        ids = [x.id for p in parts for x in cut.scheme(variant, p).lines]
        assert len(ids) == len(set(ids))
    assert loads_again(cut)


def test_a_cut_stripe_keeps_its_taper(job):
    clear = replace(job, panels=(replace(job.panel("p1"), openings=()), job.panel("p2")))
    cut = split_panel(clear, "p1", "n1", "n3")
    stripes = [x for p in ("p1", "p3") for x in cut.scheme("v1", p).stripes]
    widths = sorted((x.start_width_mm, x.end_width_mm) for x in stripes)
    # It crosses the diagonal half-way: 30 mm wide there.
    assert widths == [(20, pytest.approx(30)), (pytest.approx(30), 40)]
    lengths = [LineString([n.at for n in x.nodes]).length for x in stripes]
    assert sum(lengths) == pytest.approx(400)


def test_a_cut_through_an_opening_is_refused_and_one_on_a_side_goes_there(job):
    through = replace(job.panel("p1"), openings=(hole("o1", 200, 100, 20),))
    with pytest.raises(EditRefused, match="runs through Opening 1"):
        split_panel(replace(job, panels=(through,)), "p1", "n1", "n3")
    cut = split_panel(job, "p1", "n1", "n3")
    assert [len(cut.panel(p).openings) for p in ("p1", "p3")] == [0, 1]


def test_a_ridge_on_both_sides_of_a_cut_is_on_both_parts(job):
    ridge = Mark(id="m2", kind=MarkKind.RIDGE, path=((50.0, 150.0), (350.0, 20.0)))
    panel = replace(job.panel("p1"), openings=(), marks=(ridge,))
    cut = split_panel(replace(job, panels=(panel,)), "p1", "n1", "n3")
    assert [m.id for p in cut.panels for m in p.marks] == ["m2", "m3"]


def test_joined_panels_are_one_with_what_lay_on_both(job):
    drawn = scheme("p2", seam("s2", [(30, -60), (30, 60)]), spot("c2", 50, 0, "f2"))
    schemes = (*job.variants[0].schemes, drawn)
    both = replace(job, variants=(replace(job.variants[0], schemes=schemes), job.variants[1]))
    assert overlapping_panels(both, "p1") == ["p2"]
    joined = join_panels(both, "p1", "p2")
    assert [p.id for p in joined.panels] == ["p1"]
    assert find_line(joined, "v1", "s2")[1].nodes[0].at == (430, 40)
    assert joined.scheme("v1", "p1").spots[-1].at == (450, 100)
    assert [o.id for o in joined.panel("p1").openings] == ["o1"]
    assert loads_again(joined)


def test_joining_keeps_each_edge_its_turn(job):
    panels = [replace(p, edge_turn_mm=t) for p, t in zip(job.panels, (5.0, 12.0), strict=True)]
    joined = join_panels(replace(job, panels=tuple(panels)), "p1", "p2").panel("p1")
    assert joined.edge_turn_mm == 5.0
    assert {n.turn_mm for n in joined.outline} == {None, 12.0}


def test_panels_that_do_not_go_together_are_not_joined(job):
    pair = replace(job, panels=(job.panel("p1"), replace(job.panel("p2"), is_pair=True)))
    with pytest.raises(EditRefused, match="not as many"):
        join_panels(pair, "p1", "p2")
    away = replace(job, panels=(job.panel("p1"), replace(job.panel("p2"), at=(900.0, 0.0))))
    with pytest.raises(EditRefused, match="do not overlap"):
        join_panels(away, "p1", "p2")
    over = replace(job, panels=(job.panel("p1"), replace(job.panel("p2"), at=(60.0, 140.0))))
    with pytest.raises(EditRefused, match="Opening 1 would be covered"):
        join_panels(over, "p1", "p2")
    with pytest.raises(EditRefused):
        join_panels(job, "p1", "p1")


def test_a_shape_cut_away_takes_what_lies_in_it(job):
    knife = replace(job.panel("p2"), at=(300.0, 50.0))
    spotted = scheme("p1", spot("c1", 300, 50, "f3"), spot("c2", 10, 10, "f2"))
    job = replace(
        job,
        panels=(job.panel("p1"), knife),
        variants=(replace(job.variants[0], schemes=(spotted,)),),
    )
    cut = cut_away(job, "p1", "p2", keeps_other=False)
    assert [p.id for p in cut.panels] == ["p1"]
    assert cut.panel("p1").marks == ()
    assert [s.id for s in cut.scheme("v1", "p1").spots] == ["c2"]
    assert len(cut_away(job, "p1", "p2").panels) == 2
    assert loads_again(cut)


def test_a_bite_through_an_opening_is_refused_and_an_inner_shape_is_an_opening(job):
    half = replace(job, panels=(job.panel("p1"), replace(job.panel("p2"), at=(130.0, 200.0))))
    with pytest.raises(EditRefused, match="runs through Opening 1"):
        cut_away(half, "p1", "p2")
    inside = replace(job, panels=(job.panel("p1"), replace(job.panel("p2"), at=(300.0, 100.0))))
    assert [o.id for o in cut_away(inside, "p1", "p2").panel("p1").openings] == ["o1", "o2"]


def test_one_half_is_mirrored_with_its_openings_and_marks(job):
    axis = middle_axis(job.panel("p1"), is_level=False)
    left = make_symmetric(job, "p1", axis, keeps_left=True).panel("p1")
    assert [o.id for o in left.openings] == ["o1", "o2"]
    assert left.marks == ()
    right = make_symmetric(job, "p1", axis, keeps_left=False).panel("p1")
    assert right.openings == ()
    assert [m.path[0][0] for m in right.marks] == [300, 100]
    assert loads_again(make_symmetric(job, "p1", axis, keeps_left=False))


def test_an_opening_across_the_axis_becomes_symmetric(job):
    panel = replace(job.panel("p1"), openings=(hole("o1", 210, 100, 20),))
    axis = axis_between(replace(panel), "n1", "n4")
    with pytest.raises(EditRefused):
        make_symmetric(replace(job, panels=(panel,)), "p1", axis, keeps_left=True)
    middle = middle_axis(panel, is_level=False)
    made = make_symmetric(replace(job, panels=(panel,)), "p1", middle, keeps_left=True)
    width, _ = ring_size(made.panel("p1").openings[0].nodes)
    assert width == pytest.approx(20)

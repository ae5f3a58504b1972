"""A panel kept symmetric: what is done to one half is done to the other."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import Polygon

from core.document.checks import iter_problems
from core.document.edits import built_up, outlines
from core.document.edits.panels import (
    let_go_of_symmetry,
    move_panel,
    replace_panel,
    set_edge_turn,
    set_outline,
)
from core.document.edits.paths import (
    delete_node,
    insert_node,
    move_handle,
    move_node,
    set_smooth,
)
from core.document.kept_symmetry import axis_ends, is_symmetric
from core.document.panel import Opening, Symmetry
from core.document.placing import mirrored
from core.document.shaping import chain_of
from core.errors import EditRefused, LaplineError
from core.geometry.boolean_paths import flat_ring
from core.geometry.path_offset import Corners
from helpers.jobs import circle_path, job_with, path, poly_panel

UPRIGHT = outlines.Axis((200.0, 0.0), 90.0)
HOUSE = [(0, 0), (400, 0), (400, 300), (300, 300), (200, 420), (100, 300), (0, 300)]


def kept(points=HOUSE, axis=UPRIGHT, *, ring=None, openings=()):
    """A job with one panel that is kept symmetric; its left half counts."""
    panel = poly_panel("p1", points)
    panel = replace(panel, outline=ring or panel.outline, openings=openings)
    job = job_with([panel])
    return built_up.make_symmetric(job, "p1", axis, keeps_left=True, is_kept=True)


def rings_of(job):
    panel = job.panel("p1")
    return {n.id: n for n in panel.outline}, panel


def images(ring, axis):
    """Where mirroring puts each node with its handles, by complex arithmetic of its own."""
    turn = complex(
        math.cos(math.radians(axis.angle_deg)), math.sin(math.radians(axis.angle_deg))
    )
    turn *= turn
    origin = complex(*axis.through)
    for node in ring:
        at = origin + turn * (complex(*node.at) - origin).conjugate()
        ends = [turn * complex(*(h or (0, 0))).conjugate() for h in (node.after, node.before)]
        yield at, ends[0], ends[1]


def gap_to_image(ring, axis):
    """The furthest that any node or handle of the mirrored ring is from one of the ring."""
    own = [
        (complex(*n.at), complex(*(n.before or (0, 0))), complex(*(n.after or (0, 0))))
        for n in ring
    ]
    return max(
        min(max(abs(a - b) for a, b in zip(one, other, strict=True)) for other in own)
        for one in images(ring, axis)
    )


def nearest(job, x, y):
    return min(job.panel("p1").outline, key=lambda n: math.dist(n.at, (x, y)))


def moved(job, node, at):
    return set_outline(job, "p1", move_node(job.panel("p1").outline, node, at))


def test_the_half_is_mirrored_once_and_the_axis_is_kept():
    job = kept([(0, 0), (420, 0), (380, 300), (0, 300)])
    panel = job.panel("p1")
    assert panel.symmetry == Symmetry(through=(200.0, 0.0), angle_deg=90.0)
    assert {n.at for n in panel.outline} == {(0, 0), (400, 0), (400, 300), (0, 300)}
    assert not list(iter_problems(job))


def test_a_moved_node_stays_where_it_was_put_and_its_twin_follows():
    job = kept()
    right, left = nearest(job, 400, 300), nearest(job, 0, 300)
    after = moved(job, right.id, (430.0, 280.0))
    nodes, panel = rings_of(after)
    assert nodes[right.id].at == (430.0, 280.0)
    assert nodes[left.id].at == pytest.approx((-30.0, 280.0))
    assert [n.id for n in panel.outline] == [n.id for n in job.panel("p1").outline]


def test_a_drag_goes_on_from_where_it_is():
    job = kept()
    node = nearest(job, 0, 300)
    for step in range(5):
        job = moved(job, node.id, (-10.0 * step, 300.0 + step))
        assert rings_of(job)[0][node.id].at == (-10.0 * step, 300.0 + step)
        assert gap_to_image(job.panel("p1").outline, UPRIGHT) < 1e-6


def test_a_node_on_the_axis_stays_on_it():
    job = kept()
    top = nearest(job, 200, 420)
    after = moved(job, top.id, (230.0, 460.0))
    assert rings_of(after)[0][top.id].at == pytest.approx((200.0, 460.0))
    assert gap_to_image(after.panel("p1").outline, UPRIGHT) < 1e-6


def test_handles_on_the_axis_are_made_symmetric():
    job = kept(ring=circle_path(200, 150, 100))
    top = nearest(job, 200, 250)
    ring = job.panel("p1").outline
    after = set_outline(job, "p1", move_handle(ring, top.id, "after", (-90.0, 20.0)))
    node = rings_of(after)[0][top.id]
    assert node.smooth
    assert node.after == pytest.approx((-90.0, 0.0))
    assert node.before == pytest.approx((90.0, 0.0))
    back = set_outline(job, "p1", move_handle(ring, top.id, "before", (70.0, 20.0)))
    node = rings_of(back)[0][top.id]
    assert node.before == pytest.approx((70.0, 0.0))
    assert node.after == pytest.approx((-70.0, 0.0))


def test_the_handles_of_a_corner_on_the_axis_lean_as_images():
    job = kept(ring=circle_path(200, 150, 100))
    top = nearest(job, 200, 250)
    sharp = set_outline(
        job, "p1", set_smooth(job.panel("p1").outline, top.id, False, closed=True)
    )
    ring = sharp.panel("p1").outline
    after = set_outline(sharp, "p1", move_handle(ring, top.id, "before", (60.0, 30.0)))
    node = rings_of(after)[0][top.id]
    assert node.before == (60.0, 30.0)
    assert node.after == pytest.approx((-60.0, 30.0))


def test_a_node_made_smooth_makes_its_twin_smooth():
    job = kept()
    a, b = nearest(job, 100, 300), nearest(job, 300, 300)
    ring = set_smooth(job.panel("p1").outline, b.id, True, closed=True)
    nodes, _ = rings_of(set_outline(job, "p1", ring))
    assert nodes[a.id].smooth
    assert nodes[b.id].smooth
    nodes, panel = rings_of(set_outline(job, "p1", set_smooth(ring, b.id, False, closed=True)))
    assert gap_to_image(panel.outline, UPRIGHT) < 1e-6


@pytest.mark.parametrize("t", [0.2, 0.5, 0.8])
def test_a_node_inserted_across_the_axis_gets_its_twin_and_the_shape_stays(t):
    ring = circle_path(200, 150, 100)
    ring = tuple(replace(n) for n in insert_node(ring, "n1", 0.6, closed=True))
    ring = insert_node(ring, "n2", 0.4, closed=True)
    ring = delete_node(ring, "n2", closed=True)  # the top, so that a curve crosses the axis
    job = built_up.make_symmetric(
        job_with([replace(poly_panel("p1", HOUSE), outline=ring)]),
        "p1",
        UPRIGHT,
        keeps_left=True,
    )
    # Take the node that mirroring put on the axis away again: both neighbours are twins then.
    top = nearest(job, 200, 250)
    ring = delete_node(job.panel("p1").outline, top.id, closed=True)
    axis = Symmetry(through=(200.0, 0.0), angle_deg=90.0)
    job = replace_panel(job, replace(job.panel("p1"), outline=ring, symmetry=axis))
    assert job.panel("p1").symmetry == axis
    start = max((n for n in ring if n.at[0] > 205), key=lambda n: n.at[1])
    fresh = insert_node(ring, start.id, t, closed=True)
    after = set_outline(job, "p1", fresh).panel("p1").outline
    added = next(n.id for n in fresh if n.id not in {m.id for m in ring})
    assert len(after) == len(ring) + (1 if t == 0.5 else 2)
    assert gap_to_image(after, UPRIGHT) < 1e-6
    put = {n.id: n for n in fresh}[added].at
    assert {n.id: n for n in after}[added].at == pytest.approx(put)
    before, now = (Polygon(flat_ring(chain_of(r), 1e-4)) for r in (ring, after))
    assert before.symmetric_difference(now).area < 0.02


def test_inserting_and_deleting_on_one_half_does_so_on_the_other():
    job = kept()
    a = nearest(job, 400, 0)
    longer = set_outline(
        job, "p1", insert_node(job.panel("p1").outline, a.id, 0.25, closed=True)
    )
    assert nearest(longer, 400, 75).at == (400.0, 75.0)
    assert nearest(longer, 0, 75).at == pytest.approx((0.0, 75.0))
    gone = nearest(longer, 100, 300)
    shorter = set_outline(
        longer, "p1", delete_node(longer.panel("p1").outline, gone.id, closed=True)
    )
    assert len(shorter.panel("p1").outline) == len(longer.panel("p1").outline) - 2
    assert nearest(shorter, 300, 300).at == (400.0, 300.0)


def test_rounding_one_corner_rounds_its_twin_and_ids_stay():
    job = kept()
    corner = nearest(job, 400, 0)
    after = outlines.round_corners(job, "p1", "p1", [corner.id], 40.0)
    assert gap_to_image(after.panel("p1").outline, UPRIGHT) < 1e-6
    # Two corners of a square on the radius, less a quarter of a circle each: the arcs, as
    # cubics, are good to 0.03 % of the radius.
    area = 400 * 300 + 200 * 120 / 2 - 2 * (1 - math.pi / 4) * 40**2
    rounded = Polygon(flat_ring(chain_of(after.panel("p1").outline), 1e-4))
    assert rounded.area == pytest.approx(area, abs=1.0)
    rest = {n.id for n in job.panel("p1").outline} - {corner.id, nearest(job, 0, 0).id}
    assert rest <= {n.id for n in after.panel("p1").outline}


def test_measured_edges_offsets_and_straightening_stay_symmetric():
    job = kept()
    low, high = nearest(job, 400, 0), nearest(job, 300, 300)
    for after in (
        outlines.set_length_of_edge(job, "p1", "p1", low.id, 250.0),
        outlines.offset_outline(job, "p1", 12.0, Corners.ROUND),
        outlines.straighten_outline(job, "p1", "p1", low.id, high.id),
        outlines.simplify_outline(job, "p1", "p1", 5.0)[0],
        outlines.weld_nodes(job, "p1", "p1", nearest(job, 400, 300).id, high.id),
    ):
        assert gap_to_image(after.panel("p1").outline, UPRIGHT) < 1e-6
        assert after.panel("p1").symmetry is not None


def test_an_edge_turn_goes_to_the_image_of_its_edge():
    job = kept()
    start = nearest(job, 400, 0)
    ring = set_edge_turn(job, "p1", start.id, 25.0).panel("p1").outline
    # The edge on the right runs upward from its lower corner, its image downward.
    turns = {n.at: n.turn_mm for n in ring}
    assert turns[(400.0, 0.0)] == 25.0
    assert turns[(0.0, 300.0)] == 25.0
    assert sum(t is not None for t in turns.values()) == 2


def test_openings_follow_their_twins_and_their_own_halves():
    mid = Opening(id="o1", nodes=circle_path(200, 150, 30))
    side = Opening(id="o2", nodes=path([(40, 50), (80, 50), (80, 100), (40, 100)]))
    job = kept(openings=(mid, side))
    panel = job.panel("p1")
    own, twin = panel.openings[1], panel.openings[2]
    node = own.nodes[0]
    at = (node.at[0] - 5, node.at[1] - 7)
    after = outlines.change_ring(job, "p1", twin.id, lambda r: move_node(r, r[0].id, (370, 45)))
    known = {o.id: o for o in after.panel("p1").openings}
    assert any(n.at == pytest.approx((30, 45)) for n in known[own.id].nodes)
    assert {n.id for n in known[own.id].nodes} == {n.id for n in own.nodes}
    after = outlines.change_ring(job, "p1", "o2", lambda r: move_node(r, node.id, at))
    image = {o.id: o for o in after.panel("p1").openings}[twin.id]
    assert any(n.at == pytest.approx((400 - at[0], at[1])) for n in image.nodes)
    ring = {o.id: o for o in panel.openings}["o1"].nodes
    right = max(ring, key=lambda n: n.at[0])
    after = outlines.change_ring(job, "p1", "o1", lambda r: move_node(r, right.id, (250, 150)))
    nodes = {o.id: o for o in after.panel("p1").openings}["o1"].nodes
    assert min(n.at[0] for n in nodes) == pytest.approx(150)


def test_whole_panel_moves_carry_the_axis():
    job = kept()
    spots = [
        move_panel(job, "p1", (50.0, 60.0)),
        outlines.rotate_panel(job, "p1", 33.0),
        outlines.mirror_panel(job, "p1", outlines.Axis((10.0, 20.0), 20.0)),
        outlines.scale_panel(job, "p1", 2.0, 0.5),
    ]
    for after in spots:
        panel = after.panel("p1")
        assert panel.symmetry is not None
        assert is_symmetric(panel.outline, panel.symmetry, 1e-6)
        assert not list(iter_problems(after))
    turned = outlines.rotate_panel(job, "p1", 33.0)
    axis = turned.panel("p1").symmetry
    node = turned.panel("p1").outline[0]
    again = moved(turned, node.id, (node.at[0] + 3, node.at[1] - 4))
    assert gap_to_image(again.panel("p1").outline, axis) < 1e-6
    askew = outlines.scale_panel(turned, "p1", 2.0, 0.5)
    assert askew.panel("p1").symmetry is None


def test_let_go_the_halves_are_free():
    job = let_go_of_symmetry(kept(), "p1")
    node = nearest(job, 400, 0)
    after = moved(job, node.id, (430.0, 0.0))
    assert nearest(after, 0, 0).at == (0.0, 0.0)
    assert axis_ends(after.panel("p1")) is None


def test_cutting_in_two_lets_go():
    job = kept()
    a, b = nearest(job, 400, 0), nearest(job, 0, 300)
    halves = built_up.split_panel(job, "p1", a.id, b.id)
    assert [p.symmetry for p in halves.panels] == [None, None]


def test_the_axis_ends_beyond_the_outline():
    (x0, low), (x1, high) = axis_ends(kept().panel("p1"))
    assert (x0, x1) == pytest.approx((200, 200))
    assert -30 < low < 0
    assert 420 < high < 450


def test_what_breaks_an_opening_on_the_other_half_is_refused():
    hole = Opening(id="o1", nodes=circle_path(60, 150, 30))
    job = kept(openings=(hole,))
    low = nearest(job, 400, 0)
    with pytest.raises(EditRefused):
        outlines.change_ring(job, "p1", "p1", lambda r: move_node(r, low.id, (330.0, 200.0)))


def test_a_file_whose_outline_is_not_symmetric_about_its_axis_is_told():
    job = kept()
    panel = replace(job.panel("p1"), symmetry=Symmetry(through=(190.0, 0.0), angle_deg=90.0))
    (problem,) = iter_problems(replace(job, panels=(panel,)))
    assert problem.path == "$.panels[0].symmetry"


EDITS = ("move", "handle", "insert", "delete", "smooth", "corner", "round", "edge")


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_after_any_edits_the_ring_is_symmetric_and_the_node_where_it_was_put(data):
    angle = data.draw(st.sampled_from([90.0, 0.0, 30.0]))
    through = (200.0, 150.0)
    axis = outlines.Axis(through, angle)
    ring = data.draw(st.sampled_from([path(HOUSE), circle_path(200, 150, 140)]))
    panel = replace(poly_panel("p1", HOUSE), outline=ring)
    job = built_up.make_symmetric(job_with([panel]), "p1", axis, keeps_left=True, is_kept=True)
    mirror = mirrored(through, angle)
    for _ in range(data.draw(st.integers(1, 5))):
        ring = job.panel("p1").outline
        node = data.draw(st.sampled_from(ring))
        step = data.draw(st.tuples(st.floats(-60, 60), st.floats(-60, 60)))
        kind = data.draw(st.sampled_from(EDITS[: None if not node.smooth else -1]))
        at = (node.at[0] + step[0], node.at[1] + step[1])
        try:
            job = _edited(job, kind, node, at, step)
        except LaplineError:
            continue
        panel = job.panel("p1")
        assert panel.symmetry is not None, kind
        assert gap_to_image(panel.outline, axis) < 1e-6, kind
        if kind == "move" and math.dist(mirror.point(node.at), node.at) > 0.1:
            assert {n.id: n for n in panel.outline}[node.id].at == at
        if kind in ("move", "handle", "smooth", "corner", "edge"):
            assert [n.id for n in panel.outline] == [n.id for n in ring]


def _edited(job, kind, node, at, step):
    ring, one = job.panel("p1").outline, node.id
    if kind == "round":
        return outlines.round_corners(job, "p1", "p1", [one], 8.0)
    if kind == "edge":
        return outlines.set_length_of_edge(job, "p1", "p1", one, 100 + abs(step[0]))
    change = {
        "move": lambda: move_node(ring, one, at),
        "handle": lambda: move_handle(ring, one, "after", step),
        "insert": lambda: insert_node(ring, one, 0.3, closed=True),
        "delete": lambda: delete_node(ring, one, closed=True),
        "smooth": lambda: set_smooth(ring, one, True, closed=True),
        "corner": lambda: set_smooth(ring, one, False, closed=True),
    }
    return set_outline(job, "p1", change[kind]())

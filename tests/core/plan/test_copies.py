"""Pairs and several of a kind: every physical panel has its own plan."""

import numpy as np
import pytest
from shapely.affinity import scale

from core.document.lines import SeamCut, SeamRule, Side
from core.document.panel import Panel, Trim
from core.plan.model import PanelPlan
from core.plan.plan import plan_job
from helpers.jobs import hole, inlay, job_with, poly_panel, scheme, seam, spot, stripe
from helpers.plan_laws import assert_lawful

POINTS = [(0, 0), (420, 30), (360, 290), (40, 250)]


def lopsided(**kw: object) -> Panel:
    opening = hole("o1", 300, 120, 30, turn_mm=4.0)
    return poly_panel("p1", POINTS, edge_turn_mm=12.0, openings=(opening,), flow_deg=25.0, **kw)


def plans(panel: Panel) -> tuple[PanelPlan, ...]:
    drawn = scheme(
        "p1",
        seam("s1", [(150, 0), (200, 300)], rule=SeamRule(cut=SeamCut.CUTTING_TAPE)),
        stripe("t1", [(0, 180), (420, 140)], (50, 20)),
        inlay("i1", [(60, 40), (120, 50), (80, 110)], film="f3"),
        spot("c1", 350, 60),
    )
    return plan_job(job_with([panel], [drawn])).panels


def mirrored(shape):
    return scale(shape, -1, 1, origin=(0, 0))


def test_a_pair_is_two_panels_the_second_an_exact_mirror_of_the_first():
    left, right = plans(lopsided(is_pair=True))
    assert (left.side, right.side) == ("left", "right")
    assert (left.is_mirrored, right.is_mirrored) == (False, True)
    for one, two in ((left.outline, right.outline), (left.extended, right.extended)):
        assert mirrored(one).normalize().equals(two.normalize())
    for a, b in zip(left.regions, right.regions, strict=True):
        assert mirrored(a.polygon).equals(b.polygon)
        assert a.polygon.area == pytest.approx(b.polygon.area, rel=1e-12)
        assert b.polygon.exterior.is_ccw
        assert b.polygon.bounds[0] == -a.polygon.bounds[2]
    for a, b in zip(left.pieces, right.pieces, strict=True):
        assert mirrored(a.final).equals(b.final)
        assert a.order == b.order
        assert a.cut.area == pytest.approx(b.cut.area, rel=1e-9)
        assert [round(t.length, 6) for t in a.ticks] == [round(t.length, 6) for t in b.ticks]


def test_the_mirrored_plan_obeys_the_laws():
    for made in plans(lopsided(is_pair=True)):
        assert_lawful(made)


def test_flow_is_mirrored():
    left, right = plans(lopsided(is_pair=True))
    one, two = (np.radians(p.pieces[0].flow_deg) for p in (left, right))
    assert np.cos(two) == pytest.approx(-np.cos(one))
    assert np.sin(two) == pytest.approx(np.sin(one))


def test_a_mirrored_blank_is_as_large_and_encloses_its_piece():
    left, right = plans(lopsided(is_pair=True, trim=Trim.ON_PART))
    for a, b in zip(left.pieces, right.pieces, strict=True):
        assert a.cut.area == pytest.approx(b.cut.area)
        assert b.cut.buffer(1e-6).contains(b.final)
        assert mirrored(a.cut).symmetric_difference(b.cut).area < 1e-3


def test_every_boundary_segment_keeps_its_source_in_the_mirror():
    left, right = plans(lopsided(is_pair=True))
    for a, b in zip(left.regions, right.regions, strict=True):
        for one, two in zip(a.rings, b.rings, strict=True):
            assert middles(one, -1) == middles(two, 1)


def middles(ring, sign):
    nxt = np.roll(ring.points, -1, axis=0)
    places = np.round((ring.points + nxt) / 2 * (sign, 1), 6) + 0.0
    return sorted((*p, str(s)) for p, s in zip(places.tolist(), ring.sources, strict=True))


def test_the_top_side_is_that_of_the_mirrored_stretch():
    for made in plans(lopsided(is_pair=True)):
        for stretch in made.stretches:
            path = (
                stretch.path
                if stretch.path.geom_type == "LineString"
                else stretch.path.geoms[0]
            )
            a, b = np.array(path.coords[0]), np.array(path.coords[1])
            along = (b - a) / np.hypot(*(b - a))
            left = np.array([-along[1], along[0]]) * 0.01
            beside = (a + b) / 2 + (left if stretch.top_side is Side.LEFT else -left)
            top = made.region(stretch.top).polygon
            under = made.region(stretch.under).polygon
            assert top.distance(_point(beside)) < under.distance(_point(beside))


def _point(at):
    from shapely import Point  # noqa: PLC0415

    return Point(*at)


@pytest.mark.parametrize(
    ("count", "is_pair", "ids"),
    [
        (1, False, ["p1"]),
        (1, True, ["p1L", "p1R"]),
        (3, False, ["p1.1", "p1.2", "p1.3"]),
        (2, True, ["p1.1L", "p1.1R", "p1.2L", "p1.2R"]),
    ],
)
def test_each_copy_has_ids_and_names_of_its_own(count, is_pair, ids):
    made = plans(lopsided(count=count, is_pair=is_pair))
    assert [p.id for p in made] == ids
    assert len({p.name for p in made}) == len(ids)
    assert all(p.of == "p1" for p in made)
    everything = [r.id for p in made for r in p.regions]
    assert len(set(everything)) == len(everything)
    for panel in made:
        known = {r.id for r in panel.regions}
        assert all(i.startswith(f"{panel.id}.") for i in known)
        assert {i for p in panel.pieces for i in p.regions} == known
        assert all(p.panel == panel.id and p.id in known for p in panel.pieces)
        assert all({s.top, s.under} <= known for s in panel.stretches)
        assert {t.piece for t in panel.tape_runs} <= {p.id for p in panel.pieces}
    labels = [x.label for p in made for x in p.pieces]
    assert len(set(labels)) == len(labels)


def test_what_is_wrong_with_a_pair_is_said_once():
    panel = lopsided(is_pair=True, count=2)
    made = plan_job(job_with([panel], [scheme("p1", spot("c1", 5000, 0))]))
    assert len(made.findings) == 1

from dataclasses import replace

import pytest
import shapely
from shapely import Point, Polygon, box

from core.plan.model import Severity
from core.write.plotter import Plotter
from core.write.small_features import Small, plotter_findings, small_features
from helpers.plans import hand_plan

SHEET = box(0, 0, 100, 60)
DUMBBELL = box(0, 0, 20, 20) | box(20, 9.7, 40, 10.3) | box(40, 0, 60, 20)


def found(shape, least=1.0):
    return {f.what for f in small_features(shape, least)}


@pytest.mark.parametrize(
    "shape",
    [
        SHEET,
        Polygon([(0, 0), (100, 0), (0, 20)]),
        Point(0, 0).buffer(1.5),
        SHEET.difference(Point(50, 30).buffer(1.5)),
        SHEET.buffer(-1.2).buffer(1.2, quad_segs=16),
        box(0, 0, 50, 50).union(box(50, 0, 100, 52)),
        SHEET.difference(box(20, -1, 22, 30)),
    ],
)
def test_what_is_large_enough_is_left_alone(shape):
    assert small_features(shape, 1.0) == ()


@pytest.mark.parametrize(
    ("shape", "what", "place"),
    [
        (
            box(0, 0, 20, 20) | box(20, 9.7, 40, 10.3) | box(40, 0, 60, 20),
            Small.STRIP,
            (30, 10),
        ),
        (SHEET.difference(box(20, 20, 60, 20.6)), Small.SLOT, (40, 20.3)),
        (SHEET.difference(box(20, -1, 20.6, 30)), Small.SLOT, (20.3, 15)),
        (SHEET.difference(Point(50, 25).buffer(0.45)), Small.SLOT, (50, 25)),
        (box(0, 0, 50, 50) | box(50, 0, 100, 50.5), Small.STEP, (50, 50.25)),
        (SHEET.buffer(-0.7).buffer(0.7, quad_segs=8), Small.ROUND, None),
        (SHEET.difference(box(40, 20, 60, 40).buffer(0.6)), Small.ROUND, None),
    ],
)
def test_what_is_too_small_is_found_where_it_is(shape, what, place):
    features = [f for f in small_features(shape, 1.0) if f.what is what]
    assert features
    if place is not None:
        assert Point(features[0].at).distance(Point(place)) < 1.0
    if what is Small.ROUND:
        assert len(features) == 4
        assert all(f.size_mm == pytest.approx(0.65, abs=0.06) for f in features)
    grown = shapely.affinity.scale(shape, 3, 3, origin=(0, 0))
    assert what not in found(grown)


def test_nothing_is_too_small_for_a_machine_without_a_limit():
    assert small_features(SHEET.difference(box(20, 20, 60, 20.01)), 0.0) == ()
    assert small_features(Polygon(), 1.0) == ()


def test_a_piece_with_something_too_small_is_warned_of():
    plan = hand_plan()
    assert plotter_findings(plan, Plotter()) == ()
    piece = plan.pieces[0]
    thin = replace(piece, final=box(0, 0, 80, 40) | box(80, 20, 100, 20.5))
    panel = replace(plan.panels[0], pieces=(thin, *plan.panels[0].pieces[1:]))
    plan = replace(plan, panels=(panel, plan.panels[1]))
    (finding,) = plotter_findings(plan, Plotter(min_feature_mm=1.0))
    assert (finding.check, finding.severity, finding.panel) == ("N521", Severity.WARNING, "p1L")
    assert "Side board left 1" in finding.text
    assert "narrower than 1 mm" in finding.text
    assert plotter_findings(plan, Plotter(min_feature_mm=0.3)) == ()

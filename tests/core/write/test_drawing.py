import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, box

from core.write.drawing import (
    Drawing,
    Layer,
    Purpose,
    Shape,
    Text,
    area_runs,
    closed_run,
    line_runs,
    open_run,
)

CUT, LABELS = Layer("CUT", Purpose.CUT), Layer("LABELS", Purpose.LABEL)


def drawing(shapes=(), texts=()):
    return Drawing("d", (0, 0, 10, 10), (CUT, LABELS), tuple(shapes), tuple(texts))


def test_text_on_a_cut_layer_is_refused():
    with pytest.raises(ValueError, match="no text may stand on layer CUT"):
        drawing(texts=[Text("CUT", "x", (0, 0), 3)])


def test_content_on_a_layer_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="no layer OTHER"):
        drawing([Shape("OTHER", (open_run([(0, 0), (1, 1)]),))])
    with pytest.raises(ValueError, match="layer OTHER"):
        drawing(texts=[Text("OTHER", "x", (0, 0), 3)])


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_coordinates_that_are_not_finite_are_refused(bad):
    with pytest.raises(ValueError, match="finite"):
        drawing([Shape("CUT", (open_run([(0, 0), (bad, 1)]),), "p1")])
    with pytest.raises(ValueError, match="finite"):
        Drawing("d", (0, 0, bad, 1), (CUT,))


def test_a_closed_run_needs_three_points():
    with pytest.raises(ValueError, match="too few points"):
        drawing([Shape("CUT", (closed_run([(0, 0), (1, 1), (0, 0)]),))])


def test_a_closed_run_does_not_repeat_its_first_point():
    assert len(closed_run([(0, 0), (1, 0), (1, 1), (0, 0)]).points) == 3


def test_an_area_gives_its_outer_ring_then_its_openings():
    area = box(0, 0, 10, 10).difference(box(2, 2, 4, 4))
    outer, opening = area_runs(area)
    assert outer.is_closed
    assert opening.is_closed
    assert np.ptp(outer.points, axis=0).tolist() == [10, 10]
    assert np.ptp(opening.points, axis=0).tolist() == [2, 2]


def test_areas_of_several_parts_and_of_none():
    assert len(area_runs(MultiPolygon([box(0, 0, 1, 1), box(3, 3, 4, 4)]))) == 2
    assert area_runs(LineString([(0, 0), (1, 1)])) == ()
    assert area_runs(MultiPolygon()) == ()


def test_lines_of_a_geometry_are_open_and_points_are_left_out():
    (run,) = line_runs(LineString([(0, 0), (1, 1), (2, 0)]))
    assert not run.is_closed
    assert line_runs(Point(1, 1)) == ()


def test_runs_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        closed_run([(0, 0), (1, 0), (1, 1)]).points[0, 0] = 5.0


def test_shapes_are_found_by_what_their_layer_is_for():
    shape = Shape("CUT", (open_run([(0, 0), (1, 1)]),))
    one = drawing([shape])
    assert one.shapes_for(Purpose.CUT) == (shape,)
    assert one.shapes_for(Purpose.LABEL) == ()
    assert one.purpose("LABELS") is Purpose.LABEL

import numpy as np
import pytest
from shapely import Point, Polygon, box
from shapely.affinity import rotate

from core.write.label_room import inner_point, room_of, roomy_point
from core.write.labels import BlockSize, LabelSpot, block_box, fit_block

WIDE = BlockSize(width=8.0, height=1.5)


def test_a_roomy_shape_gets_the_largest_label_level():
    spot = fit_block(box(0, 0, 500, 300), WIDE, 3, 10)
    assert spot is not None
    assert (spot.angle_deg, spot.height_mm) == (0.0, pytest.approx(10))
    assert spot.centre == pytest.approx((250, 150))


def test_a_narrow_upright_shape_gets_its_label_along_it():
    spot = fit_block(box(0, 0, 15, 400), WIDE, 3, 10)
    assert spot is not None
    assert spot.angle_deg == pytest.approx(90)


def test_a_slanted_strip_gets_its_label_along_it_and_never_upside_down():
    strip = Polygon([(0, 0), (300, -300), (307, -293), (7, 7)])
    spot = fit_block(strip, WIDE, 2, 10)
    assert spot is not None
    assert spot.angle_deg == pytest.approx(-45, abs=0.5)


@pytest.mark.parametrize("lean", [-3, 3])
def test_nearly_upright_labels_all_read_upwards(lean):
    spot = fit_block(rotate(box(0, 0, 15, 400), lean), WIDE, 3, 10)
    assert spot is not None
    assert spot.angle_deg == pytest.approx(90 + lean)


def test_a_label_keeps_out_of_openings():
    shape = box(0, 0, 200, 100).difference(Point(100, 50).buffer(40))
    spot = fit_block(shape, WIDE, 2, 10)
    assert spot is not None
    assert shape.contains(block_box(WIDE, spot))


def test_a_bent_strip_gets_its_label_inside():
    ring = Point(0, 0).buffer(100).difference(Point(0, 0).buffer(80))
    bow = ring.intersection(box(-200, 0, 200, 200))
    spot = fit_block(bow, WIDE, 2, 10)
    assert spot is not None
    assert bow.contains(block_box(WIDE, spot))


def test_what_fits_nowhere_has_no_spot():
    assert fit_block(box(0, 0, 4, 4), WIDE, 3, 10) is None
    assert fit_block(Polygon(), WIDE, 3, 10) is None


def test_the_inner_point_is_inside_even_when_the_centroid_is_not():
    bow = Point(0, 0).buffer(100).difference(Point(0, -30).buffer(100))
    (x, y), radius = inner_point(bow)
    assert bow.contains(Point(x, y))
    assert not bow.contains(bow.centroid)
    assert 0 < radius <= 15.5


def test_the_inner_point_of_a_square_is_its_middle():
    (x, y), radius = inner_point(box(0, 0, 10, 10))
    assert (x, y) == pytest.approx((5, 5))
    assert radius == pytest.approx(5, rel=0.02)


def test_a_shape_without_area_has_an_inner_point():
    assert inner_point(Polygon([(0, 0), (1, 0), (2, 0)]))[1] == 0.0


@pytest.mark.parametrize(
    "shape",
    [
        box(0, 0, 60, 20),
        Point(0, 0).buffer(40),
        Point(0, 0).buffer(40).difference(box(-3, -50, 3, 30)),
        Polygon([(0, 0), (90, 0), (90, 20), (20, 20), (20, 80), (0, 80)]),
        box(0, 0, 100, 100).difference(box(33, 33, 67, 67)),
    ],
    ids=["board", "round", "slotted", "corner", "window"],
)
@pytest.mark.parametrize("angle", [0.0, 90.0, -37.0])
def test_a_block_fits_up_to_the_height_that_is_told_and_no_further(shape, angle):
    """Judged by set operations, at points inside the shape."""
    room = room_of(shape)
    centres = np.vstack([room.inner, room.chord_middles(angle)])
    heights = room.heights(centres, angle, (WIDE.width, WIDE.height))
    for centre, height in zip(centres.tolist(), heights.tolist(), strict=True):
        assert shape.contains(Point(centre))
        less, more = (LabelSpot(tuple(centre), angle, height * k) for k in (0.999, 1.001))
        assert shape.contains(block_box(WIDE, less))
        assert not shape.contains(block_box(WIDE, more))


def test_middles_of_chords_halve_the_longest_part_across():
    comb = box(0, 0, 100, 10).union(box(0, 30, 100, 60)).union(box(90, 0, 100, 60))
    assert room_of(comb).chord_middles(0.0)[:, 1] == pytest.approx(45, abs=1e-9)


def test_the_room_in_a_shape_is_found_once():
    shape = box(0, 0, 60, 20)
    assert room_of(shape) is room_of(shape)
    assert room_of(shape) is not room_of(box(0, 0, 60, 20))


@pytest.mark.parametrize("shape", [box(0, 0, 60, 20), box(0, 0, 9, 9), Point(3, 4).buffer(2)])
def test_a_compact_shape_is_roomiest_in_its_middle(shape):
    assert roomy_point(shape) == pytest.approx((shape.centroid.x, shape.centroid.y))
    assert roomy_point(shape) == pytest.approx(inner_point(shape)[0])

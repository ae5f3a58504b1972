import pytest
from shapely import Point, Polygon, box
from shapely.affinity import rotate

from core.write.labels import BlockSize, block_box, fit_block, inner_point

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

import math

import pytest
from shapely import LineString, MultiLineString, Point, Polygon

from core.geometry.coarse import coarse_runs, coarseness_mm
from core.tolerance import FLATTEN_MM


@pytest.mark.parametrize("px_mm", [0.3, 0.5, 1.0, 3.3, 5.0, 80.0])
def test_lines_stray_at_most_a_quarter_of_a_pixel_and_at_least_an_eighth_is_used(px_mm):
    stray = coarseness_mm(px_mm)
    assert stray == 0.0 or px_mm / 8 < stray <= px_mm / 4
    assert (stray == 0.0) is (2.0 ** math.floor(math.log2(px_mm / 4)) <= FLATTEN_MM)


def test_fewer_points_and_none_further_off():
    disc = Point(0, 0).buffer(200, quad_segs=64)
    holed = disc.difference(Point(0, 0).buffer(50, quad_segs=64))
    rim, hole = (LineString(run) for run in coarse_runs([holed], 1.0))
    assert len(rim.coords) < len(disc.exterior.coords) / 4
    assert rim.is_ring
    assert hole.is_ring
    assert rim.hausdorff_distance(disc.exterior) <= 1.0


def test_lines_keep_their_ends_and_nothing_gives_nothing():
    lines = MultiLineString([[(0, 0), (5, 0.5), (10, 0)], [(0, 9), (0.1, 9)]])
    assert [run.tolist() for run in coarse_runs([lines], 1.0)] == [
        [[0, 0], [10, 0]],
        [[0, 9], [0.1, 9]],
    ]
    assert coarse_runs([LineString(), Polygon()], 4.0) == []

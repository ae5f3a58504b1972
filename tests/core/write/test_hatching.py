import math

import pytest
import shapely
from shapely import Polygon, box

from core.write.hatching import hatch_lines


@pytest.mark.parametrize("angle", [0, 30, 45, 90, -60, 135])
def test_length_is_area_over_spacing(angle):
    # Plane geometry: lines one spacing apart cover an area with area / spacing of length.
    area = box(-300, 120, 500, 900).difference(box(0, 300, 100, 400))
    lines = hatch_lines(area, 2.0, angle)
    assert lines.length == pytest.approx(area.area / 2.0, rel=0.01)


def test_lines_stay_inside():
    area = Polygon([(0, 0), (90, 10), (40, 70)])
    assert shapely.difference(hatch_lines(area, 3, 45), area.buffer(1e-9)).length == 0


def test_neighbours_are_in_step():
    whole = hatch_lines(box(0, 0, 40, 20), 3, 45)
    halves = [hatch_lines(box(x, 0, x + 20, 20), 3, 45) for x in (0, 20)]
    assert sum(h.length for h in halves) == pytest.approx(whole.length)
    assert shapely.difference(shapely.union_all(halves), whole.buffer(1e-9)).length == 0


def test_nothing_to_hatch():
    assert hatch_lines(Polygon(), 3, 45).is_empty
    assert hatch_lines(box(0.1, 0.1, 0.2, 0.2), 50, 0).is_empty


def test_direction():
    line = shapely.get_parts(hatch_lines(box(0, 0, 50, 50), 7, 30))[0]
    (x0, y0), (x1, y1) = line.coords
    assert math.degrees(math.atan2(y1 - y0, x1 - x0)) == pytest.approx(30)

import pytest
from shapely import Point, box

from core.write.badge_wall import BadgeWall

RADIUS = 5.0


def apart(one, other):
    return Point(one).distance(Point(other)) - 2 * RADIUS


def test_one_number_hangs_in_the_middle():
    wall = BadgeWall(box(0, 0, 100, 60), RADIUS)
    assert wall.hang(box(0, 0, 100, 60), "a") == pytest.approx((50, 30), abs=1)


def test_numbers_keep_off_each_other_and_inside_the_panel():
    """Judged by plain distances, with twenty numbers on one area."""
    panel = box(0, 0, 200, 100)
    wall = BadgeWall(panel, RADIUS)
    spots = [wall.hang(panel, "a") for _ in range(20)]
    for i, spot in enumerate(spots):
        assert panel.exterior.distance(Point(spot)) >= RADIUS
        assert all(apart(spot, other) > -1e-6 for other in spots[:i])


def test_numbers_of_neighbouring_areas_keep_off_each_other_too():
    wall = BadgeWall(box(0, 0, 24, 60), RADIUS)
    low = wall.hang(box(0, 0, 24, 12), "low")
    high = wall.hang(box(0, 12, 24, 60), "high")
    assert apart(low, high) > -1e-6


def test_a_number_keeps_off_marks():
    panel = box(0, 0, 100, 40)
    wall = BadgeWall(panel, RADIUS)
    mark = Point(50, 20).buffer(8)
    wall.keep_off(mark)
    assert mark.distance(Point(wall.hang(panel, "a"))) >= RADIUS


def test_a_number_without_any_room_stands_on_its_area_all_the_same():
    sliver = box(0, 0, 60, 2)
    wall = BadgeWall(sliver, RADIUS)
    wall.keep_off(box(-10, -10, 80, 10))
    assert sliver.contains(Point(wall.hang(sliver, "a")))

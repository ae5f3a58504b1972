"""Running lines on over a rim or across another line: distances worked out by hand."""

import math

import numpy as np
import pytest
from shapely import LineString, MultiLineString, Point, Polygon, box

from core.geometry.run_on import (
    end_direction,
    exit_distance,
    is_on_rim,
    leaving_direction,
    merged_path,
    run_on_line,
    run_on_rim,
)
from core.tolerance import REACH_MM, RUN_ON_MM

INNER, OUTER = box(0, 0, 400, 300), box(-15, -15, 415, 315)
FRAME = INNER.difference(box(100, 100, 200, 200))


def line(*points):
    return np.array(points, dtype=float)


def test_a_seam_from_rim_to_rim_runs_on_along_its_own_direction():
    points = run_on_rim(line((100, 0), (200, 300)), INNER, OUTER)
    assert len(points) == 4
    assert np.allclose(points[0], (95, -15), atol=2 * RUN_ON_MM)
    assert np.allclose(points[-1], (205, 315), atol=2 * RUN_ON_MM)
    assert not OUTER.covers(Point(points[0]))
    assert not OUTER.covers(Point(points[-1]))


def test_a_seam_square_to_an_edge_without_turn_runs_on_by_a_hair():
    points = run_on_rim(line((100, 0), (100, 300)), INNER, INNER)
    assert points[0].tolist() == pytest.approx([100, -RUN_ON_MM])
    assert points[-1].tolist() == pytest.approx([100, 300 + RUN_ON_MM])


@pytest.mark.parametrize("short", [0.0, 0.1, REACH_MM - 0.001])
def test_an_end_a_little_short_of_the_rim_is_run_on(short):
    points = run_on_rim(line((100, short), (100, 150)), INNER, OUTER)
    assert not OUTER.covers(Point(points[0]))
    assert points[-1].tolist() == [100, 150]


def test_an_end_well_inside_stays():
    inside = line((100, REACH_MM + 0.05), (100, 150))
    assert run_on_rim(inside, INNER, OUTER) is inside


def test_an_end_inside_an_opening_counts_as_outside():
    assert is_on_rim(np.array([150.0, 150.0]), FRAME)
    assert is_on_rim(np.array([100.0, 150.0]), FRAME)
    assert not is_on_rim(np.array([50.0, 150.0]), FRAME)


def test_film_turned_into_an_opening_is_crossed_to_its_own_rim():
    turned = INNER.difference(box(110, 110, 190, 190))
    points = run_on_rim(line((0, 150), (100, 150)), FRAME, turned)
    assert points[-1].tolist() == pytest.approx([110 + RUN_ON_MM, 150])


def test_an_opening_that_turned_film_closes_is_crossed_to_its_far_side():
    points = run_on_rim(line((0, 150), (100, 150)), FRAME, OUTER)
    assert points[-1].tolist() == pytest.approx([200 + RUN_ON_MM, 150])


def test_along_a_ray_the_way_out_is_measured():
    assert exit_distance(np.array([400.0, 100]), np.array([1.0, 0]), INNER, OUTER) == 15
    slanted = np.array([1.0, 1.0]) / math.sqrt(2)
    assert exit_distance(np.array([400.0, 100]), slanted, INNER, OUTER) == pytest.approx(
        15 * math.sqrt(2)
    )
    assert exit_distance(np.array([500.0, 100]), slanted, INNER, OUTER) == 0


def test_from_a_little_within_the_first_way_out_of_the_inner_one_is_no_coming_back():
    # The side of a stripe starts there where the rim bulges beside its centre line.
    assert exit_distance(np.array([398.0, 100]), np.array([1.0, 0]), INNER, OUTER) == 17


def test_a_line_that_ends_along_the_rim_leaves_square_to_it():
    # Drawn along the edge, then stopping on it: its tangent never leaves the panel.
    ends_along = line((200, 100), (100, 0), (200, 0))
    way = leaving_direction(ends_along, INNER, at_start=False)
    assert way @ (0, -1) > 0.9


def test_at_a_corner_the_tangent_is_kept():
    way = leaving_direction(line((200, 150), (0, 0)), INNER, at_start=False)
    assert way.tolist() == pytest.approx([-0.8, -0.6])


def test_a_line_that_comes_to_the_rim_from_within_and_turns_back_leaves_outward():
    back = line((200, 200), (200, 0), (200, 100), (210, 0))
    way = leaving_direction(back, INNER, at_start=False)
    assert way[1] < 0


def test_the_direction_of_an_end_leads_away_from_the_line():
    assert end_direction(line((0, 0), (10, 0)), at_start=False).tolist() == [1, 0]
    assert end_direction(line((0, 0), (10, 0)), at_start=True).tolist() == [-1, 0]


@pytest.mark.parametrize("gap", [-0.15, 0.0, 0.15])
def test_an_end_on_a_line_crosses_it_by_a_hair(gap):
    other = LineString([(0, 150), (400, 150)])
    points = run_on_line(line((200, 0), (200, 150 - gap)), [other], at_start=False)
    assert points is not None
    assert points[-1].tolist() == pytest.approx([200, 150 + RUN_ON_MM])
    assert LineString(points).intersects(other)


def test_it_crosses_from_whichever_side_it_comes():
    other = LineString([(0, 150), (400, 150)])
    points = run_on_line(line((200, 150), (200, 300)), [other], at_start=True)
    assert points is not None
    assert points[0].tolist() == pytest.approx([200, 150 - RUN_ON_MM])


def test_an_end_on_no_line_stays():
    other = LineString([(0, 150), (400, 150)])
    assert run_on_line(line((200, 0), (200, 149)), [other], at_start=False) is None
    assert run_on_line(line((200, 0), (200, 149)), [], at_start=False) is None


def test_directed_edges_join_to_one_path():
    starts, ends = line((0, 0), (1, 0), (2, 0)), line((1, 0), (2, 0), (3, 0))
    assert merged_path(starts, ends).equals(LineString([(0, 0), (1, 0), (2, 0), (3, 0)]))


def test_edges_with_a_gap_give_two_paths():
    path = merged_path(line((0, 0), (2, 0)), line((1, 0), (3, 0)))
    assert isinstance(path, MultiLineString)
    assert path.length == 2


def test_a_rings_edges_join_across_its_start():
    path = merged_path(line((0, 0), (5, 5), (0, 5)), line((1, 0), (0, 5), (0, 0)))
    assert isinstance(path, LineString)
    assert list(path.coords) == [(5, 5), (0, 5), (0, 0), (1, 0)]


def test_a_whole_ring_is_one_closed_path():
    square = np.asarray(Polygon(box(0, 0, 9, 9)).exterior.coords)
    path = merged_path(square[:-1], square[1:])
    assert path.is_ring

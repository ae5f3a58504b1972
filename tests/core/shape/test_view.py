"""Raster, camera, colours: pixels against plain geometry."""

import numpy as np
import pytest
from shapely import Polygon, contains_xy

from core.shape.model import Network
from core.shape.strain_colours import Limits, colours_of, greater_share, shares_of_limit
from core.shape.view_camera import facing, from_aside
from core.shape.view_paint import (
    MapPicture,
    Skin,
    Solid,
    look_at,
    map_values,
    painted,
)
from core.shape.view_raster import NONE, rasterise

SQUARE = np.array([[10.0, 10.0], [50.0, 10.0], [50.0, 40.0], [10.0, 40.0]])
HALVES = np.array([[0, 1, 2], [0, 2, 3]])


def middles(size):
    x, y = np.meshgrid(np.arange(size[0]) + 0.5, np.arange(size[1]) + 0.5)
    return x.ravel(), y.ravel()


def test_two_halves_fill_a_square_without_gap_or_overlap():
    raster = rasterise(SQUARE, np.zeros(4), HALVES, (60, 50))
    x, y = middles((60, 50))
    inside = contains_xy(Polygon(SQUARE), x, y).reshape(50, 60)
    assert ((raster.triangle != NONE) == inside).all()


@pytest.mark.parametrize("seed", range(12))
def test_a_triangle_fills_the_pixels_whose_middle_it_holds(seed):
    corners = np.random.default_rng(seed).uniform(-20, 90, (3, 2))
    raster = rasterise(corners, np.zeros(3), np.array([[0, 1, 2]]), (70, 60))
    x, y = middles((70, 60))
    inside = contains_xy(Polygon(corners), x, y).reshape(60, 70)
    assert ((raster.triangle != NONE) == inside).all()


def test_the_nearer_triangle_is_seen_and_crossing_ones_share_the_picture():
    # One lies level at depth 0; the other rises from -1 at the left to 1 at the right.
    at = np.vstack([SQUARE, SQUARE])
    depth = np.array([0.0, 0, 0, 0, -1, 1, 1, -1])
    raster = rasterise(at, depth, np.vstack([HALVES, HALVES + 4]), (60, 50))
    assert set(np.unique(raster.triangle[12:38, 12:29])) <= {0, 1}
    assert set(np.unique(raster.triangle[12:38, 32:48])) <= {2, 3}


def test_what_vertices_carry_runs_straight_over_the_picture():
    raster = rasterise(SQUARE, np.zeros(4), HALVES, (60, 50))
    pixels, values = raster.lookup(SQUARE * [2.0, -3.0], HALVES)
    x, y = pixels % 60 + 0.5, pixels // 60 + 0.5
    assert np.abs(values - np.stack([2 * x, -3 * y], axis=1)).max() < 1e-3


def test_a_place_is_found_by_the_shares_of_its_corners():
    raster = rasterise(SQUARE, np.zeros(4), HALVES, (60, 50))
    triangle, shares = raster.at(20.3, 30.9)
    assert shares @ SQUARE[HALVES[triangle]] == pytest.approx([20.5, 30.5], abs=1e-4)
    assert raster.at(5, 5) is None
    assert raster.at(-1, 5) is None


def test_nothing_and_edge_on_give_an_empty_picture():
    none = np.empty((0, 3), dtype=np.int64)
    assert (rasterise(SQUARE, np.zeros(4), none, (8, 8)).triangle == NONE).all()
    flat = np.array([[1.0, 1.0], [5.0, 5.0], [7.0, 7.0]])
    raster = rasterise(flat, np.zeros(3), np.array([[0, 1, 2]]), (8, 8))
    assert (raster.triangle == NONE).all()


def cube():
    low_high = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
    return low_high * 100.0


UP, FRONT = np.array([0.0, 0.0, 1.0]), np.array([1.0, -2.0, 0.7])


def test_a_camera_shows_all_upright_and_not_mirrored():
    camera = facing(cube(), FRONT, UP, (400, 300))
    at, _ = camera.project(cube())
    assert at.min() > 0
    assert (at.max(axis=0) < [400, 300]).all()
    bottom, top = camera.project(np.array([[0.0, 0, 0], [0, 0, 100]]))[0]
    assert top[1] < bottom[1]
    assert top[0] == pytest.approx(bottom[0])
    assert np.linalg.det(camera.turn) == pytest.approx(1.0)


def test_zoom_keeps_the_place_under_the_pointer_and_moves_follow_it():
    camera = facing(cube(), FRONT, UP, (400, 300))
    place = cube()[5:6]
    before = camera.project(place)[0][0]
    zoomed = camera.zoomed(1.7, (before[0], before[1]))
    assert zoomed.project(place)[0][0] == pytest.approx(before)
    moved = camera.moved(13.0, -7.0)
    assert moved.project(place)[0][0] == pytest.approx(before + np.array([13.0, -7.0]))


def test_many_turns_leave_the_part_rigid():
    camera = facing(cube(), FRONT, UP, (400, 300))
    for i in range(500):
        camera = camera.turned(3.1 + i % 7, -2.3)
    assert camera.turn @ camera.turn.T == pytest.approx(np.eye(3), abs=1e-12)


def test_looking_along_what_is_up_still_shows_the_part():
    camera = facing(cube(), UP, UP, (200, 200))
    at, _ = camera.project(cube())
    assert np.isfinite(at).all()
    assert np.ptp(at, axis=0).min() > 50


def test_a_part_takes_its_colours_from_the_map():
    points = np.column_stack([SQUARE, np.zeros(4)])
    solid = Solid(points, HALVES)
    rgb = np.zeros((1, 2, 3), dtype=np.uint8)
    rgb[0, 0], rgb[0, 1] = (255, 0, 0), (0, 0, 255)
    on_map = MapPicture(rgb, left_mm=10.0, top_mm=40.0, mm_per_px=20.0)
    camera = facing(points, UP, np.array([0.0, 1, 0]), (80, 60))
    raster = look_at(solid, camera)
    picture = painted(raster, solid, camera, Skin((9, 9, 9), on_map=on_map, at=SQUARE))
    left, right = picture[30, 20], picture[30, 60]
    assert left[0] > 3 * left[2]
    assert right[2] > 3 * right[0]
    assert picture[0, 0, 3] == 0


def test_values_are_spread_smoothly_and_say_where_they_come_from():
    network = Network(at=SQUARE, triangles=HALVES, sides=np.full((2, 3), 30.0))
    carried = np.array([[1.0], [3.0]])
    spread = map_values([(network, carried)], (0.0, 0.0, 60.0, 50.0), 120)
    # Corners that both halves share carry the mean, the others what their own half carries.
    for (x, y), value, triangle in (((49, 11), 1.0, 0), ((11, 39), 3.0, 1)):
        pixel = spread.pixel(x, y)
        assert spread.values[pixel][0] == pytest.approx(value, abs=0.1)
        assert spread.which[pixel].tolist() == [0, triangle]
    assert spread.values[spread.pixel(30, 25.2)][0] == pytest.approx(2.0, abs=0.05)
    assert spread.pixel(5.0, 5.0) is None
    assert spread.pixel(500.0, 5.0) is None


def test_a_later_network_lies_above():
    network = Network(at=SQUARE, triangles=HALVES, sides=np.full((2, 3), 30.0))
    ones = np.ones((2, 1))
    spread = map_values([(network, ones), (network, 5 * ones)], (0.0, 0.0, 60.0, 50.0), 60)
    assert spread.values[spread.pixel(30, 25)][0] == pytest.approx(5.0)


def test_strain_is_told_by_its_share_of_the_limit():
    strains = np.array([[-0.03, 0.01], [-0.001, 0.05], [0.0, 0.0], [-0.02, 0.10]])
    shares = greater_share(shares_of_limit(strains, Limits(2.0, 5.0)))
    assert shares == pytest.approx([-1.5, 1.0, 0.0, 2.0])


def test_blue_bunches_red_stretches_and_the_limit_shows():
    blue, pale, orange, beyond = colours_of(np.array([-1.0, 0.0, 1.0, 1.2])).astype(int)
    assert blue[2] > blue[0] + 50
    assert orange[0] > orange[2] + 50
    assert pale[:3].min() > 220
    # Past the limit it is darker at a glance (the sum is near enough to lightness here).
    assert orange[:3].sum() - beyond[:3].sum() > 100
    # Pulled just to the limit it is not beyond it, whatever the last digit says.
    just = colours_of(np.array([-1.002, 1.002, 1.02])).astype(int)
    assert (just[:2] == [blue, orange]).all()
    assert orange[:3].sum() - just[2, :3].sum() > 100


def test_a_part_is_seen_from_aside_first():
    eye = from_aside(np.array([0, 0, 3.0]), np.array([0, 2.0, 0]))
    lean = np.degrees(np.arccos(eye[2] / np.linalg.norm(eye)))
    assert 30 < lean < 50
    assert eye[1] < 0 < eye[0]

"""What is in sight of a box, and what lies under the pointer."""

import numpy as np
import pytest

from core.shape.picking import in_sight, loop_near
from core.shape.view_camera import facing
from core.shape.view_paint import Solid, look_at
from helpers.surfaces import grid


@pytest.fixture
def looked_at():
    """Lid and front wall of a box of 100, seen from above and a little from the front."""
    flat, net = grid(6, 6)
    x, y, zero = flat[:, 0] * 100, flat[:, 1] * 100, np.zeros(len(flat))
    lid, wall = np.column_stack([x, y, zero + 100]), np.column_stack([x, zero, y])
    box = Solid(np.vstack([lid, wall]), np.vstack([net, net + len(flat)]))
    eye, up = np.array([0.0, -0.2, 1.0]), np.array([0.0, 1.0, 0.0])
    camera = facing(box.points, eye, up, (300, 300))
    return box, camera, look_at(box, camera)


def test_what_faces_the_eye_is_in_sight(looked_at):
    box, camera, raster = looked_at
    middles = box.points[box.triangles].mean(axis=1)
    assert in_sight(middles, camera, raster, box).all()


def test_what_the_part_hides_is_not_in_sight(looked_at):
    box, camera, raster = looked_at
    below = np.array([[50.0, 50.0, 20.0], [20.0, 80.0, 90.0]])
    assert not in_sight(below, camera, raster, box).any()


def test_what_is_off_the_picture_is_not_in_sight(looked_at):
    box, camera, raster = looked_at
    assert not in_sight(np.array([[5000.0, 0, 0]]), camera, raster, box).any()


def test_the_nearest_loop_within_reach_is_picked():
    at = np.array([[0.0, 0], [100, 0], [100, 100], [0, 100], [40, 40], [60, 40], [60, 60]])
    loops = [np.arange(4), np.arange(4, 7)]
    assert loop_near(loops, at, (50.0, 3.0), 10.0) == 0
    assert loop_near(loops, at, (50.0, 37.0), 10.0) == 1
    assert loop_near(loops, at, (20.0, 20.0), 10.0) is None

"""Choosing part of a mesh, on a box whose faces are known."""

import numpy as np
import pytest

from core.shape.picking import (
    boundary_loops,
    hanging_together,
    in_lasso,
    in_sight,
    loop_near,
    neighbours,
    up_to_angle,
)
from core.shape.view_camera import facing
from core.shape.view_paint import Solid, look_at

STEPS = 6


def grid(corner, along, across, first):
    """A square face of a box as a net of triangles, seen from outside."""
    points = [
        corner + along * i / STEPS + across * j / STEPS
        for i in range(STEPS + 1)
        for j in range(STEPS + 1)
    ]
    number = np.arange((STEPS + 1) ** 2).reshape(STEPS + 1, STEPS + 1) + first
    a, b = number[:-1, :-1].ravel(), number[1:, :-1].ravel()
    c, d = number[1:, 1:].ravel(), number[:-1, 1:].ravel()
    return points, np.vstack([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def open_box():
    """Lid (z = 1) and two walls of a box, welded; the rest is open."""
    x, y, z = np.eye(3) * 100.0
    faces = [(z, x, y), (x * 0, x, z), (x, y, z)]
    points, triangles = [], []
    for corner, along, across in faces:
        more, net = grid(corner, along, across, len(points))
        points += more
        triangles.append(net)
    unique, number = np.unique(np.round(points, 6), axis=0, return_inverse=True)
    return Solid(unique, number.reshape(-1)[np.vstack(triangles)])


FACE = 2 * STEPS * STEPS


def test_up_to_an_angle_stops_at_the_edges_of_a_box():
    box = open_box()
    assert up_to_angle(box, 0, 30.0).sum() == FACE
    assert up_to_angle(box, 0, 89.0).sum() == FACE
    assert up_to_angle(box, 0, 91.0).all()


def test_neighbours_share_an_edge():
    box = open_box()
    for a, b in neighbours(box.triangles):
        assert len(set(box.triangles[a]) & set(box.triangles[b])) == 2


def test_a_shell_apart_is_not_taken():
    box = open_box()
    far = Solid(np.vstack([box.points, box.points + 500]),
                np.vstack([box.triangles, box.triangles + len(box.points)]))  # fmt: skip
    assert hanging_together(far.triangles, 3).sum() == len(box.triangles)


def test_a_net_has_one_loop_and_a_hole_makes_another():
    points, net = grid(np.zeros(3), np.eye(3)[0], np.eye(3)[1], 0)
    (rim,) = boundary_loops(net)
    assert len(rim) == 4 * STEPS
    middles = np.array(points)[net].mean(axis=1)
    holed = net[np.abs(middles[:, :2] - 0.5).max(axis=1) > 1 / STEPS]
    loops = boundary_loops(holed)
    assert [len(loop) for loop in loops] == [4 * STEPS, 8]
    # The net lies to the left of its loops: counter-clockwise outside, clockwise inside.
    for loop, sign in zip(loops, (1, -1), strict=True):
        x, y = np.array(points)[loop][:, :2].T
        assert np.sign(x @ np.roll(y, -1) - y @ np.roll(x, -1)) == sign


def test_loops_that_touch_are_parted():
    points, net = grid(np.zeros(3), np.eye(3)[0], np.eye(3)[1], 0)
    middles = np.array(points)[net].mean(axis=1)[:, :2]
    is_low = (middles < 0.5).all(axis=1)
    is_high = (middles > 0.5).all(axis=1)
    loops = boundary_loops(net[is_low | is_high])
    assert [len(loop) for loop in loops] == [2 * STEPS, 2 * STEPS]


def test_a_closed_shell_has_no_loop():
    tetrahedron = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    assert boundary_loops(tetrahedron) == []


@pytest.fixture
def looked_at():
    box = open_box()
    camera = facing(
        box.points, np.array([0.0, -0.2, 1.0]), np.array([0.0, 1.0, 0.0]), (300, 300)
    )
    return box, camera, look_at(box, camera)


def test_a_lasso_takes_what_is_seen_and_not_what_lies_behind(looked_at):
    box, camera, raster = looked_at
    whole = np.array([[0.0, 0], [300, 0], [300, 300], [0, 300]])
    taken = in_lasso(box, camera, raster, whole)
    assert taken[:FACE].all()  # the lid
    # The third face is the wall at x = 100, edge on from here: nothing of it need be taken.
    assert taken[FACE : 2 * FACE].all()  # the wall towards the eye
    left = whole * [0.5, 1.0]
    some = in_lasso(box, camera, raster, left)
    assert 0 < some[:FACE].sum() < FACE
    assert not in_lasso(box, camera, raster, whole[:2]).any()


def test_what_the_part_hides_is_not_in_sight(looked_at):
    box, camera, raster = looked_at
    above, below = np.array([[50.0, 50.0, 100.0]]), np.array([[50.0, 50.0, 20.0]])
    assert in_sight(above, camera, raster, box).all()
    assert not in_sight(below, camera, raster, box).any()


def test_the_nearest_loop_within_reach_is_picked():
    at = np.array([[0.0, 0], [100, 0], [100, 100], [0, 100], [40, 40], [60, 40], [60, 60]])
    loops = [np.arange(4), np.arange(4, 7)]
    assert loop_near(loops, at, (50.0, 3.0), 10.0) == 0
    assert loop_near(loops, at, (50.0, 37.0), 10.0) == 1
    assert loop_near(loops, at, (20.0, 20.0), 10.0) is None

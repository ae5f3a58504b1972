"""How long a frame of a part in space takes: while it moves, and at rest."""

import numpy as np
import pytest

from core.shape.view_camera import facing
from core.shape.view_paint import Skin, Solid, look_at, painted
from sample_projects.domed_hood import hood_mesh

MOVING, AT_REST = (400, 300), (1600, 1200)
"""Pixels for a view of 800 by 600: half of them while it moves, twice as many at rest."""


@pytest.mark.parametrize("size", [MOVING, AT_REST], ids=["moving", "at rest"])
@pytest.mark.parametrize("rings", [58, 100], ids=["20k", "60k"])
def test_a_frame(benchmark, rings, size):
    solid = Solid(*hood_mesh(rings))
    assert solid.normals.shape == solid.points.shape
    camera = facing(solid.points, np.array([0.3, -0.6, 0.7]), np.array([0.0, 0, 1]), size)
    skin = Skin((200, 190, 180))

    def frame():
        return painted(look_at(solid, camera), solid, camera, skin)

    picture = benchmark(frame)
    assert picture[..., 3].any()

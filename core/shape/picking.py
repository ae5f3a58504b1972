"""What lies under the pointer, or in sight, on a part that is looked at."""

import numpy as np
from numpy.typing import NDArray

from core.shape.model import Points
from core.shape.view_camera import Camera
from core.shape.view_paint import Solid
from core.shape.view_raster import NONE, Raster

Mask = NDArray[np.bool_]


def in_sight(places: Points, camera: Camera, raster: Raster, solid: Solid) -> Mask:
    """Tell which places on a part, shape (k, 3), are not hidden behind it."""
    at_px, near = camera.project(places)
    _, depth = camera.project(solid.points)
    scale = raster.size[0] / camera.size[0]
    x, y = np.floor(at_px * scale).astype(np.int64).T
    is_in = (x >= 0) & (x < raster.size[0]) & (y >= 0) & (y < raster.size[1])
    front = np.full(len(places), NONE, dtype=np.int64)
    front[is_in] = raster.triangle[y[is_in], x[is_in]]
    # Nearer by no more than the triangle's own slope does not hide what lies beside it.
    hiding = depth[solid.triangles].min(axis=1)[front]
    slack = 0.01 * float(np.ptp(depth)) + 1e-9
    shown: Mask = is_in & ((front == NONE) | (hiding <= near + slack))
    return shown


def loop_near(
    loops: list[NDArray[np.int64]],
    at_px: Points,
    place_px: tuple[float, float],
    within_px: float,
) -> int | None:
    """Return which loop runs nearest to a place, or None when none does within reach."""
    place = np.asarray(place_px)
    best, found = within_px, None
    for number, loop in enumerate(loops):
        p, q = at_px[loop], at_px[np.roll(loop, -1)]
        along = q - p
        square = (along**2).sum(axis=1)
        share = ((place - p) * along).sum(axis=1) / np.where(square > 0, square, 1.0)
        nearest = p + np.clip(share, 0, 1)[:, None] * along
        distance = float(np.linalg.norm(nearest - place, axis=1).min())
        if distance <= best:
            best, found = distance, number
    return found

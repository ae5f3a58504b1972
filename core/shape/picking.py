"""Choosing part of a scan: by the loop that bounds it, by a lasso, up to an angle.

A choice is a mask over the scan's triangles. Nothing here knows of a window.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from shapely import Polygon, contains_xy, prepare

from core.shape.model import Points, Triangles
from core.shape.view_camera import Camera
from core.shape.view_paint import Solid
from core.shape.view_raster import NONE, Raster

Mask = NDArray[np.bool_]


def neighbours(triangles: Triangles) -> Triangles:
    """Return shape (k, 2): the pairs of triangles that share an edge.

    Degenerate input: where more than two triangles meet in one edge, each pair in turn is
    given.
    """
    edges = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(triangles)), 3)
    order = np.lexsort((edges[:, 1], edges[:, 0]))
    edges, owner = edges[order], owner[order]
    same = (edges[1:] == edges[:-1]).all(axis=1)
    return np.stack([owner[:-1][same], owner[1:][same]], axis=1)


def up_to_angle(solid: Solid, seed: int, angle_deg: float) -> Mask:
    """Choose what hangs together with a triangle without an edge sharper than an angle.

    Args:
        solid: the part.
        seed: the triangle that was clicked.
        angle_deg: the bend between two neighbouring triangles at which it stops.
    """
    pairs = neighbours(solid.triangles)
    normals = solid.face_normals
    length = np.linalg.norm(normals, axis=1)
    a, b = normals[pairs[:, 0]], normals[pairs[:, 1]]
    scale = length[pairs[:, 0]] * length[pairs[:, 1]]
    # A triangle without area has no direction and stops nothing.
    cosine = np.where(scale > 0, (a * b).sum(axis=1) / np.where(scale > 0, scale, 1), 1.0)
    joined = pairs[cosine >= np.cos(np.radians(angle_deg)) - 1e-12]
    return _component(joined, len(solid.triangles), seed)


def hanging_together(triangles: Triangles, seed: int) -> Mask:
    """Choose the whole shell that a triangle belongs to."""
    return _component(neighbours(triangles), len(triangles), seed)


def _component(pairs: Triangles, count: int, seed: int) -> Mask:
    ones = np.ones(len(pairs), dtype=np.int8)
    graph = coo_matrix((ones, (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    _, names = connected_components(graph, directed=False)
    return np.asarray(names == names[seed])


def in_lasso(solid: Solid, camera: Camera, raster: Raster, lasso_px: Points) -> Mask:
    """Choose the triangles that are seen and whose middle lies within a lasso.

    Args:
        solid: the part.
        camera: how it is looked at.
        raster: what is seen with that camera.
        lasso_px: shape (n, 2), in pixels, not closed.

    Degenerate input: a lasso of fewer than three points holds nothing; one that crosses itself
    holds what the odd-even rule says.
    """
    if len(lasso_px) < 3:
        return np.zeros(len(solid.triangles), dtype=np.bool_)
    ring = Polygon(lasso_px)
    area = ring if ring.is_valid else ring.buffer(0)
    prepare(area)
    at_px, _ = camera.project(solid.points)
    middles = at_px[solid.triangles].mean(axis=1)
    inside = np.asarray(contains_xy(area, middles[:, 0], middles[:, 1]))
    return inside & in_sight(solid.points[solid.triangles].mean(axis=1), camera, raster, solid)


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


def boundary_loops(triangles: Triangles) -> list[NDArray[np.int64]]:
    """Return the loops that bound a mesh, each as vertex numbers in order, the longest first.

    The mesh lies to the left of each loop, seen from its face. Where two loops touch in a
    vertex they are parted there.
    """
    edges = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    keys = np.sort(edges, axis=1)
    _, first, counts = np.unique(keys, axis=0, return_index=True, return_counts=True)
    follow: dict[int, list[int]] = {}
    for a, b in edges[first[counts == 1]].tolist():
        follow.setdefault(a, []).append(b)
    loops = []
    while follow:
        start = next(iter(follow))
        path, places = [start], {start: 0}
        while True:
            here = path[-1]
            if here not in follow:  # an edge that more than two triangles share breaks it off
                break
            step = follow[here].pop()
            if not follow[here]:
                del follow[here]
            if step in places:
                at = places[step]
                loops.append(np.array(path[at:], dtype=np.int64))
                for gone in path[at + 1 :]:
                    del places[gone]
                path = path[: at + 1]
                if step not in follow:
                    break
                continue
            places[step] = len(path)
            path.append(step)
    return sorted(loops, key=len, reverse=True)


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

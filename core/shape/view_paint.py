"""Colours and light: a part's picture from its raster, and pictures of a panel's flat map.

What lies on a part (films, seams, strain) is first painted flat, in the panel's map; the part
then takes its colours from there by its map coordinates. So the canvas and the view of the part
show one and the same picture.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from core.shape.model import Network, Points, Triangles
from core.shape.view_camera import Camera
from core.shape.view_raster import NONE, Floats, Ints, Picture, Raster, rasterise

LIGHT = np.array([-0.36, 0.48, 0.80])
"""From the part to the lamp, in view axes: over the left shoulder of whoever looks."""
DARKEST, SHINE = 0.50, 0.14
BACK = 0.55
"""How bright the inside of the part is against its face."""


@dataclass(frozen=True, eq=False)
class Solid:
    """A part to look at.

    Attributes:
        points: shape (n, 3), mm.
        triangles: shape (m, 3), counter-clockwise seen from the face.
    """

    points: Points
    triangles: Triangles

    @cached_property
    def face_normals(self) -> Points:
        """Shape (m, 3): square to each triangle, twice its area long."""
        a, b, c = (self.points[self.triangles[:, i]] for i in range(3))
        return np.asarray(np.cross(b - a, c - a))

    @cached_property
    def normals(self) -> Points:
        """Shape (n, 3): the smoothed direction of the face at each vertex, of length 1."""
        total = np.zeros_like(self.points)
        for i in range(3):
            np.add.at(total, self.triangles[:, i], self.face_normals)
        length = np.linalg.norm(total, axis=1, keepdims=True)
        return np.asarray(total / np.where(length > 1e-12, length, 1.0))


@dataclass(frozen=True, eq=False)
class MapPicture:
    """A picture of a panel's flat map.

    Attributes:
        rgb: shape (h, w, 3) or, with a veil over what is not painted, (h, w, 4).
        left_mm, top_mm: where the picture's upper left corner lies in the map, y up.
        mm_per_px: side of a pixel.
    """

    rgb: Picture
    left_mm: float
    top_mm: float
    mm_per_px: float

    def at(self, places: Points | Floats) -> Picture:
        """Return the colours at places of the map, shape (n, 2); the nearest off its edge."""
        height, width = self.rgb.shape[:2]
        x = np.floor((places[:, 0] - self.left_mm) / self.mm_per_px).astype(np.int64)
        y = np.floor((self.top_mm - places[:, 1]) / self.mm_per_px).astype(np.int64)
        found: Picture = self.rgb[np.clip(y, 0, height - 1), np.clip(x, 0, width - 1)]
        return found


@dataclass(frozen=True, eq=False)
class MapValues:
    """What lies where in a panel's map, pixel by pixel.

    Attributes:
        values: shape (h, w, k); 0 where there is nothing.
        which: shape (h, w, 2): the network, and which of its triangles; NONE for nothing.
        left_mm, top_mm, mm_per_px: as in a MapPicture.
    """

    values: Floats
    which: Ints
    left_mm: float
    top_mm: float
    mm_per_px: float

    def pixel(self, x_mm: float, y_mm: float) -> tuple[int, int] | None:
        """Return row and column of a place; None where there is nothing."""
        column = int(np.floor((x_mm - self.left_mm) / self.mm_per_px))
        row = int(np.floor((self.top_mm - y_mm) / self.mm_per_px))
        height, width = self.which.shape[:2]
        is_in = 0 <= column < width and 0 <= row < height
        return (row, column) if is_in and self.which[row, column, 0] != NONE else None


@dataclass(frozen=True, eq=False)
class Skin:
    """What a part looks like.

    Attributes:
        colour: red, green and blue of what has no other colour.
        of_triangles: shape (m, 3): a colour for each triangle.
        on_map: a picture of the map; it goes before the others.
        at: shape (n, 2): where each vertex lies in the map.
    """

    colour: tuple[int, int, int]
    of_triangles: Picture | None = None
    on_map: MapPicture | None = None
    at: Points | None = None


def as_drawn(points: Points, at: Points) -> tuple[Points, Points]:
    """Return from where a part is seen as its map shows it: towards the eye, and upwards.

    Args:
        points: shape (n, 3): the part's vertices.
        at: shape (n, 2): where they lie in the map.
    """
    ones = np.column_stack([at, np.ones(len(at))])
    right, up, _ = np.linalg.lstsq(ones, points, rcond=None)[0]
    return np.cross(right, up), up


def look_at(solid: Solid, camera: Camera) -> Raster:
    """Find what is seen of a part in each pixel."""
    at_px, depth = camera.project(solid.points)
    return rasterise(at_px, depth, solid.triangles, camera.size)


def painted(raster: Raster, solid: Solid, camera: Camera, skin: Skin) -> Picture:
    """Return the picture of a part, shape (height, width, 4), clear where nothing is seen."""
    width, height = raster.size
    picture = np.zeros((height * width, 4), dtype=np.uint8)
    carried = solid.normals @ camera.turn.T
    if skin.on_map is not None and skin.at is not None:
        carried = np.hstack([carried, skin.at])
    pixels, values = raster.lookup(carried, solid.triangles)
    colours = _colours(raster, skin, values[:, 3:])
    picture[pixels, :3] = _lit(colours, values[:, :3], raster, solid, camera)
    picture[pixels, 3] = 255
    return picture.reshape(height, width, 4)


def _colours(raster: Raster, skin: Skin, at: Floats) -> Picture:
    _, seen = raster.spots()
    if skin.on_map is not None and at.shape[1]:
        found = skin.on_map.at(at)
        if found.shape[1] == 3:
            return found
        under = np.asarray(skin.colour, dtype=np.float32)
        share = found[:, 3:].astype(np.float32) / 255
        return np.asarray(under + (found[:, :3] - under) * share).astype(np.uint8)
    if skin.of_triangles is not None:
        return skin.of_triangles[seen]
    return np.broadcast_to(np.array(skin.colour, dtype=np.uint8), (len(seen), 3))


def _lit(
    colours: Picture, normals: Floats, raster: Raster, solid: Solid, camera: Camera
) -> Picture:
    """Put light on colours; the inside of the part is darker."""
    _, seen = raster.spots()
    towards = solid.face_normals[seen] @ camera.turn[2]
    side = np.where(towards >= 0, 1.0, -1.0).astype(np.float32)
    length = np.linalg.norm(normals, axis=1)
    flow = normals @ LIGHT.astype(np.float32) * side / np.where(length > 1e-6, length, 1.0)
    light = np.clip(flow / np.linalg.norm(LIGHT), 0.0, 1.0)
    bright = (DARKEST + (1.04 - DARKEST) * light) * np.where(side > 0, 1.0, BACK)
    shine = 255 * SHINE * light**24 * (side > 0)
    lit = colours * bright[:, None] + shine[:, None]
    return np.clip(lit, 0, 255).astype(np.uint8)


def map_values(
    networks: Sequence[tuple[Network, Points]],
    bounds_mm: tuple[float, float, float, float],
    longest_px: int,
) -> MapValues:
    """Spread what triangles of networks carry over a picture of their map, smoothly.

    Args:
        networks: each with values of its triangles, shape (m, k); later ones lie above.
        bounds_mm: left, low, right and top of the map.
        longest_px: pixels of the picture's longer side.
    """
    left, low, right, top = bounds_mm
    step = max(right - left, top - low, 1e-6) / longest_px
    width, height = (max(1, int(np.ceil(d / step))) for d in (right - left, top - low))
    count = networks[0][1].shape[1] if networks else 0
    values = np.zeros((height * width, count), dtype=np.float32)
    which = np.full((height * width, 2), NONE, dtype=np.int64)
    for number, (network, carried) in enumerate(networks):
        at = np.column_stack([network.at[:, 0] - left, top - network.at[:, 1]]) / step
        raster = rasterise(at, np.zeros(len(at)), network.triangles, (width, height))
        pixels, spread = raster.lookup(_at_vertices(network, carried), network.triangles)
        values[pixels] = spread
        which[pixels, 0], which[pixels, 1] = number, raster.spots()[1]
    shape = (height, width, count)
    return MapValues(values.reshape(shape), which.reshape(height, width, 2), left, top, step)


def _at_vertices(network: Network, carried: Points) -> Points:
    """Return what triangles carry as means at their corners, by area."""
    total = np.zeros((len(network.at), carried.shape[1]))
    weight = np.zeros(len(network.at))
    for i in range(3):
        np.add.at(total, network.triangles[:, i], carried * network.areas[:, None])
        np.add.at(weight, network.triangles[:, i], network.areas)
    return np.asarray(total / np.maximum(weight, 1e-12)[:, None])

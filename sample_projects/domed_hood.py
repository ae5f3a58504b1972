"""A made-up domed hood, as a scanner would see it: a box without corners, in space.

It is a superellipsoid, |x/a|^n + |y/b|^n + |z/c|^n = 1, from its top down to an angle: nearly
flat on top, with shoulders all round that curve both ways. Its two middle sections measure
750 mm and 800 mm over the surface.
"""

import numpy as np
from numpy.typing import NDArray

ACROSS_MM = 750.0
ALONG_MM = 800.0
_RISE = 0.62
"""Height of the whole body's half, as a share of its half width."""
_SQUARENESS = 2.6
_DOWN_TO_DEG = 76.0
_STEPS = 80


def hood_mesh(rings: int = 40) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return vertices in mm, shape (n, 3), and triangles, counter-clockwise from outside.

    Args:
        rings: of triangles from the top to the rim; there are ``6 rings²`` triangles.
    """
    around, out, triangles = _disc(rings)
    a, b = _half_widths()
    return _on_body(a, b, around, np.radians(_DOWN_TO_DEG) * out), triangles


def hood_map(rings: int = 40) -> NDArray[np.float64]:
    """Return a flat map of the mesh, shape (n, 2): ways down from the top keep their length.

    Flattened by a solver it would be a little truer, and a little different on each machine.
    """
    around, out, _ = _disc(rings)
    a, b = _half_widths()
    share = np.linspace(0.0, 1.0, _STEPS)
    down = np.radians(_DOWN_TO_DEG) * out[:, None] * share
    points = _on_body(a, b, np.repeat(around, _STEPS), down.ravel())
    ways = np.linalg.norm(np.diff(points.reshape(-1, _STEPS, 3), axis=1), axis=2).sum(axis=1)
    direction = np.column_stack((a * np.cos(around), b * np.sin(around)))
    return direction / np.linalg.norm(direction, axis=1, keepdims=True) * ways[:, None]


def _half_widths() -> tuple[float, float]:
    a = b = 300.0
    for _ in range(30):  # the two lengths settle the two half widths
        half_x, half_y = _section(a, b, 0.0), _section(a, b, np.pi / 2)
        a, b = a * ACROSS_MM / 2 / half_x, b * ALONG_MM / 2 / half_y
    return a, b


def _on_body(
    a: float, b: float, around: NDArray[np.float64], down: NDArray[np.float64]
) -> NDArray[np.float64]:
    c = _RISE * (a + b) / 2
    way = np.column_stack(
        (np.sin(down) * np.cos(around), np.sin(down) * np.sin(around), np.cos(down))
    )
    # Steps are even on the body pressed into a ball, so that shoulders get their share.
    way = way * np.array([a, b, c])
    far = (np.abs(way / np.array([a, b, c])) ** _SQUARENESS).sum(axis=1) ** (-1 / _SQUARENESS)
    return way * far[:, None]


def _section(a: float, b: float, around: float) -> float:
    """Return the length over the surface from the top to the rim."""
    down = np.linspace(0.0, np.radians(_DOWN_TO_DEG), 400)
    points = _on_body(a, b, np.full(400, around), down)
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def _disc(
    rings: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Return angle and distance of each point of a disc of rings, and its triangles."""
    around, out, triangles = [np.zeros(1)], [np.zeros(1)], []
    starts = [0, *(1 + 3 * r * (r - 1) for r in range(1, rings + 2))]
    for ring in range(1, rings + 1):
        count = 6 * ring
        around.append(2 * np.pi * np.arange(count) / count)
        out.append(np.full(count, ring / rings))
        for sector in range(6):
            for step in range(ring):
                i = sector * ring + step
                here, after = starts[ring] + i, starts[ring] + (i + 1) % count
                inner = max(6 * (ring - 1), 1)
                j = sector * (ring - 1) + step
                below = starts[ring - 1] + j % inner
                triangles.append((below, here, after))
                if step < ring - 1:
                    triangles.append((below, after, starts[ring - 1] + (j + 1) % inner))
    return np.concatenate(around), np.concatenate(out), np.array(triangles, dtype=np.int64)

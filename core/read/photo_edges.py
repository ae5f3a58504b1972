"""Edges in a picture to a fraction of a pixel: along a ring, and near a place.

Along a ring the picture is read on short lines across it. The *step* there is the change from
inside to outside colour; where it is steepest lies the edge.
"""

import numpy as np
from numpy.typing import NDArray

from core.read.photo import Pixels
from core.read.photo_flat import FlatPhoto

Points = NDArray[np.float64]
Floats = NDArray[np.float32]

_BLUR_PX = 1.0


def soft_colours(pixels: Pixels) -> Floats:
    """Return a picture's colours as numbers to look for edges in, shape (h, w, 3).

    They are the CIE L*a*b* of OpenCV, blurred by a pixel.
    """
    import cv2  # noqa: PLC0415 - heavy, and not needed at the start

    lab = cv2.cvtColor(pixels.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    return np.asarray(cv2.GaussianBlur(lab, (0, 0), _BLUR_PX), dtype=np.float32)


def ring_on_edge(colours: Floats, ring_px: Points, reach_px: float) -> tuple[Points, Points]:
    """Return a ring moved onto the edge that it runs along.

    Args:
        colours: of ``soft_colours``.
        ring_px: shape (n, 2), evenly and closely spaced, not repeating its first point.
        reach_px: how far off the edge may be.

    Returns:
        The ring, shape (n, 2), and how strong the edge is at each point, shape (n,).
    """
    normals = ring_normals(ring_px, 7)
    offsets = np.arange(-reach_px, reach_px + 0.25, 0.5)
    profiles = _read(colours, ring_px[:, None] + offsets[None, :, None] * normals[:, None])
    third = max(1, len(offsets) // 3)
    step = profiles[:, -third:].mean(axis=1) - profiles[:, :third].mean(axis=1)
    step = smooth_ring(step, 9)
    step /= np.maximum(np.linalg.norm(step, axis=1, keepdims=True), 1e-6)
    rise = np.gradient(np.einsum("ntc,nc->nt", profiles, step), axis=1)
    rise = smooth_ring(rise, 5) * np.exp(-0.5 * (offsets / (0.6 * reach_px)) ** 2)
    off, strength = _peaks(rise, offsets)
    off = _calm(off, 15, 1.5)
    return ring_px + off[:, None] * normals, strength


def edge_near(colours: Floats, at_px: tuple[float, float], reach_px: float) -> Points | None:
    """Return the nearest place of a strong edge, shape (2,), or None when there is none.

    The steepest place within reach is found on the grid of pixels, then between them.
    """
    import cv2  # noqa: PLC0415

    r = int(reach_px) + 2
    x, y = int(at_px[0]), int(at_px[1])
    x0, y0 = max(0, x - r), max(0, y - r)
    patch = colours[y0 : y + r + 1, x0 : x + r + 1]
    if min(patch.shape[:2]) < 5:
        return None
    dx, dy = cv2.Sobel(patch, cv2.CV_32F, 1, 0), cv2.Sobel(patch, cv2.CV_32F, 0, 1)
    size = np.sqrt((dx**2 + dy**2).sum(axis=2)) / 8
    ys, xs = np.mgrid[0 : size.shape[0], 0 : size.shape[1]]
    away = np.hypot(xs + x0 + 0.5 - at_px[0], ys + y0 + 0.5 - at_px[1])
    size = np.where(away <= reach_px, size * (1.2 - 0.6 * away / reach_px), 0)
    j, i = np.unravel_index(int(size.argmax()), size.shape)
    if size[j, i] < _FAINT:
        return None
    channel = int(np.argmax(dx[j, i] ** 2 + dy[j, i] ** 2))
    normal = np.array([dx[j, i, channel], dy[j, i, channel]], dtype=np.float64)
    normal /= max(float(np.hypot(*normal)), 1e-9)
    offsets = np.arange(-2.5, 2.75, 0.5)
    start = np.array([i + x0 + 0.5, j + y0 + 0.5])
    line = _read(colours, (start + offsets[:, None] * normal)[None])[0, :, channel]
    off, _ = _peaks(np.gradient(line)[None], offsets)
    found: Points = start + off[0] * normal
    return found


_FAINT = 1.2
"""A change of L*a*b* for each pixel below this is no edge."""


def ring_normals(ring: Points, window: int) -> Points:
    """Return unit vectors to the right of a ring's direction.

    They point outward where the ring is counter-clockwise with y up.
    """
    ahead = smooth_ring(np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0), window)
    ahead /= np.maximum(np.hypot(*ahead.T)[:, None], 1e-9)
    return np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)


def smooth_ring(values: NDArray[np.floating], window: int) -> NDArray[np.float64]:
    """Return the mean over a window of neighbours around a ring, along the first axis."""
    half = window // 2
    padded = np.concatenate([values[-half:], values, values[:half]]) if half else values
    total = np.cumsum(np.concatenate([np.zeros_like(padded[:1]), padded]), axis=0, dtype=float)
    n = 2 * half + 1
    mean: NDArray[np.float64] = (total[n:] - total[:-n]) / n
    return mean


def even_ring(ring: Points, step: float) -> Points:
    """Return points evenly spaced along a ring."""
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(12, round(along[-1] / step))
    at = np.arange(count) * along[-1] / count
    return np.stack([np.interp(at, along, closed[:, k]) for k in (0, 1)], axis=1)


def _read(colours: Floats, places: Points) -> NDArray[np.float64]:
    """Return the colours at places of any number, between pixels by straight lines."""
    import cv2  # noqa: PLC0415

    flat = places.reshape(-1, places.shape[-2], 2) - 0.5
    rows = 30_000  # OpenCV takes at most 32,767 rows
    parts = [
        cv2.remap(
            colours,
            flat[i : i + rows, :, 0].astype(np.float32),
            flat[i : i + rows, :, 1].astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
        for i in range(0, len(flat), rows)
    ]
    return np.concatenate(parts).astype(np.float64)


def _peaks(rise: NDArray[np.float64], offsets: Points) -> tuple[Points, Points]:
    """Return where each row is highest, between its samples by a parabola, and how high."""
    k = np.clip(rise.argmax(axis=1), 1, rise.shape[1] - 2)
    row = np.arange(len(rise))
    a, b, c = rise[row, k - 1], rise[row, k], rise[row, k + 1]
    bend = a - 2 * b + c
    shift = np.where(np.abs(bend) > 1e-9, 0.5 * (a - c) / np.where(bend == 0, 1, bend), 0)
    step = offsets[1] - offsets[0]
    return offsets[k] + np.clip(shift, -1, 1) * step, b


def _calm(off: Points, window: int, most: float) -> Points:
    """Return offsets with those replaced that differ from their neighbours' median."""
    half = window // 2
    padded = np.concatenate([off[-half:], off, off[:half]])
    middle = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)
    return np.where(np.abs(off - middle) > most, middle, off)


def edge_near_place(
    flat: FlatPhoto, at_mm: tuple[float, float], reach_mm: float
) -> tuple[float, float] | None:
    """Return the place of a strong edge near a place of a flat photo, mm, or None."""
    reach_px = max(4.0, reach_mm / flat.mm_px)
    room = (reach_px + 8) * flat.mm_px
    x, y = at_mm
    left, bottom, right, top = flat.bounds
    if not (left < x < right and bottom < y < top):
        return None
    patch = flat.cropped((x - room, y - room, x + room, y + room))
    px = patch.to_px(np.array([[x, y]]))[0]
    found = edge_near(soft_colours(patch.pixels), (float(px[0]), float(px[1])), reach_px)
    if found is None:
        return None
    mm = patch.to_mm(found[None])[0]
    return float(mm[0]), float(mm[1])

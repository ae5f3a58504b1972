"""Finds the outline of a part in a flat photo, and the openings in it.

The part is told from its ground by GrabCut (OpenCV), on a small picture; its rim is then moved
onto the edge in the full one. Shadows across part and ground are no edge of the part: GrabCut
learns several colours for each.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.errors import ImportFailed
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.read.photo import Pixels
from core.read.photo_edges import even_ring, ring_on_edge, smooth_ring, soft_colours
from core.read.photo_flat import Bounds, FlatPhoto

Points = NDArray[np.float64]
Mask = NDArray[np.uint8]

_WORK_PX = 700
"""Longer side of the small picture."""
_ROUNDS = 4
_CUT_SHARE = 0.6
"""So much of the time goes into telling the part from its ground."""
LEAST_OPENING_MM2 = 40.0
"""Smaller holes are taken for dirt; about 7 mm across."""
_MARGIN = 0.10


@dataclass(frozen=True, slots=True)
class FoundShape:
    """A part as it was found.

    Attributes:
        rim: closely spaced points, mm, counter-clockwise, shape (n, 2).
        holes: the same for each opening, counter-clockwise too.
        faint_pct: how much of the rim has hardly any edge in the photo.
    """

    rim: Points
    holes: tuple[Points, ...]
    faint_pct: float


def find_shape(
    flat: FlatPhoto,
    around: Bounds,
    clutter: Sequence[Points] = (),
    progress: Progress | None = None,
) -> FoundShape:
    """Return the part within a rough rectangle.

    Args:
        flat: the photo.
        around: bounds in mm, a little larger than the part.
        clutter: areas that are not the part, unless they lie on it, such as marker sheets.
        progress: told how far it is, and asked whether to stop.

    Raises:
        ImportFailed: nothing stands out from the ground there.
        Cancelled: as asked.
    """
    view = flat.cropped(_grown(around))
    if min(view.pixels.shape[:2]) < 24:
        raise ImportFailed("The rectangle is too small.", mend="Draw it around the whole part.")
    small, shrink = _shrunk(view.pixels)
    mask = _first_guess(view, small.shape[:2], shrink, around, clutter)
    progress = progress or Silent()
    found = _cut(small, mask, progress)
    sheets = _drawn([view.to_px(c) / shrink for c in clutter], small.shape[:2])
    rings = _rings(found, sheets, shrink, LEAST_OPENING_MM2 / view.mm_px**2)
    colours = soft_colours(view.pixels)
    refined = []
    for i, ring in enumerate(rings):
        _tell(progress, "Following the edge…", _CUT_SHARE + (0.9 - _CUT_SHARE) * i / len(rings))
        refined.append(_refined(colours, ring, float(shrink.max())))
    rim, *holes = [_ccw(view.to_mm(ring)) for ring, _ in refined]
    strength = refined[0][1]
    return FoundShape(rim, tuple(holes), 100 * float(np.mean(strength < 1.5)))


def _tell(progress: Progress, words: str, share: float) -> None:
    stop_if_cancelled(progress)
    progress.tell(Step(words, share))


def _grown(around: Bounds) -> Bounds:
    left, bottom, right, top = around
    m = _MARGIN * max(right - left, top - bottom)
    return left - m, bottom - m, right + m, top + m


def _shrunk(pixels: Pixels) -> tuple[Pixels, Points]:
    """Return a small copy, and how many pixels one of it was, across and down."""
    import cv2  # noqa: PLC0415 - heavy, and not needed at the start

    height, width = pixels.shape[:2]
    k = max(1.0, max(width, height) / _WORK_PX)
    size = (round(width / k), round(height / k))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), np.array([width / size[0], height / size[1]])


def _first_guess(
    view: FlatPhoto,
    shape: tuple[int, ...],
    shrink: Points,
    around: Bounds,
    clutter: Sequence[Points],
) -> Mask:
    """Return GrabCut's mask: ground outside the rectangle and on clutter, part elsewhere."""
    import cv2  # noqa: PLC0415

    left, bottom, right, top = around
    box = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    inside = _drawn([view.to_px(box) / shrink], shape)
    mask = np.where(inside > 0, cv2.GC_PR_FGD, cv2.GC_BGD).astype(np.uint8)
    mask[_drawn([view.to_px(c) / shrink for c in clutter], shape) > 0] = cv2.GC_BGD
    if not (mask == cv2.GC_BGD).any():
        mask[0], mask[-1], mask[:, 0], mask[:, -1] = (cv2.GC_BGD,) * 4
    return mask


def _drawn(rings: Sequence[Points], shape: tuple[int, ...]) -> Mask:
    import cv2  # noqa: PLC0415

    mask = np.zeros(shape[:2], np.uint8)
    for ring in rings:
        cv2.fillPoly(mask, [np.round(ring - 0.5).astype(np.int32)], 255)
    return mask


def _cut(small: Pixels, mask: Mask, progress: Progress) -> Mask:
    """Return 255 where the part is."""
    import cv2  # noqa: PLC0415

    cv2.setRNGSeed(1)  # the same photo gives the same outline
    calm = cv2.bilateralFilter(small, 5, 18, 3)
    models = np.zeros((1, 65)), np.zeros((1, 65))
    try:
        for i in range(_ROUNDS):
            _tell(progress, "Telling the part from its ground…", _CUT_SHARE * i / _ROUNDS)
            how = cv2.GC_EVAL if i else cv2.GC_INIT_WITH_MASK
            cv2.grabCut(calm, mask, None, *models, 1, how)  # type: ignore[call-overload]
    except cv2.error as error:
        raise _nothing_found() from error
    part = ((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD)).astype(np.uint8) * 255
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    part = np.asarray(cv2.morphologyEx(part, cv2.MORPH_OPEN, disc), np.uint8)
    return np.asarray(cv2.morphologyEx(part, cv2.MORPH_CLOSE, disc), np.uint8)


def _rings(part: Mask, sheets: Mask, shrink: Points, least_px: float) -> list[Points]:
    """Return the rim of the largest patch and of its holes, in pixels of the full picture."""
    import cv2  # noqa: PLC0415

    count, labels, stats, _ = cv2.connectedComponentsWithStats(part, connectivity=4)
    if count < 2:
        raise _nothing_found()
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    if stats[largest, cv2.CC_STAT_AREA] < 0.01 * part.size:
        raise _nothing_found()
    patch = np.pad((labels == largest).astype(np.uint8), 1)
    outside, hole_count = _holes(patch)
    rings = [_contour(outside == 0, shrink)]
    for hole in range(1, hole_count):
        area = outside_area = outside == hole
        size = float(area.sum()) * float(shrink.prod())
        on_sheet = (sheets[area[1:-1, 1:-1]] > 0).mean() if outside_area.any() else 0.0
        if size >= least_px and on_sheet < 0.4:
            rings.append(_contour(area, shrink))
    return rings


def _holes(patch: Mask) -> tuple[NDArray[np.int32], int]:
    """Return labels: 0 the patch with its holes filled, -1 outside, 1 and up the holes."""
    import cv2  # noqa: PLC0415

    count, labels = cv2.connectedComponents((patch == 0).astype(np.uint8), connectivity=8)
    outside = int(labels[0, 0])
    order = [i for i in range(1, count) if i != outside]
    tidy = np.zeros(labels.shape, np.int32)
    tidy[labels == outside] = -1
    for new, old in enumerate(order, 1):
        tidy[labels == old] = new
    return np.where(tidy == -1, -1, tidy), len(order) + 1


def _contour(area: NDArray[np.bool_], shrink: Points) -> Points:
    """Return the rim of an area, between its pixels and those outside, in full pixels.

    It is the line at which the blurred area is half there, so it has no stairs.
    """
    import cv2  # noqa: PLC0415

    k = 4
    big = cv2.resize(area.astype(np.float32), None, fx=k, fy=k, interpolation=cv2.INTER_LINEAR)
    soft = cv2.GaussianBlur(big, (0, 0), k * 0.8) > 0.5
    found, _ = cv2.findContours(soft.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not found:
        raise _nothing_found()
    ring = max(found, key=len)[:, 0, :].astype(np.float64)
    ring = smooth_ring(ring, 2 * k + 1) if len(ring) > 8 * k else ring
    return ((ring + 0.5) / k - 1) * shrink  # 1: the margin around the patch


def _refined(
    colours: NDArray[np.float32], ring: Points, shrink: float
) -> tuple[Points, Points]:
    """Return a ring moved onto the edge in three passes, each nearer, and its strength."""
    if _area(ring) > 0:  # in a picture, y down: make outward lie to the right
        ring = ring[::-1]
    strength = np.zeros(len(ring))
    for reach in (2.5 * shrink + 2, 1.2 * shrink + 2, 3.0):
        ring = even_ring(_untangled(ring), 1.0)
        ring, strength = ring_on_edge(colours, ring, reach)
        ring = smooth_ring(ring, 3)
    return ring, strength


def _untangled(ring: Points) -> Points:
    """Return the ring without loops: the largest area that it surrounds."""
    shape = shapely.Polygon(ring)
    if shape.is_valid:
        return ring
    parts = shapely.get_parts(shapely.make_valid(shape))
    areas = [p for p in parts if p.geom_type == "Polygon"]
    if not areas:
        return ring
    largest = max(areas, key=lambda p: p.area)
    points = np.asarray(largest.exterior.coords, dtype=np.float64)[:-1]
    return points if (_area(points) > 0) == (_area(ring) > 0) else points[::-1]


def _area(ring: Points) -> float:
    x, y = ring.T
    return float(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def _ccw(ring: Points) -> Points:
    return ring if _area(ring) > 0 else ring[::-1].copy()


def _nothing_found() -> ImportFailed:
    return ImportFailed(
        "Nothing stands out from the ground there.",
        mend="Draw the rectangle around the whole part, lay the part on a plain ground of "
        "another colour, or draw its outline by hand.",
    )

"""Three ways to put a photo to scale: marker sheets, a known rectangle, a known length."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.errors import GeometryError, ImportFailed, InputError
from core.geometry.adjust import Adjustment, adjust
from core.geometry.homography import apply_homography, fit_homography, inverse_homography
from core.read.photo import Picture
from core.read.photo_board import SheetSeen, find_sheets
from core.read.photo_board_layout import CHECK_LINE_MM, HEIGHT_MM, paper_corners_mm
from core.read.photo_scale import (
    GROUND_MM,
    LENS_EXPECTED,
    Method,
    PhotoScale,
    carried,
    half_diagonal,
    matrix_of,
    refuse_doubtful,
    seen_at,
    straightened,
    to_units,
    upright,
    values_of,
)

Points = NDArray[np.float64]
Place = tuple[float, float]

CLICK_PX = 0.7
"""How well a place is clicked under the magnifier: standard deviation (own estimate)."""
_OUTLIER = 5.0
LENS_LEFT = 0.5
"""The lens counts as measured when its spread is this share of what was expected before."""
LENS_NOTE = (
    "The bend of the lens could not be measured, so the error includes what lenses usually do."
)
SQUARE_NOTE = (
    "It holds only where the camera looked squarely at the part: at a lean of 3°, a metre up, "
    "800 mm come out some 15 mm longer on one side than on the other."
)
ONE_SHEET_NOTE = "More marker sheets around the part would make it surer."


def scale_by_board(picture: Picture, *, check_line_mm: float = CHECK_LINE_MM) -> PhotoScale:
    """Return the scale that the marker sheets in a photo give.

    Args:
        picture: the photo.
        check_line_mm: what the printed check line measures, for a printer that shrinks.

    Raises:
        ImportFailed: no usable sheet, or one that is not flat.
        InputError: the check line cannot be that long.
    """
    if not 0.8 < check_line_mm / CHECK_LINE_MM < 1.25:
        raise InputError(
            f"The check line cannot measure {check_line_mm:g} mm.",
            mend=f"It is printed as {CHECK_LINE_MM:g} mm; measure it on the paper.",
        )
    growth = check_line_mm / CHECK_LINE_MM
    return scale_by_sheets(find_sheets(picture), picture, growth)


def scale_by_sheets(
    sheets: Sequence[SheetSeen], picture: Picture, growth: float = 1.0
) -> PhotoScale:
    """Return the scale that the crossings of sheets on one plane give.

    The first sheet's frame is that of the ground; each other sheet lies somewhere on it.
    """
    size = picture.size_px
    try:
        result = _adjusted(_Task(sheets, size, growth))
    except GeometryError as error:
        raise ImportFailed(
            "The marker board is seen from too low.",
            where=picture.name,
            mend="Take the photo from higher above.",
        ) from error
    task, done, spread = result
    covariance = done.cofactor[:10, :10] * spread**2
    mm_px = _mm_per_px(done.values, task)
    off_px = float(np.sqrt(np.mean(task.misses(done.values) ** 2))) * half_diagonal(size)
    lens_spread = float(np.sqrt(covariance[8, 8])) / LENS_EXPECTED[0]
    notes = () if lens_spread < LENS_LEFT else (LENS_NOTE, ONE_SHEET_NOTE)
    scale = PhotoScale(
        method=Method.BOARD,
        size_px=size,
        values=done.values[:10],
        covariance=covariance,
        residual_mm=off_px * math.sqrt(2) * mm_px,
        notes=notes,
        clutter=task.papers(done.values),
    )
    refuse_doubtful(scale, HEIGHT_MM, picture.name)
    return upright(scale)


class _Task:
    """The readings of one adjustment: crossings in units, and what was expected of the lens."""

    def __init__(
        self, sheets: Sequence[SheetSeen], size: tuple[int, int], growth: float
    ) -> None:
        self.ground = [s.mm * growth / GROUND_MM for s in sheets]
        self.seen = [to_units(s.px, size) for s in sheets]
        self.size, self.growth = size, growth

    def misses(self, values: Points) -> Points:
        """Residuals of all crossings, shape (2 n,)."""
        parts = []
        for i, (ground, seen) in enumerate(zip(self.ground, self.seen, strict=True)):
            parts.append((seen_at(values, _laid(values, i, ground)) - seen).ravel())
        return np.concatenate(parts)

    def readings(self, values: Points, spread: float) -> Points:
        """Misses, and the lens against what is expected, in one measure."""
        expected = values[8:10] * spread / np.array(LENS_EXPECTED)
        return np.concatenate([self.misses(values), expected])

    def start(self) -> Points:
        """Return a first guess: the first sheet's homography, the others laid on it."""
        h = fit_homography(self.ground[0], self.seen[0])
        values = values_of(h, np.zeros(2))
        back = inverse_homography(h)
        for ground, seen in zip(self.ground[1:], self.seen[1:], strict=True):
            values = np.append(values, _pose(ground, apply_homography(back, seen)))
        return values

    def without(self, gone: NDArray[np.bool_]) -> None:
        """Drop crossings."""
        start = 0
        for i, ground in enumerate(self.ground):
            keep = ~gone[start : start + len(ground)]
            start += len(ground)
            if keep.sum() >= 6:
                self.ground[i], self.seen[i] = ground[keep], self.seen[i][keep]

    def papers(self, values: Points) -> tuple[Points, ...]:
        """Return the sheets' corners on the ground, mm."""
        corner = paper_corners_mm() * self.growth / GROUND_MM
        return tuple(_laid(values, i, corner) * GROUND_MM for i in range(len(self.ground)))


def _adjusted(task: _Task) -> tuple[_Task, Adjustment, float]:
    """Adjust three times: to learn the spread, without outliers, and for good."""
    spread = 0.3 / half_diagonal(task.size)
    values = task.start()
    done = adjust(lambda v: task.readings(v, spread), values)
    off = np.hypot(*task.misses(done.values).reshape(-1, 2).T)
    task.without(off > _OUTLIER * max(float(np.median(off)), 1e-7))
    for _ in range(2):
        misses = task.misses(done.values)
        spare = max(len(misses) - len(done.values), 1)
        spread = max(float(np.sqrt(misses @ misses / spare)), 1e-9)
        done = adjust(lambda v, s=spread: task.readings(v, s), done.values)  # type: ignore[misc]
    return task, done, spread


def _laid(values: Points, sheet: int, ground: Points) -> Points:
    """Return places of a sheet on the ground; the first lies where it lies."""
    if sheet == 0:
        return ground
    x, y, turn = values[10 + 3 * (sheet - 1) : 13 + 3 * (sheet - 1)]
    c, s = math.cos(turn), math.sin(turn)
    laid: Points = ground @ np.array([[c, s], [-s, c]]) + np.array([x, y])
    return laid


def _pose(ground: Points, target: Points) -> Points:
    """Return x, y and turn that lay a sheet nearest to its target places.

    Source: least squares for a rigid move in the plane, by complex numbers (own derivation).
    """
    a = (ground - ground.mean(axis=0)) @ np.array([1, 1j])
    b = (target - target.mean(axis=0)) @ np.array([1, 1j])
    turn = float(np.angle(np.vdot(a, b)))
    c, s = math.cos(turn), math.sin(turn)
    move = target.mean(axis=0) - ground.mean(axis=0) @ np.array([[c, s], [-s, c]])
    return np.array([*move, turn])


def _mm_per_px(values: Points, task: _Task) -> float:
    """Return the size of a pixel at the middle of the first sheet."""
    step = np.array([[0.0, 0.0], [0.5, 0.0], [0.0, 0.5]])
    o, x, y = seen_at(values, step)
    px = (np.hypot(*(x - o)) + np.hypot(*(y - o))) * half_diagonal(task.size)
    return GROUND_MM / float(px)


def scale_by_rectangle(
    picture: Picture, corners_px: Sequence[Place], width_mm: float, height_mm: float
) -> PhotoScale:
    """Return the scale that the four corners of a known rectangle give.

    Args:
        picture: the photo.
        corners_px: lower left, lower right, upper right, upper left.
        width_mm: of the rectangle, along its lower side.
        height_mm: of the rectangle.

    Raises:
        InputError: the corners do not span a four-sided figure, or the sizes are not sizes.
    """
    _refuse_no_size(width_mm, height_mm)
    px = np.array(corners_px, dtype=np.float64)
    if px.shape != (4, 2) or not _is_convex(px):
        raise InputError(
            "The four corners do not go round a rectangle.",
            mend="Put them on its corners in turn, counter-clockwise from the lower left.",
        )
    w, h = width_mm / 2 / GROUND_MM, height_mm / 2 / GROUND_MM
    ground = np.array([[-w, -h], [w, -h], [w, h], [-w, h]])
    readings = np.concatenate([to_units(px, picture.size_px).ravel(), np.zeros(2)])

    def view(given: Points) -> Points:
        lens = given[8:]
        seen = straightened(given[:8].reshape(4, 2), lens)
        return values_of(fit_homography(ground, seen), lens)

    values, covariance = carried(view, readings, _hand_spread(picture, 8))
    return PhotoScale(
        Method.RECTANGLE,
        picture.size_px,
        values,
        covariance,
        residual_mm=None,
        notes=(LENS_NOTE, "Nothing was measured twice: check one more length on the part."),
    )


def scale_by_length(picture: Picture, a_px: Place, b_px: Place, length_mm: float) -> PhotoScale:
    """Return the scale that one known length gives, for a photo taken square on.

    Raises:
        InputError: the ends are too near to each other, or the length is not one.
    """
    _refuse_no_size(length_mm)
    if math.dist(a_px, b_px) < 20:
        raise InputError(
            "The two ends are too near to each other.", mend="Use a length across the part."
        )
    size = picture.size_px
    middle = (np.array(a_px) + np.array(b_px)) / 2
    readings = to_units(np.array([a_px, b_px], dtype=np.float64), size).ravel()
    centre = to_units(middle[None, :], size)[0]

    def view(given: Points) -> Points:
        k = math.dist(given[:2], given[2:4]) / (length_mm / GROUND_MM)
        matrix = np.array([[k, 0, centre[0]], [0, -k, centre[1]], [0, 0, 1]])
        return values_of(matrix, given[4:])

    start = np.concatenate([readings, np.zeros(2)])
    values, covariance = carried(view, start, _hand_spread(picture, 4))
    return PhotoScale(
        Method.LENGTH,
        size,
        values,
        covariance,
        residual_mm=None,
        notes=(
            LENS_NOTE,
            SQUARE_NOTE,
        ),
    )


def _hand_spread(picture: Picture, clicked: int) -> Points:
    """Return the covariance of clicked coordinates and of a lens that nothing is known of."""
    click = CLICK_PX / half_diagonal(picture.size_px)
    return np.diag([click**2] * clicked + [k**2 for k in LENS_EXPECTED])


def _refuse_no_size(*sizes: float) -> None:
    if any(not 10 <= size <= 20_000 for size in sizes):
        raise InputError(
            "A length between 10 mm and 20 m is needed.", mend="Type what was measured."
        )


def _is_convex(px: Points) -> bool:
    """Whether four corners go round counter-clockwise as seen, without a dent."""
    ring = np.roll(px, -1, axis=0) - px
    after = np.roll(ring, -1, axis=0)
    return bool(np.all(ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0] < -1.0))


__all__ = [
    "CLICK_PX",
    "matrix_of",
    "scale_by_board",
    "scale_by_length",
    "scale_by_rectangle",
    "scale_by_sheets",
]

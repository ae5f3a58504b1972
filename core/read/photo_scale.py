"""What a photo says about millimetres: its perspective, its lens, and how sure both are.

A photo's *view* maps the flat ground to the photo: a homography, then the radial distortion of
the lens about the middle of the picture. Ten values hold it, in units that make them about 1:
the ground in decimetres, the photo in half diagonals from its middle.

Their covariance follows from the residuals of what was measured. Only the lens has something to
start from: an expectation of how much lenses bend, so that a photo in which the lens cannot be
measured gets an error that includes it.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from core.errors import ImportFailed
from core.geometry.adjust import slopes_of
from core.geometry.homography import apply_homography, inverse_homography, scaled

Points = NDArray[np.float64]
Matrix = NDArray[np.float64]

GROUND_MM = 100.0
"""One unit of the ground."""
LENS_EXPECTED = (0.10, 0.04)
"""Standard deviation of a lens's two coefficients, for distances in half diagonals: a phone
bends the corners of its picture by up to a tenth (common practice, no source)."""
SURE = 1.96
"""So many standard deviations hold 95 of 100 errors (normal distribution)."""


class Method(StrEnum):
    """How a photo was put to scale."""

    BOARD = "board"
    RECTANGLE = "rectangle"
    LENGTH = "length"


@dataclass(frozen=True, slots=True)
class PhotoScale:
    """How places in a photo and on the ground belong together.

    Attributes:
        size_px: width and height of the photo.
        values: shape (10,), the view: eight of the homography, two of the lens.
        covariance: shape (10, 10).
        residual_mm: root mean square of what was measured against the view; None when nothing
            was measured twice.
        notes: what a person should know about it, as sentences.
        clutter: areas in mm that are not the part (marker sheets).
    """

    method: Method
    size_px: tuple[int, int]
    values: Points
    covariance: Matrix
    residual_mm: float | None
    notes: tuple[str, ...] = ()
    clutter: tuple[Points, ...] = ()

    def to_px(self, mm: Points) -> Points:
        """Return where ground places are in the photo, shape (n, 2)."""
        return from_units(seen_at(self.values, mm / GROUND_MM), self.size_px)

    def to_mm(self, px: Points) -> Points:
        """Return the ground places at pixels of the photo, shape (n, 2)."""
        return ground_at(self.values, to_units(px, self.size_px)) * GROUND_MM

    def error_mm(self, a: tuple[float, float], b: tuple[float, float]) -> float:
        """Return the error, with 95 % certainty, of the length between two ground places."""
        units = to_units(self.to_px(np.array([a, b])), self.size_px)

        def length(values: Points) -> Points:
            p, q = ground_at(values, units) * GROUND_MM
            return np.array([np.hypot(*(q - p))])

        slope = slopes_of(length, self.values)[0]
        return SURE * float(np.sqrt(max(0.0, slope @ self.covariance @ slope)))

    def worst_error_mm(self, corners: Points) -> float:
        """Return the largest error of a length between any two of some places.

        Args:
            corners: shape (n, 2), such as the corners of what is measured.
        """
        pairs = [(a, b) for i, a in enumerate(corners) for b in corners[:i]]
        return max(self.error_mm(tuple(a), tuple(b)) for a, b in pairs)


def upright(scale: PhotoScale) -> PhotoScale:
    """Return the scale with its ground turned by quarters so that up in the photo is up."""
    middle = np.array([[0.0, 0.0], [0.0, -0.05]])
    a, b = ground_at(scale.values, middle)
    quarters = round(math.atan2(b[0] - a[0], b[1] - a[1]) / (math.pi / 2))
    return turned(scale, quarters)


def turned(scale: PhotoScale, quarters: int) -> PhotoScale:
    """Return the scale with its ground turned counter-clockwise by quarters of a turn."""
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters % 4]
    back = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1.0]])

    def view(values: Points) -> Points:
        return values_of(matrix_of(values) @ back, values[8:])

    values, covariance = carried(view, scale.values, scale.covariance)
    clutter = tuple(area @ np.array([[c, s], [-s, c]]) for area in scale.clutter)
    return replace(scale, values=values, covariance=covariance, clutter=clutter)


def refuse_doubtful(scale: PhotoScale, reach_mm: float, where: str) -> None:
    """Refuse a scale whose residuals say that it is not what it was taken for.

    Args:
        scale: what was measured.
        reach_mm: size of what the residuals were measured on.
        where: name of the photo.

    Raises:
        ImportFailed: the marks are off by more than a hundredth of their reach.
    """
    off = scale.residual_mm
    if off is not None and off > 0.004 * reach_mm:
        raise ImportFailed(
            f"The marks lie {off:.1f} mm off from where a flat sheet would show them.",
            where=where,
            mend="Lay the paper flat, hold the camera still, and use no wide-angle lens.",
        )


def to_units(px: Points, size_px: tuple[int, int]) -> Points:
    """Return pixels in half diagonals from the middle of the photo."""
    return (px - np.array(size_px) / 2) / half_diagonal(size_px)


def from_units(units: Points, size_px: tuple[int, int]) -> Points:
    """Return half diagonals from the middle in pixels."""
    return units * half_diagonal(size_px) + np.array(size_px) / 2


def half_diagonal(size_px: tuple[int, int]) -> float:
    """Return half the photo's diagonal in pixels."""
    return float(np.hypot(*size_px)) / 2


def seen_at(values: Points, ground: Points) -> Points:
    """Return where ground places appear, all in units."""
    return bent(apply_homography(matrix_of(values), ground), values[8:10])


def ground_at(values: Points, seen: Points) -> Points:
    """Return the ground places at places of the photo, all in units."""
    return apply_homography(
        inverse_homography(matrix_of(values)), straightened(seen, values[8:10])
    )


def matrix_of(values: Points) -> Matrix:
    """Return the homography from ground to photo, in units."""
    return np.append(values[:8], 1.0).reshape(3, 3)


def values_of(matrix: Matrix, lens: Points) -> Points:
    """Return the ten values of a homography and a lens."""
    return np.concatenate([scaled(matrix).ravel()[:8], lens])


def bent(straight: Points, lens: Points) -> Points:
    """Return where a lens shows places that a plain one shows at ``straight``.

    Source: Brown's radial model, r (1 + k1 r² + k2 r⁴), as in OpenCV's calibration.
    """
    r2 = (straight**2).sum(axis=1, keepdims=True)
    result: Points = straight * (1 + lens[0] * r2 + lens[1] * r2 * r2)
    return result


def straightened(seen: Points, lens: Points) -> Points:
    """Return where a plain lens would show places: the inverse of ``bent``.

    Source: Newton's method on the radius, to machine precision within the picture.
    """
    radius = np.hypot(seen[:, 0], seen[:, 1])
    r = radius.copy()
    for _ in range(12):
        r2 = r * r
        off = r * (1 + lens[0] * r2 + lens[1] * r2 * r2) - radius
        slope = np.maximum(1 + 3 * lens[0] * r2 + 5 * lens[1] * r2 * r2, 0.2)
        r = np.clip(r - off / slope, 0.0, 3.0)
    share = np.divide(r, radius, out=np.ones_like(r), where=radius > 0)
    result: Points = seen * share[:, None]
    return result


def carried(
    function: Callable[[Points], Points], at: Points, covariance: Matrix
) -> tuple[Points, Matrix]:
    """Return a function's value and its covariance, from those of its argument.

    Source: linear propagation of errors.
    """
    slopes = slopes_of(function, at)
    return function(at), slopes @ covariance @ slopes.T

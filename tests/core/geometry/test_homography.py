import cv2
import numpy as np
import pytest

from core.errors import GeometryError
from core.geometry.homography import (
    apply_homography,
    depth_of,
    fit_homography,
    inverse_homography,
    local_scale,
)

SQUARE = np.array([[0.0, 0], [800, 0], [800, 500], [0, 500]])
AWRY = np.array([[410.0, 2711], [3405, 2500], [3001, 402], [777, 611]])


def _short(points):
    """The points as single floats hold them: OpenCV rounds to these before it starts."""
    return points.astype(np.float32).astype(np.float64)


@pytest.mark.parametrize("seed", range(8))
def test_four_points_agree_with_opencv(seed):
    """OpenCV's getPerspectiveTransform is the reference."""
    wobble = np.random.default_rng(seed).uniform(-150, 150, (4, 2))
    target = _short(AWRY + wobble)
    ours = fit_homography(SQUARE, target)
    theirs = cv2.getPerspectiveTransform(SQUARE.astype(np.float32), target.astype(np.float32))
    assert np.abs(ours - theirs).max() / np.abs(theirs).max() < 1e-9
    assert np.abs(apply_homography(ours, SQUARE) - target).max() < 1e-9


def _many(noise_px):
    random = np.random.default_rng(7)
    mm = _short(random.uniform((0, 0), (800, 500), (60, 2)))
    px = apply_homography(fit_homography(SQUARE, AWRY), mm)
    return mm, _short(px + random.normal(0, noise_px, (60, 2)))


def test_many_points_agree_with_opencv():
    """OpenCV's findHomography, least squares, is the reference."""
    mm, px = _many(0.0)
    theirs, _ = cv2.findHomography(mm, px, 0)
    assert np.abs(fit_homography(mm, px) - theirs).max() / np.abs(theirs).max() < 1e-9


@pytest.mark.parametrize("noise_px", [0.001, 0.05, 0.5])
def test_noisy_points_are_fitted_at_least_as_well_as_by_opencv(noise_px):
    """OpenCV stops a few parts in 1e8 short of the least sum of squares."""
    mm, px = _many(noise_px)
    theirs, _ = cv2.findHomography(mm, px, 0)
    ours = fit_homography(mm, px)
    assert np.abs(ours - theirs).max() / np.abs(theirs).max() < 1e-7
    assert _sum_of_squares(ours, mm, px) <= _sum_of_squares(theirs, mm, px)


def _sum_of_squares(matrix, mm, px):
    return float(((apply_homography(matrix, mm) - px) ** 2).sum())


def test_there_and_back_is_the_same_place():
    matrix = fit_homography(SQUARE, AWRY)
    points = np.array([[12.5, 33.0], [700.0, 480.0]])
    back = apply_homography(inverse_homography(matrix), apply_homography(matrix, points))
    assert np.abs(back - points).max() < 1e-9


def test_local_scale_is_that_of_small_lengths():
    matrix = fit_homography(SQUARE, AWRY)
    at = np.array([[300.0, 200.0]])
    small = at + np.array([[0, 0], [1e-3, 0], [0, 1e-3]])
    a, b, c = apply_homography(matrix, small)
    area = abs(np.cross(np.append(b - a, 0), np.append(c - a, 0))[2])
    assert local_scale(matrix, at)[0] == pytest.approx(np.sqrt(area) / 1e-3, rel=1e-4)


def test_depth_changes_its_sign_at_the_horizon():
    matrix = np.array([[1.0, 0, 0], [0, 1, 0], [0, 0.01, 1]])
    depths = depth_of(matrix, np.array([[0.0, -99.0], [0.0, -101.0]]))
    assert depths[0] > 0 > depths[1]


def test_three_points_on_a_line_are_refused():
    flat = np.array([[0.0, 0], [1, 0], [2, 0], [0, 1]])
    with pytest.raises(GeometryError, match="one line"):
        fit_homography(SQUARE, flat)


def test_points_on_one_spot_are_refused():
    with pytest.raises(GeometryError, match="one spot"):
        fit_homography(np.zeros((4, 2)), AWRY)


def test_too_few_points_are_refused():
    with pytest.raises(GeometryError, match="four points"):
        fit_homography(SQUARE[:3], AWRY[:3])

"""Homographies: how one plane looks in the picture of another, as 3 × 3 matrices.

Matrices are scaled so that their last element is 1. Points are rows of arrays of shape (n, 2).
"""

import numpy as np
from numpy.typing import NDArray

from core.errors import GeometryError
from core.geometry.adjust import adjust

Points = NDArray[np.float64]
Matrix = NDArray[np.float64]


def fit_homography(source: Points, target: Points) -> Matrix:
    """Return the matrix that takes source points nearest to their target points.

    Args:
        source: shape (n, 2), n >= 4.
        target: shape (n, 2).

    Returns:
        For four points the exact answer; for more the one of least squared distances in the
        target.

    Raises:
        GeometryError: fewer than four points, or three of four on one line.

    Source: direct linear transform on normalised points, then adjusted (Hartley and Zisserman,
    Multiple View Geometry, chapter 4; from memory, checked against OpenCV in the tests).
    """
    if len(source) < 4 or len(source) != len(target):
        raise GeometryError("A perspective needs four points.", mend="Give four or more.")
    near, far = _normaliser(source), _normaliser(target)
    a, b = apply_homography(near, source), apply_homography(far, target)
    h = _direct(a, b)
    if len(source) > 4:

        def residuals(values: Points) -> Points:
            return (apply_homography(_matrix(values), a) - b).ravel()

        h = _matrix(adjust(residuals, h.ravel()[:8]).values)
    return scaled(np.linalg.inv(far) @ h @ near)


def apply_homography(matrix: Matrix, points: Points) -> Points:
    """Return the points as the matrix maps them, shape (n, 2).

    Degenerate input: points on the horizon go to infinity.
    """
    homogeneous = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    with np.errstate(divide="ignore", invalid="ignore"):
        mapped: Points = homogeneous[:, :2] / homogeneous[:, 2:]
    return mapped


def depth_of(matrix: Matrix, points: Points) -> Points:
    """Return the third homogeneous coordinate of each point, shape (n,).

    It changes its sign at the horizon.
    """
    depth: Points = points @ matrix[2, :2] + matrix[2, 2]
    return depth


def inverse_homography(matrix: Matrix) -> Matrix:
    """Return the matrix that maps back. GeometryError when there is none."""
    try:
        inverse = np.linalg.inv(matrix).astype(np.float64)
    except np.linalg.LinAlgError as error:
        raise GeometryError("The perspective folds the plane into a line.") from error
    return scaled(inverse)


def scaled(matrix: Matrix) -> Matrix:
    """Return the matrix with 1 as its last element."""
    last = matrix[2, 2]
    if abs(last) < 1e-14 * np.abs(matrix).max():
        raise GeometryError("The origin lies on the horizon.")
    result: Matrix = matrix / last
    return result


def local_scale(matrix: Matrix, points: Points) -> Points:
    """Return how much lengths grow at each point: the root of the area's growth, shape (n,).

    Source: the determinant of a homography's Jacobian is det H / w³ (own derivation).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        area = np.abs(np.linalg.det(matrix) / depth_of(matrix, points) ** 3)
    result: Points = np.sqrt(area)
    return result


def _matrix(values: Points) -> Matrix:
    return np.append(values, 1.0).reshape(3, 3)


def _normaliser(points: Points) -> Matrix:
    """Return the similarity that brings points about the origin, sqrt 2 away on average."""
    centre = points.mean(axis=0)
    size = float(np.hypot(*(points - centre).T).mean())
    if not np.isfinite(size) or size < 1e-12:
        raise GeometryError("The points lie on one spot.")
    k = np.sqrt(2) / size
    return np.array([[k, 0, -k * centre[0]], [0, k, -k * centre[1]], [0, 0, 1]])


def _direct(a: Points, b: Points) -> Matrix:
    """Return the direct linear answer: the null vector of the points' equations."""
    one, nil = np.ones(len(a)), np.zeros((len(a), 3))
    plain = np.column_stack([a, one])
    upper = np.column_stack([plain, nil, -plain * b[:, :1]])
    lower = np.column_stack([nil, plain, -plain * b[:, 1:]])
    _, sizes, rows = np.linalg.svd(np.vstack([upper, lower]))
    h: Matrix = rows[-1].reshape(3, 3)
    if sizes[7] < 1e-9 * sizes[0] or abs(np.linalg.det(h)) < 1e-9:
        raise GeometryError(
            "Three of the four points lie on one line.", mend="Give corners that span an area."
        )
    return scaled(h)

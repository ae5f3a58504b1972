"""The marker board: squares and markers of one printed page, the same on A4 and Letter.

A *sheet* is one printed board. Four sheets with markers of their own can lie in one photo; each
is a chessboard with a marker in every white square (OpenCV's ChArUco, dictionary 5X5_250). Its
*crossings* are the inner corners of the chessboard; they are what is measured.

A sheet's frame is in mm from the middle of its board, y up.
"""

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

COLUMNS, ROWS = 7, 9
SQUARE_MM = 25.0
MARKER_MM = 18.0
WIDTH_MM, HEIGHT_MM = COLUMNS * SQUARE_MM, ROWS * SQUARE_MM
SHEETS = (1, 2, 3, 4)
MARKERS_A_SHEET = COLUMNS * ROWS // 2
CROSSINGS_A_SHEET = (COLUMNS - 1) * (ROWS - 1)
CHECK_LINE_MM = 100.0
QUIET_MM = 8.0
"""White paper around the board that belongs to it."""


@cache
def marker_dictionary() -> Any:
    """Return OpenCV's dictionary of the markers."""
    import cv2  # noqa: PLC0415 - heavy, and not needed at the start

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)


def sheet_board(sheet: int) -> Any:
    """Return OpenCV's board of a sheet."""
    import cv2  # noqa: PLC0415

    first = (sheet - 1) * MARKERS_A_SHEET
    ids = np.arange(first, first + MARKERS_A_SHEET, dtype=np.int32)
    return cv2.aruco.CharucoBoard(
        (COLUMNS, ROWS), SQUARE_MM, MARKER_MM, marker_dictionary(), ids
    )


def sheet_of_marker(marker: int) -> int | None:
    """Return the sheet that a marker is on, or None."""
    sheet = marker // MARKERS_A_SHEET + 1
    return sheet if sheet in SHEETS else None


def crossings_mm(ids: NDArray[np.int_]) -> Points:
    """Return where crossings lie on their sheet, shape (n, 2).

    Crossings are numbered along the rows, from the top left.
    """
    column, row = ids % (COLUMNS - 1), ids // (COLUMNS - 1)
    x = (column + 1) * SQUARE_MM - WIDTH_MM / 2
    y = HEIGHT_MM / 2 - (row + 1) * SQUARE_MM
    return np.stack([x, y], axis=1).astype(np.float64)


def paper_corners_mm(margin_mm: float = QUIET_MM) -> Points:
    """Return the corners of a sheet's board with some paper around it, counter-clockwise."""
    w, h = WIDTH_MM / 2 + margin_mm, HEIGHT_MM / 2 + margin_mm
    return np.array([[-w, -h], [w, -h], [w, h], [-w, h]])


def dark_cells() -> list[tuple[int, int]]:
    """Return column and row (from the top left) of the black squares of the chessboard."""
    return [(c, r) for r in range(ROWS) for c in range(COLUMNS) if (c + r) % 2 == 0]


def light_cells() -> list[tuple[int, int]]:
    """Return column and row of the squares with markers, in the order of their ids."""
    return [(c, r) for r in range(ROWS) for c in range(COLUMNS) if (c + r) % 2 == 1]

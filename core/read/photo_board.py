"""Finds printed marker sheets in a photo."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.errors import ImportFailed
from core.read.photo import Picture, grey
from core.read.photo_board_layout import (
    CROSSINGS_A_SHEET,
    crossings_mm,
    sheet_board,
    sheet_of_marker,
)

Points = NDArray[np.float64]

LEAST_CROSSINGS = 8
"""Fewer crossings of a sheet than these are not measured from."""
_SEARCH_PX = 16_000_000
"""Markers are looked for in a photo of at most so many pixels; crossings in the whole one."""


@dataclass(frozen=True, slots=True)
class SheetSeen:
    """The crossings of one sheet that were found.

    Attributes:
        sheet: its number.
        ids: shape (n,), which crossings.
        px: shape (n, 2), where they are in the photo, pixels from its upper left corner.
        mm: shape (n, 2), where they are on the sheet.
    """

    sheet: int
    ids: NDArray[np.int_]
    px: Points
    mm: Points


def find_sheets(picture: Picture) -> tuple[SheetSeen, ...]:
    """Return the marker sheets in a photo, the one with most crossings first.

    Raises:
        ImportFailed: no sheet, or too little of one, can be seen.
    """
    image = grey(picture.pixels)
    corners, ids = _find_markers(image)
    if not len(ids):
        raise ImportFailed(
            "No marker board can be seen.",
            where=picture.name,
            mend="Lay it flat beside the part, wholly in the picture and in focus, or put the "
            "photo to scale by a rectangle or a length.",
        )
    seen = [_crossings(image, sheet, corners, ids) for sheet in _sheets_of(ids)]
    fit = [one for one in seen if len(one.ids) >= LEAST_CROSSINGS]
    if not fit:
        most = max((len(one.ids) for one in seen), default=0)
        raise ImportFailed(
            f"Too little of the marker board can be seen: {most} of its {CROSSINGS_A_SHEET} "
            f"crossings, {LEAST_CROSSINGS} are needed.",
            where=picture.name,
            mend="Take the photo again with the whole board in the picture and in focus.",
        )
    return tuple(sorted(fit, key=lambda one: -len(one.ids)))


def _find_markers(image: NDArray[np.uint8]) -> tuple[list[Any], NDArray[np.int_]]:
    """Return the markers' corners (OpenCV's pixels) and their numbers."""
    import cv2  # noqa: PLC0415 - heavy, and not needed at the start

    from core.read.photo_board_layout import marker_dictionary  # noqa: PLC0415

    shrink = max(1.0, float(np.sqrt(image.size / _SEARCH_PX)))
    small = image
    if shrink > 1:
        size = (round(image.shape[1] / shrink), round(image.shape[0] / shrink))
        small = np.asarray(cv2.resize(image, size, interpolation=cv2.INTER_AREA), np.uint8)
    detector = cv2.aruco.ArucoDetector(marker_dictionary())
    corners: Any
    ids: Any  # None where no marker is seen, which the stubs do not say
    corners, ids, _ = detector.detectMarkers(small)
    if ids is None:
        return [], np.empty(0, dtype=np.int_)
    grown = [((c + 0.5) * _growth(image, small) - 0.5).astype(np.float32) for c in corners]
    return grown, np.asarray(ids, dtype=np.int_).ravel()


def _growth(image: NDArray[np.uint8], small: NDArray[np.uint8]) -> Points:
    return np.array([image.shape[1] / small.shape[1], image.shape[0] / small.shape[0]])


def _sheets_of(ids: NDArray[np.int_]) -> list[int]:
    sheets = {sheet_of_marker(int(i)) for i in ids}
    return sorted(sheet for sheet in sheets if sheet is not None)


def _crossings(
    image: NDArray[np.uint8], sheet: int, corners: list[Any], ids: NDArray[np.int_]
) -> SheetSeen:
    import cv2  # noqa: PLC0415

    own = [i for i, marker in enumerate(ids) if sheet_of_marker(int(marker)) == sheet]
    detector = cv2.aruco.CharucoDetector(sheet_board(sheet))
    found: Any
    numbers: Any  # as above
    found, numbers, _, _ = detector.detectBoard(
        image,
        markerCorners=[corners[i] for i in own],
        markerIds=np.array([[ids[i]] for i in own], dtype=np.int32),
    )
    if numbers is None:
        numbers, found = np.empty(0, dtype=np.int_), np.empty((0, 2))
    which = np.asarray(numbers).ravel().astype(np.int_)
    px = np.asarray(found, dtype=np.float64).reshape(-1, 2)
    return SheetSeen(sheet, which, px + 0.5, crossings_mm(which))

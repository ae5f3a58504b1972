"""How a drawing is parted over sheets of paper, with the crosses by which they are joined.

Neighbouring pages share a strip, the overlap. A cross stands in the middle of it, where two
rows and two columns meet; so each page has four, one in each corner of its window, and the same
cross stands on up to four pages with the same number. Rows are lettered from the top, columns
numbered from the left: A1, A2, B1.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import box
from shapely.geometry.base import BaseGeometry

from core.write.drawing import Extent
from core.write.papers import Paper, Sheet, on_its_side, upright

OVERLAP_MM = 15.0
LEAST_OVERLAP_MM, MOST_OVERLAP_MM = 10.0, 50.0


@dataclass(frozen=True, slots=True)
class Cross:
    """A cross that joins pages: its number and where it stands in the drawing."""

    number: int
    at: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tile:
    """What of the drawing one page shows.

    Attributes:
        row, column: from 0, from the top and from the left.
        window: in the drawing's coordinates.
        crosses: lower left, lower right, upper left, upper right.
    """

    row: int
    column: int
    window: Extent
    crosses: tuple[Cross, Cross, Cross, Cross]

    @property
    def name(self) -> str:
        """Return its letter and number.

        >>> Tile(27, 0, (0, 0, 1, 1), ()).name
        'AB1'
        """
        return f"{_letters(self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """The pages of a drawing that hold something of it, row by row."""

    sheet: Sheet
    overlap_mm: float
    rows: int
    columns: int
    tiles: tuple[Tile, ...]

    @property
    def steps(self) -> tuple[float, float]:
        """How far apart the crosses of a page stand, across and up."""
        width, height = self.sheet.window_size
        return width - self.overlap_mm, height - self.overlap_mm

    def neighbour(self, tile: Tile, down: int, right: int) -> Tile | None:
        """Return the page that many rows down and columns right, if it holds something."""
        place = (tile.row + down, tile.column + right)
        return next((t for t in self.tiles if (t.row, t.column) == place), None)


def tiled(held: BaseGeometry, extent: Extent, paper: Paper, overlap_mm: float) -> Tiling:
    """Return how a drawing is parted, on the paper's side that takes fewer pages.

    Args:
        held: a page that shows nothing of this is left out.
        extent: what must be shown; the pages are centred on it.
        paper: one that has a size.
        overlap_mm: what neighbours share.
    """
    both = (_grid(held, extent, s, overlap_mm) for s in (upright(paper), on_its_side(paper)))
    return min(both, key=lambda tiling: len(tiling.tiles))


def _grid(held: BaseGeometry, extent: Extent, sheet: Sheet, overlap: float) -> Tiling:
    x0, y0, x1, y1 = extent
    width, height = sheet.window_size
    columns = max(1, math.ceil((x1 - x0 - overlap) / (width - overlap) - 1e-9))
    rows = max(1, math.ceil((y1 - y0 - overlap) / (height - overlap) - 1e-9))
    left = (x0 + x1 - columns * (width - overlap) - overlap) / 2
    top = (y0 + y1 + rows * (height - overlap) + overlap) / 2
    tiles = []
    shapely.prepare(held)
    for row, column in np.ndindex(rows, columns):
        x = left + column * (width - overlap)
        y = top - row * (height - overlap)
        window = (x, y - height, x + width, y)
        if held.intersects(box(*window)):
            crosses = _crosses(window, overlap, (row, column), columns)
            tiles.append(Tile(row, column, window, crosses))
    return Tiling(sheet, overlap, rows, columns, tuple(tiles))


def _crosses(
    window: Extent, overlap: float, place: tuple[int, int], columns: int
) -> tuple[Cross, Cross, Cross, Cross]:
    x0, y0, x1, y1 = window
    half = overlap / 2
    row, column = place
    above = row * (columns + 1) + column + 1
    below = above + columns + 1
    return (
        Cross(below, (x0 + half, y0 + half)),
        Cross(below + 1, (x1 - half, y0 + half)),
        Cross(above, (x0 + half, y1 - half)),
        Cross(above + 1, (x1 - half, y1 - half)),
    )


def _letters(number: int) -> str:
    """Return A, B, ... Z, AA, AB, ... for 0, 1, ..."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text

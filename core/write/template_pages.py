"""What stands on a template's pages besides the piece: crosses, foot, map, check square."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import LineString, MultiLineString, Polygon, box
from shapely.affinity import affine_transform

from core.document.job import Units
from core.units import format_length
from core.write.drawing import Drawing, Extent, Look
from core.write.inks import DARK
from core.write.label_room import inner_point
from core.write.page import FAINT, SOFT, Page, shortened, wrapped
from core.write.papers import FOOT_MM, MARGIN_MM, Sheet
from core.write.template_lines import TemplateLine
from core.write.tiling import Tile, Tiling

CHECK_MM = 100.0
CHECK_WORDS = (
    "Print at 100 %, without fitting to the page. Then measure this square both ways: each "
    "side must be 100 mm. If it is not, set the printer to its true size and print again; do "
    "not cut by this print."
)
JOIN_WORDS = (
    "Trim each page along its dotted lines at the left and at the top, where it has a "
    "neighbour. Lay it over that neighbour so that crosses of the same number meet, and tape "
    "it down. Go row by row, from A1."
)
_CROSS_MM = 5.0
_FINE = 0.15


@dataclass(frozen=True, slots=True)
class Heading:
    """What a template is of.

    Attributes:
        job: the job's name and its variant's.
        piece: the piece's label.
        details: lines that tell of it.
    """

    job: str
    piece: str
    details: tuple[str, ...]
    units: Units


def tile_overlay(tiling: Tiling, tile: Tile, heading: Heading) -> Drawing:
    """Return the crosses, join lines, neighbours and foot of one page."""
    page = Page(1.0)
    sheet = tiling.sheet
    x0, y0, x1, y1 = sheet.window
    dx, dy = x0 - tile.window[0], y0 - tile.window[1]
    half = tiling.overlap_mm / 2
    near, low = x0 + 0.3 * (x1 - x0), y0 + 0.3 * (y1 - y0)  # off the middle, for centre lines
    for down, right, ends, at, words in (
        (0, -1, ((x0 + half, y0), (x0 + half, y1)), (x0 + half / 2, low), "left"),
        (0, 1, ((x1 - half, y0), (x1 - half, y1)), (x1 - half / 2, low), "right"),
        (-1, 0, ((x0, y1 - half), (x1, y1 - half)), (near, y1 - half / 2), "up"),
        (1, 0, ((x0, y0 + half), (x1, y0 + half)), (near, y0 + half / 2), "down"),
    ):
        other = tiling.neighbour(tile, down, right)
        if other is not None:
            page.line(LineString(ends), SOFT, 0.2, (0.3, 1.2))
            arrow = {"left": "←", "right": "→", "up": "↑", "down": "↓"}[words]
            page.text(f"{arrow} {other.name}", at, 2.0, anchor="middle", colour=SOFT)
    for cross in tile.crosses:
        _draw_cross(page, (cross.at[0] + dx, cross.at[1] + dy), cross.number)
    across, up = (format_length(v, heading.units) for v in tiling.steps)
    line = f"The crosses of this page stand {across} apart, {up} up."
    _draw_foot(page, sheet, heading, (tile.name, line))
    return _bare(page, heading.piece, sheet)


def cover(
    tiling: Tiling, cut: Polygon, heading: Heading, kinds: Sequence[TemplateLine]
) -> Drawing:
    """Return the first page of a template on several pages."""
    page = Page(1.0)
    sheet = _upright(tiling.sheet)
    x0, y0, x1, y1 = sheet.window
    y = _draw_heading(page, heading, (x0, y1, x1))
    for line in wrapped(JOIN_WORDS, 2.2, x1 - x0):
        y -= 4.2
        page.text(line, (x0, y), 2.2)
    _draw_check(page, (x0, y0 + 16.0))
    _draw_legend(page, kinds, (x0 + CHECK_MM + 8.0, y0 + 16.0 + CHECK_MM, x1))
    _draw_map(page, tiling, cut, (x0, y0 + 22.0 + CHECK_MM, x1, y - 6.0))
    pages = f"{len(tiling.tiles)} pages follow" if len(tiling.tiles) > 1 else "1 page follows"
    _draw_foot(page, sheet, heading, ("", pages))
    return _bare(page, heading.piece, sheet)


def long_overlay(sheet: Sheet, heading: Heading, kinds: Sequence[TemplateLine]) -> Drawing:
    """Return what stands beneath a piece on one long page."""
    page = Page(1.0)
    x0, y0, x1, _ = sheet.window
    _draw_check(page, (x0, y0 + 16.0))
    left = x0 + CHECK_MM + 8.0
    y = _draw_heading(page, heading, (left, y0 + 16.0 + CHECK_MM, x1))
    _draw_legend(page, kinds, (left, y - 5.0, x1))
    _draw_foot(page, sheet, heading, ("", "one page"))
    return _bare(page, heading.piece, sheet)


LONG_STRIP_MM = CHECK_MM + 22.0
"""Room beneath a piece on one long page, for square and legend."""
LONG_LEAST_MM = CHECK_MM + 90.0
"""Least width of that page's window."""


def _upright(sheet: Sheet) -> Sheet:
    return Sheet(*sorted((sheet.width_mm, sheet.height_mm)))


def _bare(page: Page, name: str, sheet: Sheet) -> Drawing:
    drawing = page.drawing(name, (0.0, 0.0, sheet.width_mm, sheet.height_mm))
    return replace(drawing, background=None)


def _draw_cross(page: Page, at: tuple[float, float], number: int) -> None:
    x, y = at
    page.polyline([(x - _CROSS_MM, y), (x + _CROSS_MM, y)], DARK, _FINE)
    page.polyline([(x, y - _CROSS_MM), (x, y + _CROSS_MM)], DARK, _FINE)
    page.disc(at, 1.6, page.look(None, DARK, _FINE))
    page.text(str(number), (x + 1.9, y + 1.1), 1.8)


def _draw_foot(page: Page, sheet: Sheet, heading: Heading, words: tuple[str, str]) -> None:
    """Draw the page's name, the piece and a line of words beneath the window."""
    name, line = words
    left, right = MARGIN_MM, sheet.width_mm - MARGIN_MM
    y = FOOT_MM - 7.0
    page.polyline([(left, FOOT_MM - 1.5), (right, FOOT_MM - 1.5)], FAINT, 0.2)
    if name:
        page.text(name, (right, y - 2.5), 5.0, anchor="end", is_bold=True)
    most = right - left - (30.0 if name else 0.0)
    page.text(shortened(heading.piece, 2.6, most, is_bold=True), (left, y), 2.6, is_bold=True)
    page.text(
        shortened(f"{heading.job}  ·  {line}", 1.9, most), (left, y - 4.2), 1.9, colour=SOFT
    )


def _draw_heading(page: Page, heading: Heading, place: tuple[float, float, float]) -> float:
    """Draw the piece's name and details beneath a top; return the lower end."""
    left, top, right = place
    room = right - left
    y = top - 4.5
    for line in wrapped(heading.piece, 4.5, room):
        page.text(line, (left, y), 4.5, is_bold=True)
        y -= 7.0
    for text in (heading.job, *heading.details):
        for line in wrapped(text, 2.2, room):
            page.text(line, (left, y), 2.2, colour=SOFT)
            y -= 4.2
    return y


def _draw_check(page: Page, corner: tuple[float, float]) -> None:
    """Draw the check square by its lower left corner, with what to do written in it."""
    x, y = corner
    page.rect(corner, (CHECK_MM, CHECK_MM), Look(stroke=DARK, width_mm=0.2))
    page.text(
        "Check square: 100 mm each way", (x + 8.0, y + CHECK_MM - 14.0), 3.0, is_bold=True
    )
    line_y = y + CHECK_MM - 24.0
    for line in wrapped(CHECK_WORDS, 2.4, CHECK_MM - 16.0):
        page.text(line, (x + 8.0, line_y), 2.4)
        line_y -= 5.0
    for i in range(1, 10):
        reach = 3.0 if i == 5 else 1.5
        page.polyline([(x + 10.0 * i, y), (x + 10.0 * i, y + reach)], DARK, _FINE)
        page.polyline([(x, y + 10.0 * i), (x + reach, y + 10.0 * i)], DARK, _FINE)


def _draw_legend(
    page: Page, kinds: Sequence[TemplateLine], place: tuple[float, float, float]
) -> None:
    """Draw a sample and words for each kind of line beneath a top."""
    left, top, right = place
    page.text("Lines", (left, top - 3.0), 2.8, is_bold=True)
    y = top - 10.0
    for kind in kinds:
        look, end = kind.look, left + 20.0
        if kind is TemplateLine.LAP:
            lines = [
                [(left + i * 2.8, y - 2.0), (left + i * 2.8 + 4.0, y + 2.0)] for i in range(6)
            ]
            page.line(MultiLineString(lines), look.stroke or DARK, look.width_mm)
        elif kind is TemplateLine.TICK:
            page.polyline([(left + 10.0, y - 3.0), (left + 10.0, y + 3.0)], DARK, look.width_mm)
        else:
            sample = LineString([(left, y), (end, y)])
            page.line(sample, look.stroke or DARK, look.width_mm, look.dash_mm)
        rows = wrapped(kind.words, 2.2, right - end - 3.0)
        for i, row in enumerate(rows):
            page.text(row, (end + 3.0, y - 1.1 - 3.8 * i), 2.2)
        y -= 6.4 + 3.8 * (len(rows) - 1)


def _draw_map(page: Page, tiling: Tiling, cut: Polygon, room: Extent) -> None:
    """Draw the piece, small, under the grid of its pages."""
    x0, y0, x1, y1 = room
    windows = shapely.total_bounds([box(*tile.window) for tile in tiling.tiles]).tolist()
    scale = min(
        (x1 - x0) / (windows[2] - windows[0]), (y1 - y0) / (windows[3] - windows[1]), 0.5
    )
    left = (x0 + x1 - scale * (windows[2] - windows[0])) / 2 - scale * windows[0]
    low = (y0 + y1 - scale * (windows[3] - windows[1])) / 2 - scale * windows[1]
    matrix = (scale, 0, 0, scale, left, low)
    small: Polygon = affine_transform(cut, matrix)
    page.area(small, "#e4e3de")
    page.frame(small, DARK, 0.3)
    half = tiling.overlap_mm / 2
    for tile in tiling.tiles:
        ax, ay, bx, by = tile.window
        cell = affine_transform(box(ax + half, ay + half, bx - half, by - half), matrix)
        page.line(cell, SOFT, 0.2, (1.0, 0.7))
        (x, y), radius = inner_point(cell)
        height = max(min(radius * 0.5, 6.0), 1.6)
        page.text(tile.name, (x, y - height / 2), height, anchor="middle", is_bold=True)

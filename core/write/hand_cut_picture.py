"""The picture of a stretch of film with its blanks and numbered cuts.

Nothing written in it covers anything else that is: numbers move along their cuts, or stand
aside with a line to them; names that find no room in their blank stand in a list, by letters.
"""

import math
import string
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import shapely
from shapely import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import polygonize, unary_union

from core.roll.cut_sequence import Blank, Knife, KnifeCut
from core.units import format_length
from core.write.cut_sheets import sheet_frame
from core.write.drawing import Drawing
from core.write.free_spots import Block, Box, Point, Segment, Taken
from core.write.hand_cut_numbers import CUT_INK, number_cut
from core.write.hand_cut_stretches import Stretch
from core.write.hatching import hatch_lines
from core.write.inks import DARK
from core.write.measures import size_text
from core.write.page import SOFT, Page
from core.write.typeface import text_width_mm

AROUND_MM = (9.0, 8.0, 9.0, 11.0)
"""Kept around the film for sizes and numbers, on paper: left, below, right, above."""
_FILM, _WASTE, _BLANK, _OTHER = "#ffffff", "#f1efe9", "#dfe6e6", "#ebebea"
_DASHES: dict[Knife, tuple[float, ...]] = {Knife.CROSS_CUT: (), Knife.SLIT: (2.2, 0.9)}
_FINE, _TINY = (3.0, 2.6, 2.2, 2.0), (1.8, 1.6, 1.4)
_SMALL = (1.6,), (1.4,)
_FAR = 1e9


@dataclass
class Picture:
    """A picture under way; widths and heights are in units, a unit is 1 mm on paper.

    Attributes:
        keyed: letters in blanks, with what they stand for.
    """

    stretch: Stretch
    page: Page
    film: BaseGeometry
    taken: Taken = field(default_factory=Taken)
    keyed: list[tuple[str, str]] = field(default_factory=list)

    @property
    def unit(self) -> float:
        """One millimetre on paper, on the film."""
        return self.page.unit


def hand_cut_picture(stretch: Stretch, scale: float) -> tuple[Drawing, list[tuple[str, str]]]:
    """Return a stretch drawn at a scale, and the names of the blanks that bear a letter."""
    width = stretch.sheet.sheet.width_mm
    window = box(stretch.span[0], 0.0, stretch.span[1], width)
    film: BaseGeometry = stretch.sheet.sheet.outline or sheet_frame(stretch.sheet).union(window)
    film = film.intersection(window)
    art = Picture(stretch, Page(1.0 / scale), film)
    cuts = [_on_film(c, film) for c in stretch.sequence.cuts if _is_shown(c, window)]
    art.taken.segments = [(c.start, c.end) for c in cuts]
    art.taken.edges = [e for b in stretch.sequence.blanks for e in _edges(b.rectangle)]
    _paint_film(art, cuts)
    damage = _paint_damage(art)
    _draw_cuts(art, cuts)
    _write_all(art, cuts, damage)
    _draw_sizes(art)
    left, below, right, above = (side * art.unit for side in AROUND_MM)
    x0, x1 = stretch.span
    extent = (x0 - left, -below, x1 + right, width + above)
    return replace(art.page.drawing(stretch.title, extent), background=None), art.keyed


def _write_all(art: Picture, cuts: list[KnifeCut], damage: list[Polygon]) -> None:
    """Number and name all there is, what has the least choice of place first."""
    own = {c.number for c in art.stretch.cuts}
    numbered = [c for c in cuts if c.number in own]
    for cut in sorted(numbered, key=lambda c: (bool(c.part), math.dist(c.start, c.end))):
        number_cut(art.page, art.taken, cut, art.stretch.sequence.blanks)
    _name_damage(art, damage)
    later = _name_parts(art)
    for blank in _own_blanks(art.stretch):
        _label_blank(art, blank)
    for name, room in later:
        _name_part(art, name, room)
    _name_trims(art, cuts)


def _on_film(cut: KnifeCut, film: BaseGeometry) -> KnifeCut:
    """Return a cut as far as there is film under it."""
    met = LineString([cut.start, cut.end]).intersection(film)
    if met.is_empty:
        return cut
    x0, y0, x1, y1 = met.bounds
    return replace(cut, start=(x0, y0), end=(x1, y1))


def _edges(room: Box) -> list[Segment]:
    x0, y0, x1, y1 = room
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return [(corners[k - 1], corners[k]) for k in range(4)]


def _is_shown(cut: KnifeCut, window: Polygon) -> bool:
    x0, _, x1, _ = window.bounds
    return x0 - 1e-6 <= cut.start[0] and cut.end[0] <= x1 + 1e-6


def _own_blanks(stretch: Stretch) -> Iterator[Blank]:
    """Yield the blanks that are cut free on this page, the smallest first."""
    x0, x1 = stretch.span
    blanks = [
        b
        for b in stretch.sequence.blanks
        if b.is_retake == stretch.is_for_retakes and x0 <= _middle(b.rectangle)[0] <= x1
    ]
    yield from sorted(blanks, key=lambda b: box(*b.rectangle).area)


def _middle(room: Box) -> Point:
    return (room[0] + room[2]) / 2, (room[1] + room[3]) / 2


def _paint_film(art: Picture, cuts: list[KnifeCut]) -> None:
    page, stretch = art.page, art.stretch
    page.area(art.film, _FILM)
    for face in _trims(art, cuts):
        page.area(face, _WASTE)
    x0, x1 = stretch.span
    for blank in stretch.sequence.blanks:
        shape = box(*blank.rectangle).intersection(box(x0, -_FAR, x1, _FAR))
        if shape.area > 0:
            is_own = blank.is_retake == stretch.is_for_retakes
            page.area(shape, _BLANK if is_own else _OTHER)
            page.frame(shape, DARK if is_own else SOFT, 0.15)
    page.frame(art.film, DARK, 0.3)


def _trims(art: Picture, cuts: list[KnifeCut]) -> list[Polygon]:
    """Return what the cuts leave without a blank on it."""
    lines = [LineString([c.start, c.end]) for c in cuts]
    faces = polygonize(unary_union([art.film.boundary, *lines]))
    blanks = unary_union([box(*b.rectangle) for b in art.stretch.sequence.blanks])
    return [
        f
        for f in faces
        if art.film.contains(f.representative_point()) and f.intersection(blanks).area < 1.0
    ]


def _paint_damage(art: Picture) -> list[Polygon]:
    """Hatch what of the film is damaged or not to be used, and return it."""
    found = []
    for blocked in art.stretch.sheet.sheet.blocked:
        for part in shapely.get_parts(blocked.intersection(art.film)):
            if isinstance(part, Polygon) and part.area > 0:
                found.append(part)
                for angle in (45.0, -45.0):
                    art.page.line(hatch_lines(part, 1.6 * art.unit, angle), SOFT, 0.12)
                art.page.frame(part, SOFT, 0.2)
    return found


def _draw_cuts(art: Picture, cuts: list[KnifeCut]) -> None:
    own = {c.number for c in art.stretch.cuts}
    for cut in reversed(cuts):
        line = LineString([cut.start, cut.end])
        if cut.number in own:
            art.page.line(line, CUT_INK, 0.42, _DASHES[cut.knife])
        else:
            art.page.line(line, SOFT, 0.2, _DASHES[cut.knife])


def _name_parts(art: Picture) -> list[tuple[str, Box]]:
    """Name the parts that are cut on: slabs above the film, others in their corner.

    Returns:
        Names that found no room there, with where they may stand.
    """
    unit, later = art.unit, []
    told = {c.part for c in art.stretch.cuts}
    for name, (x0, y0, x1, y1) in art.stretch.sequence.parts:
        if name not in told:
            continue
        room = (x0 + 0.5 * unit, y0 + 0.3 * unit, x1 - 0.3 * unit, y1 - 0.3 * unit)
        if "." not in name and _is_slab_across(art):
            _name_part(art, name, (x0, y1 + 0.6 * unit, x1, y1 + 4.6 * unit), is_corner=False)
        elif not (block := _corner_block(art, room, (f"part {name}",))):
            later.append((name, room))
        else:
            _set_block(art, block, CUT_INK, is_bold=False)
    return later


def _name_part(art: Picture, name: str, room: Box, *, is_corner: bool = True) -> None:
    unit = art.unit
    heights = _heights(unit, *_SMALL, (1.2,))
    near = (room[0], room[3]) if is_corner else None
    block = art.taken.block_in(room, ((f"part {name}",), (name,)), heights, 0.8 * unit, near)
    if block is not None:
        _set_block(art, block, CUT_INK, is_bold=False)


def _is_slab_across(art: Picture) -> bool:
    return all(c.knife is Knife.CROSS_CUT for c in art.stretch.sequence.cuts if not c.part)


def _corner_block(art: Picture, room: Box, lines: tuple[str, ...]) -> Block | None:
    """Return a name in the upper left corner of a part, if there is room for it."""
    height = 1.5 * art.unit
    block = Block(lines, (0.0, 0.0), height)
    x0, y0, x1, y1 = block.box
    block = replace(block, centre=(room[0] + (x1 - x0) / 2, room[3] - (y1 - y0) / 2))
    is_within = block.box[2] <= room[2] and block.box[1] >= room[1]
    if not (is_within and art.taken.is_free(block.box) and art.taken.is_off_lines(block.box)):
        return None
    art.taken.boxes.append(block.box)
    return block


def _heights(unit: float, *groups: tuple[float, ...]) -> list[tuple[float, ...]]:
    """Return heights of capitals on the film, in groups: within one a level text is better."""
    return [tuple(h * unit for h in group) for group in groups]


def _broken(label: str) -> list[tuple[str, ...]]:
    """Return a label in one line, and broken: before its retake, and in the middle of its name.

    >>> _broken("Lid 1, retake 1"), _broken("Front cheek 2")[1:]
    ([('Lid 1, retake 1',), ('Lid 1,', 'retake 1')], [('Front', 'cheek 2')])
    """
    name, comma, again = label.partition(", ")
    behind = (again,) if comma else ()
    first, _, last = name.rpartition(" ")
    words = [*first.split(), last]
    if len(words) > 1 and len(last) <= 3:  # a number stays with the word before it
        words[-2:] = [" ".join(words[-2:])]
    ways: list[tuple[str, ...]] = [(label,)]
    ways += [(f"{name},", again)] if comma else []
    breaks = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    if breaks:
        one, other = min(breaks, key=lambda pair: max(map(len, pair)))
        ways.append((one, f"{other}," if comma else other, *behind))
    return ways


def _label_blank(art: Picture, blank: Blank) -> None:
    """Write a blank's name and size into it, else a letter that the list explains."""
    unit = art.unit
    x0, y0, x1, y1 = blank.rectangle
    size = size_text(x1 - x0, y1 - y0, art.stretch.units)
    ways = [(*lines, size) for lines in _broken(blank.label)]
    room = (x0 + 0.4 * unit, y0 + 0.4 * unit, x1 - 0.4 * unit, y1 - 0.4 * unit)
    block = art.taken.block_in(room, ways, _heights(unit, _FINE, _TINY), 1.2 * unit)
    if block is None:
        count = len(art.keyed)
        letter = string.ascii_lowercase[count % 26] * (1 + count // 26)
        art.keyed.append((letter, f"{blank.label}, {size}"))
        heights = _heights(unit, (2.2, 1.8, 1.4))
        block = art.taken.block_in(room, [(letter,)], heights, 0.6 * unit)
        block = block or Block((letter,), _middle(blank.rectangle), 1.4 * unit)
    _set_block(art, block, DARK, is_bold=True)


def _set_block(art: Picture, block: Block, colour: str, *, is_bold: bool) -> None:
    """Write a block; of several lines the last is not bold: it is a size."""
    lines = list(block.base_points())
    for k, (line, at) in enumerate(lines):
        art.page.text(
            line,
            at,
            block.height / art.unit,
            anchor="middle",
            colour=colour,
            is_bold=is_bold and (k < len(lines) - 1 or k == 0),
            angle_deg=90.0 if block.is_upright else 0.0,
        )


def _name_damage(art: Picture, areas: list[Polygon]) -> None:
    """Write into damaged stretches what they are, on a light ground."""
    heights = _heights(art.unit, *_SMALL)
    for area in areas:
        block = art.taken.block_in(area.bounds, [("damaged",)], heights, art.unit)
        if block is not None:
            art.page.area(box(*block.box), _FILM)
            _set_block(art, block, SOFT, is_bold=True)
    art.taken.boxes += [area.bounds for area in areas]


def _name_trims(art: Picture, cuts: list[KnifeCut]) -> None:
    """Name what is cut off, with its size where it is a large rectangle."""
    heights = _heights(art.unit, *_SMALL, (1.2,))
    for face in _trims(art, cuts):
        x0, y0, x1, y1 = face.bounds
        is_box = face.area > 0.999 * (x1 - x0) * (y1 - y0)
        ways: list[tuple[str, ...]] = [("trim",)]
        if is_box and min(x1 - x0, y1 - y0) > 12 * art.unit:
            ways.insert(0, ("trim", size_text(x1 - x0, y1 - y0, art.stretch.units)))
        room = face.bounds if is_box else _roomiest(face)
        block = art.taken.block_in(room, ways, heights, art.unit)
        if block is not None:
            _set_block(art, block, SOFT, is_bold=False)


def _roomiest(face: Polygon) -> Box:
    """Return a square within an odd area."""
    circle = shapely.maximum_inscribed_circle(face, tolerance=1.0)
    x, y = shapely.get_coordinates(circle)[0].tolist()
    r = circle.length / math.sqrt(2)
    return (x - r, y - r, x + r, y + r)


def _draw_sizes(art: Picture) -> None:
    """Write how wide the film is, from where to where it is seen, and where the job ends."""
    unit, page, stretch = art.unit, art.page, art.stretch
    x0, x1 = stretch.span
    width = stretch.sheet.sheet.width_mm
    at = (x0 - 3.0 * unit, width / 2)
    text = format_length(width, stretch.units)
    page.text(text, at, 1.8, anchor="middle", colour=SOFT, angle_deg=90.0)
    _measure(art, (x0 - 2.0 * unit, 0.0), (x0 - 2.0 * unit, width))
    low = -2.0 * unit
    length = format_length(x1 - x0, stretch.units)
    _measure(art, (x0, low), (x1, low))
    page.text(length, ((x0 + x1) / 2, low - 3.2 * unit), 1.8, anchor="middle", colour=SOFT)
    if _is_end_of_job(stretch):
        text = "the job ends here"
        high = (width - text_width_mm(text, 2.2 * unit, is_bold=True)) / 2
        page.line(LineString([(x1 + 1.4 * unit, 0.0), (x1 + 1.4 * unit, width)]), DARK, 0.9)
        spot = (x1 + 5.2 * unit, max(high, 0.0))
        page.text(text, spot, 2.2, is_bold=True, angle_deg=90.0)


def _is_end_of_job(stretch: Stretch) -> bool:
    """Whether the job ends where the picture does, and retakes begin behind it."""
    end = stretch.sheet.job_end_mm
    is_last = end is not None and all(
        b.is_retake or b.rectangle[2] <= stretch.span[1] + 1.0 for b in stretch.sequence.blanks
    )
    return is_last and not stretch.is_for_retakes


def _measure(art: Picture, start: Point, end: Point) -> None:
    """Draw a dimension line with a stop at each end."""
    unit, line = 0.7 * art.unit, LineString([start, end])
    is_level = start[1] == end[1]
    stops: list[Segment] = []
    for x, y in (start, end):
        dx, dy = (0.0, unit) if is_level else (unit, 0.0)
        stops.append(((x - dx, y - dy), (x + dx, y + dy)))
    for one in (line, *map(LineString, stops)):
        art.page.line(one, SOFT, 0.15)

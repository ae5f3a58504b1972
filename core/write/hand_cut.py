"""How a sheet is cut by hand, on one page: blanks with their sizes, cuts with their positions.

For someone with a knife and a straight edge. The order of the cuts is that of
``core/roll/cut_sequence.py``; here it is drawn, and said.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import LineString, Polygon, box

from core.document.job import BlankCut, Job, Units
from core.plan.model import JobPlan
from core.progress import Progress, watched
from core.roll.cut_sequence import Blank, CutSequence, Knife, KnifeCut, cut_sequence
from core.roll.model import RollPlan, Sheet, SheetPlan
from core.units import format_length
from core.write.bench_plan import sheet_name
from core.write.cut_sheets import sheet_frame
from core.write.drawing import Drawing
from core.write.inks import DARK, LIGHT
from core.write.labels import BlockSize, LabelSpot, block_box, fit_block
from core.write.measures import size_text
from core.write.page import FAINT, SOFT, Page, shortened, wrapped
from core.write.papers import MARGIN_MM, Paper, on_its_side
from core.write.pdf import drawings_to_pdf
from core.write.placed import Placed, put_together
from core.write.typeface import text_width_mm
from core.write.wording import BLANK_CUT_WORDS, joined

LAY_FOR_IT = "Lay for cutting by hand"
"""What the window calls the way out where straight cuts do not part all pieces."""
_CUT = "#b3121d"
_DASHES: dict[Knife, tuple[float, ...]] = {Knife.CROSS_CUT: (), Knife.SLIT: (1.8, 0.7)}
_UNIT_MM = 2.4
"""A unit of the picture on paper."""
_ROW_MM, _LEAST_ROW_MM = 4.8, 2.4
_COLUMNS = 3
_PICTURE_SHARE = 0.6
"""How much of the page's height the picture takes at most."""


@dataclass(frozen=True, slots=True)
class _Scene:
    """One sheet that is to be cut, with what is said of it."""

    sheet: SheetPlan
    sequence: CutSequence
    title: str
    job: Job

    @property
    def units(self) -> Units:
        return self.job.units


def hand_cut_pages(
    plan: JobPlan,
    rolls: RollPlan,
    paper: Paper = Paper.A4,
    progress: Progress | None = None,
) -> tuple[Drawing, ...]:
    """Return a page for each sheet on which something lies; Cancelled when it was stopped."""
    pages = []
    used = [
        (film, i, s) for film in rolls.films for i, s in enumerate(film.sheets) if s.placements
    ]
    for film, i, sheet in watched(used, "sheet", progress):
        title = f"{plan.job.film(film.film).name}, {sheet_name(film, i)}"
        scene = _Scene(sheet, cut_sequence(sheet), title, plan.job)
        pages.append(_page(scene, paper))
    return tuple(pages)


def may_be_parted(job: Job, rolls: RollPlan) -> bool:
    """Say whether a layout for cutting by hand would part pieces that this one does not."""
    if job.settings.blank_cut is BlankCut.ALL_STRAIGHT:
        return False
    return any(cut_sequence(sheet).stuck for film in rolls.films for sheet in film.sheets)


def hand_cut_pdf(pages: tuple[Drawing, ...], progress: Progress | None = None) -> bytes:
    """Return pages of hand cutting as a PDF."""
    return drawings_to_pdf("Hand cutting", pages, progress)


def cut_words(cut: KnifeCut, sheet: SheetPlan, units: Units) -> str:
    """Return a cut in words: "Part 2: trim with a slit at 620 mm, frees Lid 1"."""
    part = f"Part {cut.part}" if cut.part else sheet.sheet.kind.capitalize()
    knife = f"trim with a {cut.knife.value}" if cut.is_trim else cut.knife.value
    text = f"{part}: {knife} at {format_length(cut.at_mm, units)}"
    return f"{text}, frees {joined(cut.frees)}" if cut.frees else text


def _page(scene: _Scene, paper: Paper) -> Drawing:
    sheet = on_its_side(paper)
    x0, y0, x1, y1 = sheet.window
    y0 = MARGIN_MM
    page = Page(1.0)
    y = y1 - 5.0
    page.text(shortened(scene.title, 4.5, x1 - x0, is_bold=True), (x0, y), 4.5, is_bold=True)
    y -= 6.0
    note = (
        "Cut with a knife and a straight edge, in this order. A cross-cut runs across the roll "
        "and is measured from the left end of the part in hand; a slit runs along it and is "
        "measured from its lower edge."
    )
    for line in wrapped(f"{scene.job.name}. {note}", 2.2, x1 - x0):
        page.text(line, (x0, y), 2.2, colour=SOFT)
        y -= 4.2
    top, room = y - 1.0, (y - y0) * _PICTURE_SHARE
    picture = _picture(scene, (x1 - x0, room))
    px0, py0, px1, py1 = picture.extent
    scale = min((x1 - x0) / (px1 - px0), room / (py1 - py0))
    y = top - scale * (py1 - py0)
    _list_cuts(page, scene, (x0, y0, x1, y - 4.0))
    size = (sheet.width_mm, sheet.height_mm)
    drawn = page.drawing(scene.title, (0.0, 0.0, *size))
    return put_together(scene.title, size, (Placed(picture, (x0, y), scale), Placed(drawn)))


def _list_cuts(page: Page, scene: _Scene, room: tuple[float, float, float, float]) -> None:
    """Write the cuts in columns, as large as lets all stand on the page."""
    x0, y0, x1, y1 = room
    rows = [
        (str(c.number), cut_words(c, scene.sheet, scene.units)) for c in scene.sequence.cuts
    ]
    rows += [("!", text) for text in _stuck_words(scene)]
    if not rows:
        rows = [("", "No cut is needed.")]
    columns = _COLUMNS
    while True:
        wide = (x1 - x0) / columns
        row_mm = min(_ROW_MM, (y1 - y0) / max(1, -(-_lines(rows, 2.2, wide) // columns) + 1))
        if row_mm >= _LEAST_ROW_MM or columns >= 6:
            break
        columns += 1
    height = min(2.2, row_mm * 0.55)
    x, y = x0, y1
    for number, text in rows:
        lines = wrapped(text, height, wide - 9.0)
        if y - len(lines) * row_mm < y0 and y < y1:
            x, y = x + wide, y1
        page.text(number, (x + 5.0, y - row_mm * 0.8), height, anchor="end", is_bold=True)
        for line in lines:
            y -= row_mm
            page.text(line, (x + 6.5, y + row_mm * 0.2), height)


def _lines(rows: list[tuple[str, str]], height: float, wide: float) -> int:
    return sum(len(wrapped(text, height, wide - 9.0)) for _, text in rows)


def _stuck_words(scene: _Scene) -> Iterator[str]:
    way_out = "or lay them anew."
    if scene.job.settings.blank_cut is not BlankCut.ALL_STRAIGHT:
        choice = BLANK_CUT_WORDS[BlankCut.ALL_STRAIGHT]
        way_out = (
            f"or have the rolls laid for it: “{LAY_FOR_IT}” in Hand out, or “Blanks are cut: "
            f"{choice}” in the job settings."
        )
    for group in scene.sequence.stuck:
        labels = [b.label for b in group]
        yield (
            f"{joined(labels)} cannot be parted by cuts from edge to edge: cut round one of "
            f"them, stopping at its corners, {way_out}"
        )


def _picture(scene: _Scene, room_mm: tuple[float, float]) -> Drawing:
    """Return the sheet with its blanks and numbered cuts, texts sized for their place."""
    frame = sheet_frame(scene.sheet)
    fx0, fy0, fx1, fy1 = frame.bounds
    end = max(
        [fx1, *(cut.end[0] for cut in scene.sequence.cuts if cut.knife is Knife.CROSS_CUT)]
    )
    scale = min(room_mm[0] / (end - fx0 + 60), room_mm[1] / (fy1 - fy0)) * 0.86
    page = Page(_UNIT_MM / scale)
    unit = page.unit
    film = scene.sheet.sheet.outline or box(fx0, fy0, end, fy1)
    page.area(film, "#f4f3ef")
    _damage(page, scene.sheet.sheet, film)
    for blank in scene.sequence.blanks:
        page.area(box(*blank.rectangle), "#dfe4e4")
        page.frame(box(*blank.rectangle), DARK, 0.12)
    page.frame(film, DARK, 0.16)
    for cut in reversed(scene.sequence.cuts):
        start, stop = cut.start, (min(cut.end[0], end), cut.end[1])
        page.line(LineString([start, stop]), _CUT, 0.26, _DASHES[cut.knife])
    for blank in scene.sequence.blanks:
        _label_blank(page, blank, scene.units)
    _name_parts(page, scene.sequence, fy1)
    taken: list[tuple[float, float]] = []
    for cut in scene.sequence.cuts:
        taken.append(_number_cut(page, cut, end, taken))
    size = format_length(scene.sheet.sheet.width_mm, scene.units)
    at = (fx0 - 0.8 * unit, (fy0 + fy1) / 2)
    page.text(size, at, 0.8, anchor="middle", colour=SOFT, angle_deg=90.0)
    extent = (fx0 - 2.2 * unit, fy0 - 0.5 * unit, end + 0.8 * unit, fy1 + 2.8 * unit)
    return replace(page.drawing(scene.title, extent), background=None)


def _name_parts(page: Page, sequence: CutSequence, top: float) -> None:
    """Name the parts that are cut on: the first above the sheet, others in their corner."""
    unit = page.unit
    areas = dict(sequence.parts)
    for name, (x0, _, _, y1) in sequence.parts:
        at = (x0 + 0.4 * unit, y1 - 1.1 * unit)
        if "." not in name:
            at = (x0 + 1.5 * unit, top + 0.6 * unit)
        elif name.count(".") > 1:
            left, _, _, upper = areas[name.rpartition(".")[0]]
            if x0 - left < 4.2 * unit and upper - y1 < 1.5 * unit:  # beside its name
                at = (left + 4.6 * unit, at[1])
        page.text(f"part {name}", at, 0.7, colour=_CUT)


def _damage(page: Page, sheet: Sheet, film: Polygon) -> None:
    """Strike out what of the film is damaged."""
    for part in shapely.get_parts([p.intersection(film) for p in sheet.blocked]):
        if isinstance(part, Polygon):
            x0, y0, x1, y1 = part.bounds
            page.area(part, "#dcd8ce")
            page.line(LineString([(x0, y0), (x1, y1)]), SOFT, 0.12)
            page.line(LineString([(x0, y1), (x1, y0)]), SOFT, 0.12)


def _number_cut(
    page: Page, cut: KnifeCut, end: float, taken: Sequence[tuple[float, float]]
) -> tuple[float, float]:
    """Put a cut's number on it: cross-cuts at the upper end, slits at the right.

    It moves along the cut where others' numbers lie already, and is returned.
    """
    unit = page.unit
    if cut.knife is Knife.CROSS_CUT:
        x, y = cut.start[0], cut.end[1] + (1.3 * unit if not cut.part else -2.4 * unit)
    else:
        x, y = min(cut.end[0], end) - 2.0 * unit, cut.start[1]
    axis, least = int(cut.knife is Knife.CROSS_CUT), cut.start
    while any(math.dist((x, y), other) < 2.1 * unit for other in taken):
        moved = (x - 2.2 * unit, y) if axis == 0 else (x, y - 2.2 * unit)
        if moved[axis] < least[axis] + unit:
            break
        x, y = moved
    page.disc((x, y), 1.05 * unit, page.look(LIGHT, _CUT, 0.16))
    height = 0.85 if cut.number < 100 else 0.6
    at = (x, y - height * unit / 2)
    page.text(str(cut.number), at, height, anchor="middle", colour=_CUT, is_bold=True)
    return x, y


def _label_blank(page: Page, blank: Blank, units: Units) -> None:
    """Write a blank's name and size into it, as large as fits."""
    x0, y0, x1, y1 = blank.rectangle
    lines = [blank.label, size_text(x1 - x0, y1 - y0, units)]
    width = max(text_width_mm(line, 1.0, is_bold=True) for line in lines)
    block = BlockSize(width + 0.8, 3.6)
    inner = box(x0, y0, x1, y1)
    spot = fit_block(inner, block, 0.4 * page.unit, 1.0 * page.unit)
    if spot is None:
        spot = LabelSpot(((x0 + x1) / 2, (y0 + y1) / 2), 0.0, 0.4 * page.unit)
        page.area(block_box(block, spot), FAINT)
    height = spot.height_mm / page.unit
    for k, line in enumerate(lines):
        rise = (0.4 - 1.75 * k) * spot.height_mm
        along = spot.angle_deg > 45.0
        at = (
            spot.centre[0] - (rise if along else 0.0),
            spot.centre[1] + (0 if along else rise),
        )
        page.text(
            line, at, height, anchor="middle", is_bold=k == 0, angle_deg=90.0 if along else 0.0
        )

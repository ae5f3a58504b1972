"""A picture of one film's rolls and offcuts: what lies where, what is waste or missing."""

import math
from dataclasses import dataclass, replace

import shapely
from shapely import LineString, Polygon
from shapely.affinity import translate

from core.document.film import Film, Grain
from core.document.job import Job, Units
from core.progress import Part, Progress, Silent, stop_if_cancelled, watched
from core.roll.model import FilmRolls, Placement, SheetPlan
from core.roll.wording import length_on_hand, length_to_buy, told_mm
from core.write.cut_sheets import sheet_frame
from core.write.drawing import Drawing, Look, Shape
from core.write.hatching import hatch_lines
from core.write.inks import DARK, contrast, ink_on, mix
from core.write.label_room import roomy_point
from core.write.labels import BlockSize, LabelSpot, fit_block
from core.write.measures import about_text
from core.write.page import PAPER, PICTURE, SOFT, Page, shortened, wrapped
from core.write.piece_marks import arrow_shape
from core.write.typeface import text_width_mm
from core.write.wording import counted

_WARN = "#9a3412"
_LEAST, _MOST = 0.5, 0.95
"""Smallest and largest height of a piece's label, in units."""
_LEFT = 3.0
"""Room for the width's dimension, left of a sheet."""


@dataclass(frozen=True, slots=True)
class _SheetArt:
    """A sheet to be painted, its lower left corner on the page at ``at``."""

    plan: SheetPlan
    film: Film
    units: Units
    at: tuple[float, float]

    @property
    def frame(self) -> Polygon:
        return translate(sheet_frame(self.plan), *self.at)


def roll_drawing(
    rolls: FilmRolls, job: Job, progress: Progress | None = None, *, text_scale: float = 1.0
) -> Drawing:
    """Return the picture of a film's sheets, one above the other, all to one scale.

    Args:
        rolls: the film's sheets.
        job: the job.
        progress: is told of the pieces of each sheet, and may cancel.
        text_scale: makes texts and lines larger, for a picture that is made smaller on a page.

    Raises:
        Cancelled: when it was stopped.
    """
    film = job.film(rolls.film)
    sheets = [sheet for sheet in rolls.sheets if sheet.placements]
    frames = [sheet_frame(sheet).bounds for sheet in sheets]
    longest = max((f[2] for f in frames), default=1000.0)
    tallest = max((f[3] for f in frames), default=500.0)
    unit = max(longest, 1.1 * tallest) / 100 * text_scale
    page = Page(unit)
    width = max(longest + _LEFT * unit, 60 * unit)
    y = _draw_title(page, rolls, job, width)
    for i, sheet in enumerate(sheets):
        part = Part(progress or Silent(), "", i / len(sheets), (i + 1) / len(sheets))
        stop_if_cancelled(part)
        size = sheet_frame(sheet).bounds
        at = (_LEFT * unit, y - 6.0 * unit - size[3])
        art = _SheetArt(sheet, film, job.units, at)
        _paint_sheet(page, art, y)
        keyed = _paint_labels(page, art, part)
        y = _draw_key(page, keyed, _mark_job_end(page, art), width) - 2.0 * unit
    for missing in rolls.missing:
        for line in wrapped(missing.text, 0.9 * unit, width):
            page.text(line, (0.0, y), 0.9, colour=_WARN)
            y -= 1.8 * unit
        y -= 0.4 * unit
    margin = 3 * unit
    return page.drawing(f"{job.name}: {film.name}", (-margin, y - 1, width + margin, margin))


def _draw_title(page: Page, rolls: FilmRolls, job: Job, width: float) -> float:
    unit, film = page.unit, job.film(rolls.film)
    swatch = page.look(film.colour, mix(film.colour, DARK, 0.45), 0.1)
    page.rect((0.0, -3.9 * unit), (3.9 * unit, 3.9 * unit), swatch)
    left = 5.0 * unit
    name = shortened(film.name, 1.6 * unit, width - left, is_bold=True)
    page.text(name, (left, -1.6 * unit), 1.6, is_bold=True)
    pieces = counted(sum(len(s.placements) for s in rolls.sheets), "piece")
    used = length_to_buy(told_mm(rolls.used_lengths_mm, job.units), job.units)
    line = f"{job.name}  ·  {pieces}  ·  {used} of roll"
    page.text(shortened(line, unit, width - left), (left, -3.9 * unit), 1.0, colour=SOFT)
    return -6.8 * unit


def _paint_sheet(page: Page, art: _SheetArt, top: float) -> None:
    """Draw caption, ruler, the sheet with its waste, and the pieces on it."""
    _draw_caption(page, art, top)
    _draw_ruler(page, art)
    frame = art.frame
    ground = mix(art.film.colour, PAPER, 0.82)
    page.area(frame, ground)
    pieces = [_on_page(p, art) for p in art.plan.placements]
    waste = shapely.difference(frame, shapely.union_all(pieces))
    page.line(hatch_lines(waste, 0.9 * page.unit, -45.0), mix(ground, DARK, 0.16), 0.06)
    _draw_usable(page, art)
    edge = DARK if contrast(art.film.colour, PAPER) < 3 else mix(art.film.colour, PAPER, 0.65)
    for placement, polygon in zip(art.plan.placements, pieces, strict=True):
        page.area(polygon, art.film.colour, source=str(placement.item.piece))
        page.frame(polygon, edge, 0.12)
        for line in placement.inner_cuts:
            page.line(translate(line, *art.at), edge, 0.12)
    page.frame(frame, DARK, 0.16)


def _draw_usable(page: Page, art: _SheetArt) -> None:
    """Dash the lines along the roll outside which nothing may lie."""
    x0, y0, x1, y1 = art.frame.bounds
    margin = art.plan.sheet.margin_mm
    if margin > 0:
        for y in (y0 + margin, y1 - margin):
            page.line(LineString([(x0, y), (x1, y)]), SOFT, 0.07, (0.7, 0.5))


def _mark_job_end(page: Page, art: _SheetArt) -> float:
    """Draw where the job ends and retakes begin; return where to go on below the sheet."""
    unit, end = page.unit, art.plan.job_end_mm
    x0, y0, _, y1 = art.frame.bounds
    if end is None:
        return y0 - 1.6 * unit
    x = x0 + end
    page.line(LineString([(x, y0 - 0.6 * unit), (x, y1)]), _WARN, 0.3)
    anchor = "end" if end > 14 * unit else "start"
    text = "the job ends here"
    page.text(text, (x, y0 - 1.6 * unit), 0.75, anchor=anchor, colour=_WARN, is_bold=True)
    return y0 - 3.0 * unit


def _draw_caption(page: Page, art: _SheetArt, top: float) -> None:
    unit, sheet, units = page.unit, art.plan.sheet, art.units
    used = length_to_buy(art.plan.used_length_mm, units)
    if sheet.length_mm is None:
        name, parts = "To buy", [used]
    else:
        name = f"{sheet.kind.capitalize()} {sheet.id}"
        parts = [f"{used} used of {length_on_hand(sheet.length_mm, units)}"]
    parts += [f"{100 * art.plan.utilisation:.0f} % of that is pieces"]
    x = _LEFT * unit
    x += page.text(name, (x, top - unit), 1.0, is_bold=True) + 1.2 * unit
    x += page.text("  ·  ".join(parts), (x, top - unit), 0.85, colour=SOFT) + 3.5 * unit
    _draw_grain(page, art.film.grain, (x, top - 0.6 * unit))


def _draw_grain(page: Page, grain: Grain, at: tuple[float, float]) -> None:
    if grain is Grain.NONE:
        return
    unit = page.unit
    turns = {
        Grain.ONE_WAY: (0,),
        Grain.TWO_WAY: (0, 180),
        Grain.QUARTER_TURN: (0, 90, 180, 270),
    }
    look = Look(stroke=SOFT, width_mm=0.16 * unit, is_round=True)
    for turn in turns[grain]:
        arrow = arrow_shape(PICTURE.name, at, 2.6 * unit, turn)
        page.shapes.append(Shape(PICTURE.name, arrow.runs, "", look))
    words = {
        Grain.ONE_WAY: "flow of every piece",
        Grain.TWO_WAY: "flow of every piece, either way",
        Grain.QUARTER_TURN: "flow of every piece, in quarter turns",
    }
    page.text(words[grain], (at[0] + 2.2 * unit, at[1] - 0.4 * unit), 0.8, colour=SOFT)


def _draw_ruler(page: Page, art: _SheetArt) -> None:
    """Draw lengths along the top of a sheet and its width along its left end."""
    unit = page.unit
    x0, y0, x1, y1 = art.frame.bounds
    whole, name = (304.8, "ft") if art.units is Units.IN else (1000.0, "m")
    step = next(s for s in (0.1, 0.2, 0.5, 1, 2, 5, 10, 1e9) if s * whole >= 6 * unit)
    y = y1 + 0.5 * unit
    page.line(LineString([(x0, y), (x1, y)]), SOFT, 0.08)
    fine = step / (4 if step in (0.2, 2) else 5)
    for i in range(int((x1 - x0) / (fine * whole) + 1e-9) + 1):
        x = x0 + i * fine * whole
        is_main = i % round(step / fine) == 0
        page.polyline([(x, y), (x, y + (0.9 if is_main else 0.45) * unit)], SOFT, 0.08)
        if is_main:
            number = f"{i * fine:.10g}"
            text = f"{number} {name}" if i else number
            page.text(text, (x, y + 1.3 * unit), 0.75, anchor="middle", colour=SOFT)
    middle = (x0 - 1.2 * unit, (y0 + y1) / 2)
    width = about_text(art.plan.sheet.width_mm, art.units)
    page.text(width, middle, 0.75, anchor="middle", colour=SOFT, angle_deg=90.0)


def _on_page(placement: Placement, art: _SheetArt) -> Polygon:
    return translate(placement.polygon, *art.at)


def _paint_labels(page: Page, art: _SheetArt, progress: Progress) -> list[tuple[str, str]]:
    """Label the pieces; return the numbers given to those too small for their label."""
    ink = ink_on(art.film.colour)
    keyed: list[tuple[str, str]] = []
    for placement in watched(art.plan.placements, "piece", progress):
        label = _label_of(placement)
        words = label.rsplit(" ", 1)
        for lines in ([label], words) if len(words) > 1 else ([label],):
            if _set_inside(page, art, placement, lines, ink):
                break
        else:
            number = chr(ord("a") + len(keyed) % 26) * (1 + len(keyed) // 26)
            keyed.append((number, label))
            if not _set_inside(page, art, placement, [number], ink):
                x, y = roomy_point(placement.polygon)
                at = (x + art.at[0], y + art.at[1])
                page.disc(at, 0.75 * page.unit, page.look(PAPER, DARK, 0.08))
                _set_lines(page, [number], LabelSpot(at, 0.0, 0.6 * page.unit), DARK)
    return keyed


def _label_of(placement: Placement) -> str:
    attempt = placement.item.attempt
    return placement.item.label + (f", retake {attempt - 1}" if attempt > 1 else "")


def _set_inside(
    page: Page, art: _SheetArt, placement: Placement, lines: list[str], ink: str
) -> bool:
    """Set lines in a piece where they fit, and return whether they do.

    Room is looked for where the piece lies on its sheet, as it is known from other pictures.
    """
    width = max(text_width_mm(line, 1.0) for line in lines)
    block = BlockSize(width + 0.6, 1.7 * len(lines) + 0.1)
    spot = fit_block(placement.polygon, block, _LEAST * page.unit, _MOST * page.unit)
    if spot is None:
        return False
    at = (spot.centre[0] + art.at[0], spot.centre[1] + art.at[1])
    _set_lines(page, lines, replace(spot, centre=at), ink)
    return True


def _set_lines(page: Page, lines: list[str], spot: LabelSpot, ink: str) -> None:
    angle, height = math.radians(spot.angle_deg), spot.height_mm
    up = (-math.sin(angle), math.cos(angle))
    for i, line in enumerate(lines):
        rise = ((len(lines) - 1) / 2 - i) * 1.7 * height - height / 2
        page.text(
            line,
            (spot.centre[0] + up[0] * rise, spot.centre[1] + up[1] * rise),
            height / page.unit,
            anchor="middle",
            colour=ink,
            angle_deg=spot.angle_deg,
        )


def _draw_key(page: Page, keyed: list[tuple[str, str]], y: float, width: float) -> float:
    """Write what the letters on small pieces stand for; return where to go on."""
    unit, x = page.unit, _LEFT * page.unit
    for letter, label in keyed:
        wide = text_width_mm(f"{letter}  {label}", 0.75 * unit) + 2.2 * unit
        if x > _LEFT * unit and x + wide > width:
            x, y = _LEFT * unit, y - 1.7 * unit
        page.text(letter, (x, y - 0.4 * unit), 0.75, is_bold=True)
        page.text(label, (x + 1.4 * unit, y - 0.4 * unit), 0.75, colour=SOFT)
        x += wide
    return y - (1.6 * unit if keyed else 0.0)

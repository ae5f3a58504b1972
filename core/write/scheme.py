"""The scheme: panels with their films, laps and lay order on one page.

Panels that are alike (several of one count) are shown once, with how many there are; a pair is
shown as two. All stand on the page to one scale, in rows, with a legend beneath.
"""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
from shapely import Polygon

from core.document.job import Job
from core.document.lines import SeamCut
from core.errors import InputError
from core.plan.model import JobPlan, PanelPlan
from core.progress import Progress, watched
from core.units import format_length
from core.write.drawing import Drawing
from core.write.film_patterns import FilmPattern
from core.write.measures import size_text
from core.write.page import SOFT, Page, draw_scale_bar, round_length_mm, shortened
from core.write.scheme_legend import draw_films, draw_signs, films_seen
from core.write.scheme_panel import PanelArt, paint_flow, paint_panel
from core.write.scheme_sizes import paint_size, panel_sizes
from core.write.typeface import text_width_mm
from core.write.wording import counted

_ASPECT = 1.5
_CAPTION, _DETAIL = 0.95, 0.75
_MOST_TRIES = 200
"""Widths that are tried for the rows, about: enough for all of some twenty panels."""
_ON_A_PAGE = 1.35
"""How much larger a unit is in a picture that is made smaller on a page."""
_HAIR_MM = 1e-6
"""What is lost in reckoning: a row that is wider by this still fits."""
_HEAD = 3.6
"""Height of a panel's caption, in units."""


@dataclass(frozen=True, slots=True)
class _Cell:
    """One panel with its caption, as large as both need."""

    plan: PanelPlan
    caption: str
    detail: str
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class _Easel:
    """What a scheme is drawn on and from."""

    page: Page
    plan: JobPlan
    width: float
    patterns: Mapping[str, FilmPattern] | None
    progress: Progress | None


def find_panels(plan: JobPlan, wanted: str) -> tuple[PanelPlan, ...]:
    """Return the panels that an id or a name means: one copy, or all copies of a panel.

    Raises:
        InputError: when there is none.
    """
    by_copy = [p for p in plan.panels if p.id == wanted]
    by_panel = [p for p in plan.panels if wanted in (p.of, p.name, plan.job.panel(p.of).name)]
    found = tuple(by_copy or by_panel)
    if not found:
        known = ", ".join(p.id for p in plan.panels)
        raise InputError(f"There is no panel {wanted}.", mend=f"The job has {known}.")
    return found


def distinct_panels(panels: Sequence[PanelPlan]) -> list[tuple[PanelPlan, int]]:
    """Return one panel of each kind with how many there are; left and right are two kinds."""
    kinds: dict[tuple[str, bool], list[PanelPlan]] = {}
    for panel in panels:
        kinds.setdefault((panel.of, panel.is_mirrored), []).append(panel)
    return [(alike[0], len(alike)) for alike in kinds.values()]


def scheme_drawing(
    plan: JobPlan,
    panels: Collection[str] | None = None,
    patterns: Mapping[str, FilmPattern] | None = None,
    progress: Progress | None = None,
) -> Drawing:
    """Return the scheme of some panels, or of all.

    Args:
        plan: the plan.
        panels: ids of copies; None takes all.
        patterns: signs spread over the films, for prints without colour; the picture is then
            made for a page on which it is not true to size.
        progress: is told of each panel, and may cancel.

    Raises:
        Cancelled: when it was stopped.
    """
    shown = [p for p in plan.panels if panels is None or p.id in panels]
    kinds = distinct_panels(shown)
    unit = _unit(kinds) * (1.0 if patterns is None else _ON_A_PAGE)
    page = Page(unit)
    cells = [_cell(plan.job, panel, count, unit) for panel, count in kinds]
    rows = _rows(cells, unit)
    width = max([_row_width(row, unit) for row in rows] + [62 * unit])
    easel = _Easel(page, plan, width, patterns, progress)
    y = _draw_title(page, plan, shown, width)
    steps = watched([cell for row in rows for cell in row], "panel", progress)
    for row in rows:
        y = _draw_row(easel, row, y, steps)
    y = _draw_foot(easel, shown, y)
    margin = 3 * unit
    extent = (-margin, y - margin, width + margin, margin)
    return page.drawing(f"{plan.job.name}: {plan.variant.name}", extent)


def _unit(kinds: Sequence[tuple[PanelPlan, int]]) -> float:
    """Return the page's unit, about a hundredth of the width that the panels will take."""
    sizes = [_bounds(panel.extended) for panel, _ in kinds]
    area = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in sizes)
    widest = max((x1 - x0 for x0, _, x1, _ in sizes), default=100.0)
    return max(math.sqrt(area * _ASPECT * 1.5), widest, 50.0) / 100


def _bounds(polygon: Polygon) -> tuple[float, float, float, float]:
    """Return the bounds; all 0 for a panel whose outline is not usable."""
    return (0.0, 0.0, 0.0, 0.0) if polygon.is_empty else polygon.bounds


def _cell(job: Job, panel: PanelPlan, count: int, unit: float) -> _Cell:
    caption = job.panel(panel.of).name + (f", {panel.side}" if panel.side else "")
    caption += f"  × {count}" if count > 1 else ""
    x0, y0, x1, y1 = _bounds(panel.outline)
    pieces = counted(len(panel.pieces), "piece")
    size = size_text(x1 - x0, y1 - y0, job.units)
    detail = "no plan: see the findings" if panel.outline.is_empty else f"{size} · {pieces}"
    ex0, ey0, ex1, ey1 = _bounds(panel.extended)
    flow = 0.0 if job.panel(panel.of).flow_deg is None else 8.5
    texts = max(
        text_width_mm(caption, _CAPTION * unit, is_bold=True) + flow * unit,
        text_width_mm(detail, _DETAIL * unit),
    )
    return _Cell(panel, caption, detail, max(ex1 - ex0, texts), ey1 - ey0 + _HEAD * unit)


def _gap(unit: float) -> float:
    return 4.0 * unit


def _blocks(cells: Sequence[_Cell]) -> list[list[_Cell]]:
    """Return the cells with those of one pair together, tall ones first when there are many."""
    pairs: dict[str, list[_Cell]] = {}
    for cell in cells:
        pairs.setdefault(cell.plan.of, []).append(cell)
    if len(pairs) == 1:
        return [[cell] for cell in cells]
    blocks = list(pairs.values())
    if len(blocks) > 3:
        blocks.sort(key=lambda block: -round(block[0].height, 3))
    return blocks


def _rows(cells: Sequence[_Cell], unit: float) -> list[list[_Cell]]:
    """Return the cells in rows, as wide as makes the page's shape best."""
    blocks = _blocks(cells)
    gap = _gap(unit)
    # Block by block how far they reach, each with a gap behind it, laid in one row.
    reach = np.cumsum([0.0] + [_row_width(block, unit) + gap for block in blocks])
    spans = (reach[None, :] - reach[:, None])[np.triu_indices(len(reach), 1)] - gap
    least = max((cell.width for cell in cells), default=0.0)
    wanted = np.unique(np.ceil(np.round(spans / unit, 6))) * unit
    widths = wanted[wanted >= least].tolist()
    step = max(1, len(widths) // _MOST_TRIES)
    candidates = [_rows_within(blocks, unit, w) for w in widths[::step]]
    return min(candidates, key=lambda rows: _shape_fault(rows, unit), default=[])


def _rows_within(blocks: list[list[_Cell]], unit: float, most: float) -> list[list[_Cell]]:
    """Fill rows up to a width; a pair that is wider than that by itself is parted."""
    rows: list[list[_Cell]] = []
    gap, width = _gap(unit), math.inf
    for block in blocks:
        parts = [block] if _row_width(block, unit) <= most else [[cell] for cell in block]
        for part in parts:
            more = _row_width(part, unit)
            if width + gap + more <= most + _HAIR_MM:
                rows[-1].extend(part)
                width += gap + more
            else:
                rows.append(list(part))
                width = more
    return rows


def _shape_fault(rows: list[list[_Cell]], unit: float) -> float:
    """Return how far rows are from the page's wanted shape and from filling it."""
    widths = [_row_width(row, unit) for row in rows]
    width = max(widths)
    height = sum(max(cell.height for cell in row) + _gap(unit) for row in rows) + 18 * unit
    empty = 1 - sum(widths) / (width * len(rows))
    return abs(math.log(width / height / _ASPECT)) + empty


def _row_width(row: Sequence[_Cell], unit: float) -> float:
    return sum([cell.width for cell in row]) + _gap(unit) * (len(row) - 1)


def _draw_title(page: Page, plan: JobPlan, panels: Sequence[PanelPlan], width: float) -> float:
    """Draw the title lines from y = 0 downwards; return where the panels may start."""
    unit = page.unit
    title = shortened(plan.job.name, 1.7 * unit, width, is_bold=True)
    page.text(title, (0.0, -1.7 * unit), 1.7, is_bold=True)
    pieces = sum(len(p.pieces) for p in panels)
    films = len(films_seen(plan, panels))
    parts = [
        plan.variant.name,
        counted(len(panels), "panel"),
        counted(pieces, "piece"),
        counted(films, "film"),
    ]
    line = shortened("  ·  ".join(p for p in parts if p), unit, width)
    page.text(line, (0.0, -4.2 * unit), 1.0, colour=SOFT)
    return -6.6 * unit


def _draw_row(easel: _Easel, row: list[_Cell], top: float, steps: Iterator[_Cell]) -> float:
    """Draw a row of panels beneath ``top``; return where the next one starts.

    Its panels are taken from ``steps``, which tells of each.
    """
    page, plan, job = easel.page, easel.plan, easel.plan.job
    unit, signs = page.unit, easel.patterns or {}
    spare = easel.width - _row_width(row, unit)
    is_full = len(row) > 1 and spare < 0.2 * easel.width
    gap = _gap(unit) + (spare / (len(row) - 1) if is_full else 0.0)
    x = 0.0
    films = {film.id: film for film in job.films}
    for cell in islice(steps, len(row)):
        _draw_caption(page, job, cell, (x, top))
        x0, _, _, y1 = _bounds(cell.plan.extended)
        at = (x - x0, top - _HEAD * unit - y1)
        art = PanelArt(cell.plan, job.panel(cell.plan.of), films, at, signs)
        paint_panel(page, art, easel.progress)
        for size in panel_sizes(job, plan.variant.id, cell.plan.of):
            paint_size(page, size, at, is_mirrored=cell.plan.is_mirrored)
        x += cell.width + gap
    return top - max(cell.height for cell in row) - _gap(unit)


def _draw_caption(page: Page, job: Job, cell: _Cell, corner: tuple[float, float]) -> None:
    x, top = corner
    unit = page.unit
    page.text(cell.caption, (x, top - _CAPTION * unit), _CAPTION, is_bold=True)
    page.text(cell.detail, (x, top - 2.5 * unit), _DETAIL, colour=SOFT)
    art = PanelArt(cell.plan, job.panel(cell.plan.of), {}, (0.0, 0.0))
    if art.flow_deg is not None:
        after = x + text_width_mm(cell.caption, _CAPTION * unit, is_bold=True)
        paint_flow(page, (after + 2.4 * unit, top - 0.35 * unit), art.flow_deg)
        page.text("flow", (after + 4.5 * unit, top - _CAPTION * unit), 0.7, colour=SOFT)


def _draw_foot(easel: _Easel, panels: Sequence[PanelPlan], y: float) -> float:
    """Draw legend and scale bar; return the lower end."""
    page, plan, width = easel.page, easel.plan, easel.width
    unit = page.unit
    page.polyline([(0.0, y + unit), (width, y + unit)], SOFT, 0.06)
    y = draw_films(page, plan, panels, (y - 0.6 * unit, width), easel.patterns or {})
    cuts = {s.cut for p in panels for s in p.stretches}
    y = draw_signs(page, _signs(plan.job, panels, cuts), (y - 0.4 * unit, width))
    length = format_length(round_length_mm(18 * unit, plan.job.units), plan.job.units)
    draw_scale_bar(page, (0.0, y - 1.6 * unit), 18 * unit, plan.job.units, length)
    if easel.patterns is None:
        note = "true to size when printed at 100 %"
        page.text(note, (width, y - 1.7 * unit), 0.75, anchor="end", colour=SOFT)
    return y - 2.0 * unit


def _signs(job: Job, panels: Sequence[PanelPlan], cuts: Collection[SeamCut]) -> list[str]:
    """Return the names of the signs that occur on the page."""
    has_turn = any(p.extended.area > p.outline.area + 1 for p in panels)
    laps = any(s.lap_mm > 0 or s.is_full for p in panels for s in p.stretches)
    ticks = any(piece.map_ticks for p in panels for piece in p.pieces)
    marks = any(job.panel(p.of).marks for p in panels)
    wanted = {
        "number": bool(panels),
        "seam": SeamCut.PRE_CUT in cuts,
        "tape": SeamCut.CUTTING_TAPE in cuts,
        "butt": SeamCut.BUTT in cuts,
        "relief": any(piece.relief_cuts for p in panels for piece in p.pieces),
        "lap": laps,
        "tick": ticks,
        "turn": has_turn,
        "mark": marks,
    }
    return [name for name, is_there in wanted.items() if is_there]

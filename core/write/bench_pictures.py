"""Pictures for the bench sheet: one panel, large, with what the hands need to know."""

from collections.abc import Sequence

import shapely

from core.plan.model import JobPlan, PanelPlan
from core.plan.relief_words import relief_letters
from core.plan.tape_plan import TapeLength
from core.progress import Progress
from core.units import format_length
from core.write.drawing import Drawing
from core.write.film_patterns import film_patterns
from core.write.inks import DARK, LIGHT
from core.write.page import SOFT, Page
from core.write.scheme_panel import PanelArt, paint_flow, paint_panel
from core.write.typeface import text_width_mm

UNIT_MM = 2.5
"""How large a unit of the page is on paper: sets heights of texts and widths of lines."""
_TAPE = 0.8


def panel_picture(
    plan: JobPlan,
    panel: PanelPlan,
    runs: Sequence[TapeLength],
    room_mm: tuple[float, float],
    progress: Progress | None = None,
) -> Drawing:
    """Return a panel's picture: numbers, laps, tape runs, letters of relief cuts, arrow, marks.

    Args:
        plan: with the films' colours as they are to be printed.
        panel: one copy.
        runs: its cutting tape.
        room_mm: width and height on paper that it will be given.
        progress: may cancel.

    Raises:
        Cancelled: when it was stopped.
    """
    x0, y0, x1, y1 = panel.extended.bounds
    scale = min(room_mm[0] / (x1 - x0), room_mm[1] / (y1 - y0)) * 0.92
    page = Page(UNIT_MM / scale)
    drawn = plan.job.panel(panel.of)
    films = {film.id: film for film in plan.job.films}
    art = PanelArt(panel, drawn, films, (0.0, 0.0), film_patterns(plan.job.films))
    paint_panel(page, art, progress)
    for run in runs:
        _paint_run(page, plan, run)
    _paint_letters(page, panel)
    unit = page.unit
    if art.flow_deg is not None:
        paint_flow(page, (x0 + 1.6 * unit, y1 + 1.5 * unit), art.flow_deg)
        page.text("flow", (x0 + 3.4 * unit, y1 + 1.1 * unit), _TAPE, colour=SOFT)
    rim = 0.4 * unit
    extent = (x0 - rim, y0 - rim, x1 + rim, y1 + 2.8 * unit)
    return page.drawing(panel.name, extent, background=None)


def _paint_run(page: Page, plan: JobPlan, run: TapeLength) -> None:
    """Dash a tape run and write its number and length beside its middle."""
    line = max(shapely.get_parts(shapely.line_merge(run.path)), key=lambda part: part.length)
    page.line(run.path, LIGHT, 0.75)
    page.line(run.path, DARK, 0.4, (1.3, 0.7), source=run.stretch)
    text = f"tape {run.number}: {format_length(run.run_mm, plan.job.units)}"
    _paint_tag(page, text, line.interpolate(0.3, normalized=True))


def _paint_letters(page: Page, panel: PanelPlan) -> None:
    """Write each relief cut's letter on it, where it is told apart from its neighbours'."""
    letters = relief_letters(panel)
    for piece in panel.pieces:
        for cut in piece.relief_cuts:
            at = cut.path.interpolate(0.4, normalized=True)
            _paint_tag(page, letters[cut.line], at, is_bold=True)


def _paint_tag(page: Page, text: str, point: shapely.Point, *, is_bold: bool = False) -> None:
    """Write on a light ground about a point."""
    x, y = float(point.x), float(point.y)
    width = text_width_mm(text, _TAPE * page.unit, is_bold=is_bold)
    pad = 0.5 * page.unit
    corner = (x - width / 2 - pad, y - _TAPE * page.unit / 2 - pad)
    size = (width + 2 * pad, _TAPE * page.unit + 2 * pad)
    page.rect(corner, size, page.look(LIGHT, DARK, 0.08))
    at = (x, y - _TAPE * page.unit / 2)
    page.text(text, at, _TAPE, anchor="middle", is_bold=is_bold)

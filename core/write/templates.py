"""Paper templates: every piece of a panel at true size, over sheets of paper or one long page.

The pieces of one panel make one PDF, in lay order; for each a first page with the map of its
pages and a square to check the printer by, then the pages that hold something of it.
"""

from dataclasses import dataclass

from core.errors import InputError
from core.plan.model import JobPlan, PanelPlan, Piece
from core.progress import Progress, watched
from core.units import format_length
from core.write.crop import cropped
from core.write.drawing import Drawing
from core.write.measures import size_text
from core.write.papers import Paper, sheet_for_window
from core.write.pdf import drawings_to_pdf
from core.write.placed import Placed, put_together
from core.write.scheme import distinct_panels
from core.write.template_art import TemplateArt, panel_art, piece_art
from core.write.template_drawing import template_drawing
from core.write.template_pages import (
    LONG_LEAST_MM,
    LONG_STRIP_MM,
    Heading,
    cover,
    long_overlay,
    tile_overlay,
)
from core.write.tiling import LEAST_OVERLAP_MM, MOST_OVERLAP_MM, OVERLAP_MM, tiled
from core.write.wording import counted, piece_size


@dataclass(frozen=True, slots=True)
class TemplateOptions:
    """How templates are printed.

    Attributes:
        overlap_mm: what neighbouring pages share; crosses stand in its middle.
        has_panel: a template of the whole panel before those of its pieces.

    Raises:
        InputError: the overlap is too narrow for the crosses, or wider than paper bears.
    """

    paper: Paper = Paper.A4
    overlap_mm: float = OVERLAP_MM
    has_panel: bool = False

    def __post_init__(self) -> None:
        if not LEAST_OVERLAP_MM <= self.overlap_mm <= MOST_OVERLAP_MM:
            raise InputError(
                f"Pages cannot share {self.overlap_mm:g} mm.",
                mend=f"Choose {LEAST_OVERLAP_MM:g} to {MOST_OVERLAP_MM:g} mm.",
            )


def panel_kinds(plan: JobPlan) -> list[PanelPlan]:
    """Return one panel of each kind that has pieces: each gets a file of templates."""
    return [panel for panel, _ in distinct_panels(plan.panels) if panel.pieces]


def template_pages(
    plan: JobPlan,
    panel: PanelPlan,
    options: TemplateOptions | None = None,
    progress: Progress | None = None,
) -> tuple[Drawing, ...]:
    """Return the pages of a panel: the whole of it, if wanted, then its pieces in lay order.

    Raises:
        ExportFailed: a piece is longer than one page may be.
        Cancelled: it was stopped.
    """
    chosen = options or TemplateOptions()
    pages: list[Drawing] = []
    if chosen.has_panel:
        pages += _pages(panel_art(plan, panel), _panel_heading(plan, panel), chosen)
    for piece in watched(panel.pieces, "piece", progress):
        art, heading = piece_art(plan, panel, piece), _piece_heading(plan, panel, piece)
        pages += _pages(art, heading, chosen)
    return tuple(pages)


def templates_pdf(pages: tuple[Drawing, ...], progress: Progress | None = None) -> bytes:
    """Return pages of templates as a PDF."""
    return drawings_to_pdf(f"Template: {pages[0].name}", pages, progress)


def _pages(art: TemplateArt, heading: Heading, options: TemplateOptions) -> list[Drawing]:
    """Return the pages of one template."""
    drawing = template_drawing(art)
    if options.paper is Paper.LONG:
        return [_long_page(art, drawing, heading)]
    tiling = tiled(art.cut, drawing.extent, options.paper, options.overlap_mm)
    pages = [cover(tiling, art.cut, heading, art.kinds)]
    sheet = tiling.sheet
    for tile in tiling.tiles:
        shown = Placed(cropped(drawing, tile.window), sheet.window[:2])
        overlay = Placed(tile_overlay(tiling, tile, heading))
        size = (sheet.width_mm, sheet.height_mm)
        pages.append(put_together(art.name, size, (shown, overlay)))
    return pages


def _long_page(art: TemplateArt, drawing: Drawing, heading: Heading) -> Drawing:
    x0, y0, x1, y1 = drawing.extent
    width, height = max(x1 - x0, LONG_LEAST_MM), y1 - y0 + LONG_STRIP_MM
    sheet = sheet_for_window(width, height, art.name)
    left, low, _, _ = sheet.window
    overlay = long_overlay(sheet, heading, art.kinds)
    content = (Placed(drawing, (left, low + LONG_STRIP_MM)), Placed(overlay))
    return put_together(art.name, (sheet.width_mm, sheet.height_mm), content)


def _panel_heading(plan: JobPlan, panel: PanelPlan) -> Heading:
    x0, y0, x1, y1 = panel.outline.bounds
    details = [
        f"The whole panel, {size_text(x1 - x0, y1 - y0, plan.job.units)}",
        "Lay it on the part to mark seams and tape runs, and to see whether it fits.",
    ]
    return Heading(_job_name(plan), panel.name, (*details, *_warning(panel)), plan.job.units)


def _warning(panel: PanelPlan) -> list[str]:
    if not panel.is_mirrored:
        return []
    return ["Mirrored against the drawn panel: do not turn the print over."]


def _job_name(plan: JobPlan) -> str:
    return f"{plan.job.name}: {plan.variant.name}" if plan.variant.name else plan.job.name


def _piece_heading(plan: JobPlan, panel: PanelPlan, piece: Piece) -> Heading:
    units = plan.job.units
    along, across = (format_length(v, units) for v in piece_size(piece))
    kind = "blank, trimmed on the part" if piece.is_blank else "pre-cut"
    film, tries = plan.job.film(piece.film).name, counted(piece.planned_tries, "piece")
    place = f"Place {piece.order} of {len(panel.pieces)} in the lay order"
    details = [
        f"{film}  ·  {along} along the flow, {across} across  ·  {kind}",
        f"{place}; cut {tries}. The film's face is up; the arrow is the flow.",
    ]
    details += _warning(panel)
    return Heading(_job_name(plan), piece.label, tuple(details), units)

"""Paper templates: every piece of a panel at true size, over sheets of paper or one long page.

The pieces of one panel make one PDF, in lay order; for each a first page with the map of its
pages and a square to check the printer by, then the pages that hold something of it.
"""

from dataclasses import dataclass

from core.errors import InputError
from core.plan.model import JobPlan, PanelPlan, Piece
from core.units import format_length
from core.write.crop import cropped
from core.write.drawing import Drawing
from core.write.papers import Paper, sheet_for_window
from core.write.pdf import drawings_to_pdf
from core.write.placed import Placed, put_together
from core.write.scheme import distinct_panels
from core.write.template_drawing import kinds_of_line, template_drawing
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

    Raises:
        InputError: the overlap is too narrow for the crosses, or wider than paper bears.
    """

    paper: Paper = Paper.A4
    overlap_mm: float = OVERLAP_MM

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
    plan: JobPlan, panel: PanelPlan, options: TemplateOptions | None = None
) -> tuple[Drawing, ...]:
    """Return the pages of all pieces of a panel, in lay order.

    Raises:
        ExportFailed: a piece is longer than one page may be.
    """
    chosen = options or TemplateOptions()
    return tuple(p for piece in panel.pieces for p in piece_pages(plan, panel, piece, chosen))


def templates_pdf(pages: tuple[Drawing, ...]) -> bytes:
    """Return pages of templates as a PDF."""
    return drawings_to_pdf(pages[0].name if pages else "", pages)


def piece_pages(
    plan: JobPlan, panel: PanelPlan, piece: Piece, options: TemplateOptions
) -> list[Drawing]:
    """Return the pages of one piece."""
    heading = _heading(plan, panel, piece)
    if options.paper is Paper.LONG:
        return [_long_page(plan, panel, piece, heading)]
    drawing = template_drawing(plan, panel, piece)
    kinds = kinds_of_line(plan, panel, piece)
    tiling = tiled(piece.cut, drawing.extent, options.paper, options.overlap_mm)
    pages = [cover(tiling, piece.cut, heading, kinds)]
    sheet = tiling.sheet
    for tile in tiling.tiles:
        shown = Placed(cropped(drawing, tile.window), sheet.window[:2])
        overlay = Placed(tile_overlay(tiling, tile, heading))
        size = (sheet.width_mm, sheet.height_mm)
        pages.append(put_together(piece.label, size, (shown, overlay)))
    return pages


def _long_page(plan: JobPlan, panel: PanelPlan, piece: Piece, heading: Heading) -> Drawing:
    drawing = template_drawing(plan, panel, piece)
    x0, y0, x1, y1 = drawing.extent
    sheet = sheet_for_window(max(x1 - x0, LONG_LEAST_MM), y1 - y0 + LONG_STRIP_MM)
    left, low, _, _ = sheet.window
    overlay = long_overlay(sheet, heading, kinds_of_line(plan, panel, piece))
    content = (Placed(drawing, (left, low + LONG_STRIP_MM)), Placed(overlay))
    return put_together(piece.label, (sheet.width_mm, sheet.height_mm), content)


def _heading(plan: JobPlan, panel: PanelPlan, piece: Piece) -> Heading:
    units = plan.job.units
    along, across = (format_length(v, units) for v in piece_size(piece))
    kind = "blank, trimmed on the part" if piece.is_blank else "pre-cut"
    film, tries = plan.job.film(piece.film).name, counted(piece.planned_tries, "piece")
    place = f"Place {piece.order} of {len(panel.pieces)} in the lay order"
    details = [
        f"{film}  ·  {along} along the flow, {across} across  ·  {kind}",
        f"{place}; cut {tries}. The film's face is up; the arrow is the flow.",
    ]
    if panel.is_mirrored:
        details.append("Mirrored against the drawn panel: do not turn the print over.")
    job = f"{plan.job.name}: {plan.variant.name}" if plan.variant.name else plan.job.name
    return Heading(job, piece.label, tuple(details), units)

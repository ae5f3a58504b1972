"""The table of pieces: one row a piece, for spreadsheets."""

import csv
import io

from core.plan.model import JobPlan, PanelPlan, Piece
from core.roll.model import RollPlan
from core.write.wording import piece_seams, piece_size

HEAD = (
    "piece",
    "label",
    "panel",
    "side",
    "film",
    "lay_order",
    "along_flow_mm",
    "across_flow_mm",
    "area_mm2",
    "cut_as",
    "seams",
    "tries",
    "sheets",
)


def piece_table(plan: JobPlan, rolls: RollPlan) -> str:
    """Return the table as comma-separated values (RFC 4180) with a head line, in mm."""
    sheets: dict[str, list[str]] = {}
    for film in rolls.films:
        for sheet in film.sheets:
            for placement in sheet.placements:
                sheets.setdefault(placement.item.piece, []).append(sheet.sheet.id)
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(HEAD)
    for panel in plan.panels:
        for piece in panel.pieces:
            writer.writerow(_row(plan, panel, piece, sheets.get(piece.id, [])))
    return stream.getvalue()


def _row(plan: JobPlan, panel: PanelPlan, piece: Piece, sheets: list[str]) -> list[str]:
    along, across = piece_size(piece)
    return [
        piece.id,
        _plain(piece.label),
        _plain(plan.job.panel(panel.of).name),
        panel.side or "",
        _plain(plan.job.film(piece.film).name),
        str(piece.order),
        f"{along:.1f}",
        f"{across:.1f}",
        f"{piece.cut.area:.0f}",
        "blank" if piece.is_blank else "pre-cut",
        " ".join(s.id for s in piece_seams(panel, piece)),
        str(piece.tries),
        " ".join(dict.fromkeys(sheets)),
    ]


def _plain(text: str) -> str:
    """Return a name that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text

"""A plan and its rolls as plain values for JSON: the stable form in docs/command-line.md.

Keys may be added, never dropped or renamed. Coordinates keep all their digits, so that a reader
can check the laws on them.
"""

from collections.abc import Iterable
from typing import Any

import shapely
from shapely import Polygon

from core.plan.cutting import FilmRelief
from core.plan.model import Finding, JobPlan, PanelPlan, Piece, Stretch
from core.roll.model import FilmRolls, Placement, RollPlan, SheetPlan

Values = dict[str, Any]


def plan_values(plan: JobPlan, findings: Iterable[Finding] | None = None) -> Values:
    """Return a plan as values, by default with its own findings."""
    return {
        "job": plan.job.name,
        "variant": {"id": plan.variant.id, "name": plan.variant.name},
        "panels": [_panel(panel) for panel in plan.panels],
        "films": [
            {"id": film.id, "name": film.name, "area_mm2": plan.film_area_mm2(film.id)}
            for film in plan.job.films
        ],
        "findings": finding_values(plan.findings if findings is None else findings),
    }


def roll_values(rolls: RollPlan, plan: JobPlan, findings: Iterable[Finding] = ()) -> Values:
    """Return rolls as values."""
    return {
        "job": plan.job.name,
        "variant": {"id": plan.variant.id, "name": plan.variant.name},
        "films": [_film(film, plan) for film in rolls.films],
        "findings": finding_values(findings),
    }


def finding_values(findings: Iterable[Finding]) -> list[Values]:
    """Return findings as values."""
    return [
        {
            "check": f.check,
            "severity": f.severity.value,
            "panel": f.panel,
            "where": None if f.where is None else [float(v) for v in f.where],
            "text": f.text,
            "lines": list(f.lines),
        }
        for f in findings
    ]


def rings(polygon: Polygon) -> list[list[list[float]]]:
    """Return a polygon's rings, each repeating its first point at its end.

    The outer ring comes first and runs counter-clockwise, openings follow and run clockwise.

    Degenerate input: an empty polygon has no rings.

    >>> from shapely import box
    >>> rings(box(0, 0, 2, 1))[0][0] == rings(box(0, 0, 2, 1))[0][-1]
    True
    """
    if polygon.is_empty:
        return []
    turned = shapely.orient_polygons(polygon)
    return [shapely.get_coordinates(r).tolist() for r in (turned.exterior, *turned.interiors)]


def _panel(panel: PanelPlan) -> Values:
    piece_of = {region: piece.id for piece in panel.pieces for region in piece.regions}
    return {
        "id": panel.id,
        "of": panel.of,
        "name": panel.name,
        "side": panel.side,
        "outline": rings(panel.outline),
        "extended": rings(panel.extended),
        "regions": [
            {"id": r.id, "film": r.film, "rings": rings(r.polygon)} for r in panel.regions
        ],
        "pieces": [_piece(piece) for piece in panel.pieces],
        "seams": [_seam(s, piece_of) for s in panel.stretches],
        "tape_runs": [
            {"seam": t.stretch, "piece": t.piece, "length_mm": t.length_mm}
            for t in panel.tape_runs
        ],
    }


def _piece(piece: Piece) -> Values:
    return {
        "id": piece.id,
        "label": piece.label,
        "region": piece.regions[0],
        "regions": list(piece.regions),
        "film": piece.film,
        "order": piece.order,
        "final": rings(piece.final),
        "flat": rings(piece.flat),
        "cut": rings(piece.cut),
        "relief_cuts": [_relief(relief) for relief in piece.reliefs],
        "blank": piece.is_blank,
        "flow_deg": piece.flow_deg,
        "tries": piece.planned_tries,
    }


def _relief(relief: FilmRelief) -> Values:
    """Return a relief cut; in the film it is a notch of the cut shape, or a line in it."""
    return {
        "line": relief.cut.line,
        "start": relief.cut.start,
        "seen_mm": relief.cut.seen_mm,
        "hole_mm": relief.cut.hole_mm,
        "path": [list(p) for p in relief.cut.path.coords],
        "film_path": [list(p) for p in relief.path.coords],
        "opening_mm": relief.opening_mm,
        "is_notch": relief.notch is not None,
    }


def _seam(stretch: Stretch, piece_of: dict[Any, Any]) -> Values:
    """Return a seam; top and under name pieces, or regions where a panel has no pieces."""
    return {
        "id": stretch.id,
        "line": stretch.line,
        "top": piece_of.get(stretch.top, stretch.top),
        "under": piece_of.get(stretch.under, stretch.under),
        "lap_mm": stretch.lap_mm,
        "full": stretch.is_full,
        "length_mm": stretch.length_mm,
        "cut": stretch.cut.value,
        "reason": stretch.reason.value,
    }


def _film(film: FilmRolls, plan: JobPlan) -> Values:
    return {
        "id": film.film,
        "name": plan.job.film(film.film).name,
        "used_length_mm": film.used_length_mm,
        "job_length_mm": film.job_length_mm,
        "sheets": [_sheet(sheet) for sheet in film.sheets],
        "missing": [
            {
                "text": m.text,
                "length_mm": m.length_mm,
                "pieces": [{"piece": i.piece, "try": i.attempt} for i in m.items],
            }
            for m in film.missing
        ],
    }


def _sheet(sheet: SheetPlan) -> Values:
    return {
        "id": sheet.sheet.id,
        "kind": sheet.sheet.kind,
        "width_mm": sheet.sheet.width_mm,
        "length_mm": sheet.sheet.length_mm,
        "usable": rings(sheet.sheet.usable(sheet.used_length_mm)),
        "gap_mm": sheet.gap_mm,
        "used_length_mm": sheet.used_length_mm,
        "job_length_mm": sheet.job_length_mm,
        "utilisation": sheet.utilisation,
        "bound_mm": sheet.bound_mm,
        "gap_to_bound": sheet.gap_to_bound,
        "shortest": sheet.is_shortest,
        "engine": sheet.engine,
        "seconds": sheet.seconds,
        "placements": [_placement(p) for p in sheet.placements],
    }


def _placement(placement: Placement) -> Values:
    return {
        "piece": placement.item.piece,
        "try": placement.item.attempt,
        "panel": placement.item.panel,
        "angle_deg": placement.angle_deg,
        "dx_mm": placement.dx_mm,
        "dy_mm": placement.dy_mm,
        "rings": rings(placement.polygon),
    }

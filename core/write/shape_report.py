"""What the shape of curved panels says, as lines for a terminal and as values for JSON."""

from collections.abc import Iterator
from typing import Any

from core.plan.model import JobPlan
from core.plan.shape_check import PieceShape, ShapeReport
from core.units import format_length
from core.write.json_report import finding_values
from core.write.text_report import finding_lines

Values = dict[str, Any]


def shape_lines(plan: JobPlan, report: ShapeReport) -> Iterator[str]:
    """Yield each piece of a curved panel with its verdict, findings, and the caution."""
    yield f"{plan.job.name} · {plan.variant.name}"
    if not report.pieces:
        yield ""
        yield "All panels are flat: nothing was measured or scanned."
        return
    for panel in plan.panels:
        own = [p for p in report.pieces if p.panel == panel.id]
        if own:
            yield ""
            yield f"{panel.name} ({panel.id})"
        for shape in own:
            yield f"  {shape.label}: {shape.sentence}"
            yield from (f"    {line}" for line in _figures(plan, shape))
    others = [f for f in report.findings if f.check not in _TOLD]
    yield from finding_lines(plan, others)
    yield ""
    yield report.caution


_TOLD = {"L701", "L702", "L703"}
"""What these find stands with the piece already."""


def _figures(plan: JobPlan, shape: PieceShape) -> Iterator[str]:
    if shape.range_pct or shape.high_pct:
        yield (
            f"range {shape.range_pct:.1f} % ({shape.low_pct:.1f} to {shape.high_pct:.1f});"
            f" {plan.job.film(shape.film).name} takes {shape.easy_pct:.1f} % cold,"
            f" {shape.limit_pct:.1f} % warm"
        )
    if shape.strip_mm is not None and shape.strip_mm < _WIDE_MM:
        width = format_length(float(round(shape.strip_mm)), plan.job.units)
        yield f"a long strip would lie here up to {width} wide"


_WIDE_MM = 3000.0


def shape_values(plan: JobPlan, report: ShapeReport) -> Values:
    """Return a shape report as values."""
    return {
        "job": plan.job.name,
        "variant": {"id": plan.variant.id, "name": plan.variant.name},
        "caution": report.caution,
        "pieces": [_piece(p) for p in report.pieces],
        "findings": finding_values(report.findings),
    }


def _piece(shape: PieceShape) -> Values:
    return {
        "id": shape.piece,
        "label": shape.label,
        "panel": shape.panel,
        "film": shape.film,
        "verdict": shape.verdict.value,
        "text": shape.sentence,
        "range_pct": shape.range_pct,
        "low_pct": shape.low_pct,
        "high_pct": shape.high_pct,
        "takes_cold_pct": shape.easy_pct,
        "takes_warm_pct": shape.limit_pct,
        "difficulty": shape.difficulty.value,
        "strip_mm": shape.strip_mm,
        "places": [{"text": name, "where": list(at)} for name, at in shape.places],
        "doubts": [doubt.sentence() for doubt in shape.doubts],
    }

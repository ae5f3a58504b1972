"""What the judgement of a piece's shape says at the bench: a step before it is laid."""

from typing import TYPE_CHECKING

from core.plan.model import Finding, JobPlan, Piece
from core.progress import Progress

if TYPE_CHECKING:
    from core.plan.shape_check import PieceShape, ShapeReport

HEAT_CAUTION = (
    "Heat stays away from fuel, batteries, air bags, tyres and soft plastics; cleaners must be"
    " dry. Take the part off the vehicle first where that can be."
)
"""Common practice, no source."""


def shapes_of(plan: JobPlan, progress: Progress | None = None) -> "ShapeReport | None":
    """Return the judgement of all pieces on curved panels; None where all panels are flat.

    Raises:
        Cancelled: when it was stopped.
    """
    if all(piece.ground is None for piece in plan.pieces):
        return None
    # Flat jobs are written without what this needs.
    from core.plan.shape_check import shape_report  # noqa: PLC0415

    return shape_report(plan, progress)


def shape_findings(plan: JobPlan) -> tuple[Finding, ...]:
    """Return what the judgement of all pieces on curved panels has found."""
    report = shapes_of(plan)
    return report.findings if report else ()


def shape_step(piece: Piece, shape: "PieceShape") -> str:
    """Return what is to be minded before a piece is laid; "" where it lays freely."""
    if shape.severity is None:
        return ""
    if shape.refusal:
        return f"Piece {piece.order} cannot be cut so. {shape.refusal}"
    said = f"{shape.sentence[:1].lower()}{shape.sentence[1:]}"
    if shape.lays:
        return f"Piece {piece.order} {said} Warm it as its data sheet says"
    said = said.replace("seam needed: bunches", "a seam is needed, as it bunches")
    return f"Before piece {piece.order} is cut: {said} {_WAY_OUT}"


_WAY_OUT = "Do not lay it in one piece on the part until a scrap has shown that it holds"


def lay_words(shape: "PieceShape | None") -> str:
    """Return what the step of laying a piece says of its shape."""
    return "; lays freely" if shape is not None and shape.severity is None else ""

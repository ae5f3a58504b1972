"""Relief cuts in the bench's words."""

from core.ids import LineId
from core.plan.cutting import ReliefCut
from core.plan.lookup import drawn_plans
from core.plan.model import JobPlan, Piece
from core.units import Units, format_length


def find_relief(plan: JobPlan, line_id: str) -> tuple[Piece, ReliefCut] | None:
    """Return the piece that a relief cut runs through, as drawn; None where it cuts none."""
    for panel in drawn_plans(plan).values():
        for piece in panel.pieces:
            for cut in piece.relief_cuts:
                if cut.line == LineId(line_id):
                    return piece, cut
    return None


def relief_sentence(cut: ReliefCut, units: Units) -> str:
    """Return one line on a relief cut: how far it runs in, from where."""
    return (
        f"{cut.name}: {format_length(cut.seen_mm, units)} in from {cut.start}; the sides meet"
        " when the film is laid"
    )


def opening_words(piece: Piece, line_id: str, units: Units) -> str:
    """Return how a relief cut lies in the flat film, if that is known; else ""."""
    found = next((r for r in piece.known_reliefs if r.cut.line == LineId(line_id)), None)
    if found is None:
        return ""
    if piece.film_shape.refusal:
        return "The film of its piece cannot be laid flat so: Review says why."
    if found.notch is None:
        return "In the flat film it has no width: its sides touch."
    return f"In the flat film it opens {format_length(found.opening_mm, units)} wide."

"""Relief cuts in the bench's words."""

from core.ids import LineId
from core.plan.cutting import FilmRelief, ReliefCut
from core.plan.lookup import drawn_plans
from core.plan.model import JobPlan, PanelPlan, Piece
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


def film_relief_sentence(relief: FilmRelief, units: Units) -> str:
    """Return one line on a relief cut for who cuts it: its length, its width, its hole."""
    cut = relief.cut
    wide = "its sides touch there"
    if relief.notch is not None:
        wide = f"{format_length(relief.opening_mm, units)} wide there"
    hole = "no hole at its end"
    if cut.hole_mm > 0:
        hole = f"a round hole {format_length(cut.hole_mm, units)} across at its end"
    return (
        f"{cut.name}: {format_length(cut.seen_mm, units)} in from {cut.start}, {wide}, {hole};"
        " the sides meet when the film is laid"
    )


def relief_letters(panel: PanelPlan) -> dict[LineId, str]:
    """Return a letter for each relief cut of a panel, by which its picture tells them apart."""
    lines = [cut.line for piece in panel.pieces for cut in piece.relief_cuts]
    return {line: _letter(number) for number, line in enumerate(lines)}


def _letter(number: int) -> str:
    """Return A to Z, then A2 and so on.

    >>> _letter(0), _letter(25), _letter(26)
    ('A', 'Z', 'A2')
    """
    again, place = divmod(number, 26)
    return chr(ord("A") + place) + (str(again + 1) if again else "")


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

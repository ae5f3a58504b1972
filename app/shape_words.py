"""How a judgement of shape is told: its tone, a head, a sentence, the figures."""

from collections.abc import Iterable
from dataclasses import dataclass

from core.plan.shape_check import PieceShape, Verdict

TONES = {
    Verdict.FREE: "fine",
    Verdict.WARM: "warn",
    Verdict.SEAM: "stop",
    Verdict.UNSURE: "unknown",
}
HEADS = {
    Verdict.FREE: "Lays freely",
    Verdict.WARM: "Lays with warmth",
    Verdict.SEAM: "Seam needed",
    Verdict.UNSURE: "Cannot tell",
}
_GRAVE = [Verdict.SEAM, Verdict.UNSURE, Verdict.WARM, Verdict.FREE]


@dataclass(frozen=True, slots=True)
class Told:
    """A verdict as it is shown.

    Attributes:
        tone: fine, warn, stop or unknown.
        more: the figures.
    """

    tone: str
    head: str
    text: str
    more: str


DATA_FIRST = "The film maker's data come first."


def told(shape: PieceShape) -> Told:
    """Return how the judgement of one piece is told."""
    head = HEADS[shape.verdict]
    text = shape.sentence
    for opening in (f"{head}.", f"{head}:"):
        text = text.removeprefix(opening).strip()
    return Told(TONES[shape.verdict], head, f"{text[:1].upper()}{text[1:]}", figures(shape))


def figures(shape: PieceShape) -> str:
    """Return in figures what a piece needs and what its film takes; "" where none are known."""
    if shape.range_pct <= 0:
        return ""
    about = f"{shape.range_pct:.1f} %"
    if shape.high_pct - shape.low_pct >= 0.1:
        about += f" ({shape.low_pct:.1f} to {shape.high_pct:.1f})"
    takes = f"{shape.limit_pct:.1f} %"
    if shape.limit_pct - shape.easy_pct >= 0.05:
        takes = f"{shape.easy_pct:.1f} % cold, {takes} warm"
    words = f"Range needed: {about}. This film takes {takes}."
    if shape.strip_mm is not None and shape.verdict in (Verdict.SEAM, Verdict.UNSURE):
        words += f" Long strips lay up to {shape.strip_mm:.0f} mm wide."
    return words


def gravest(shapes: Iterable[PieceShape]) -> PieceShape | None:
    """Return the piece that is hardest to lay; None where there is none."""
    return min(shapes, key=lambda s: (_GRAVE.index(s.verdict), -s.range_pct), default=None)

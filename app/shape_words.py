"""How a judgement of shape is told: its tone, a head, a sentence, the figures."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from core.plan.model import Severity
from core.plan.shape_check import PieceShape, ShapeReport, Verdict

_TONES = {
    None: "fine",
    Severity.NOTE: "note",
    Severity.WARNING: "warn",
    Severity.STOP: "stop",
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
        tone: fine, note, warn, unsure or stop.
        more: the figures.
    """

    tone: str
    head: str
    text: str
    more: str


PAST_GRID = "L704"
RANGE_MEANS = (
    "Range: how far apart the most bunched and the most stretched place of the best laying are."
    " In brackets: where the truth lies in 19 of 20 cases, as far as readings can tell. A seam"
    " is called for only when all of that is beyond the film."
)
DATA_FIRST = "The film maker's data come first."


def tone_of(shape: PieceShape) -> str:
    """Return the tone of a judgement: as grave as the review takes it, unsure or sure."""
    found = _TONES[shape.severity]
    return "unsure" if found == "warn" and shape.verdict is Verdict.UNSURE else found


def told(shape: PieceShape) -> Told:
    """Return how the judgement of one piece is told."""
    if shape.refusal:
        head = "A relief cut is wrong" if shape.closes else "Cannot be laid in one piece"
        return Told(tone_of(shape), head, shape.refusal, figures(shape))
    head = HEADS[shape.verdict]
    text = shape.sentence
    for opening in (f"{head}.", f"{head}:"):
        text = text.removeprefix(opening).strip()
    return Told(tone_of(shape), head, f"{text[:1].upper()}{text[1:]}", figures(shape))


def told_within(shape: PieceShape, report: ShapeReport) -> Told:
    """Return how a judgement is told with what lessens it: much that lies past the grid."""
    words = told(shape)
    past = [f.text for f in report.findings if f.panel == shape.panel and f.check == PAST_GRID]
    if not past:
        return words
    tone = "note" if words.tone == "fine" else words.tone
    return replace(words, tone=tone, text=" ".join([words.text, *past]).strip())


def figures(shape: PieceShape) -> str:
    """Return in figures what a piece needs and what its film takes; "" where none are known."""
    if shape.range_pct <= 0:
        return ""
    about = f"{shape.range_pct:.1f} %"
    if shape.high_pct - shape.low_pct >= 0.1:
        about += f" (very likely {shape.low_pct:.1f} to {shape.high_pct:.1f} %)"
    takes = f"{shape.limit_pct:.1f} %"
    if shape.limit_pct - shape.easy_pct >= 0.05:
        takes = f"{shape.easy_pct:.1f} % cold, {takes} warm"
    words = f"Range needed: {about}. This film takes {takes}."
    if shape.strip_mm is not None and shape.verdict in (Verdict.SEAM, Verdict.UNSURE):
        words += f" Long strips lay up to {shape.strip_mm:.0f} mm wide."
    return words


def how_all_lay(shapes: Iterable[PieceShape]) -> str:
    """Return in a line which pieces do not surely lay; "" where all do."""
    grave = [s for s in shapes if not s.lays]
    unsure = sum(s.verdict is Verdict.UNSURE and not s.refusal for s in grave)
    words = []
    if bunching := len(grave) - unsure:
        words.append(f"{_pieces(bunching)} will bunch")
    if unsure:
        words.append(f"of {_pieces(unsure)} it cannot be told")
    told_all = ", ".join(words)
    return f"{told_all[:1].upper()}{told_all[1:]}: see Review" if words else ""


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


def gravest(shapes: Iterable[PieceShape]) -> PieceShape | None:
    """Return the piece that is hardest to lay; None where there is none."""
    return min(shapes, key=lambda s: (_GRAVE.index(s.verdict), -s.range_pct), default=None)

"""Will it lay? The judgement of every piece on a curved panel, in the bench's words.

A film has a window: so much it may bunch, so far it may be pulled, further with warmth. Pulling
moves all of a piece together and does not bring its worst places nearer to each other, so what
counts is the range between them: a piece lays only if it fits into the window.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from core.document.choices import Difficulty
from core.document.film import Film
from core.document.surface import MeasuredSurface
from core.errors import GeometryError
from core.ids import CopyId, FilmId, LineId, PieceId
from core.plan.film_shape import Ground
from core.plan.memory import Memory
from core.plan.model import Finding, JobPlan, PanelPlan, Piece, Severity
from core.plan.shape_words import worst_places
from core.plan.side_words import swapped
from core.plan.tries import HARD_SHARE
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.shape.answer import Answer, answer_for, widest_strip_mm
from core.shape.model import Window
from core.shape.readings import Doubt
from core.shape.surface import CurvedSurface

CAUTION = (
    "Limits are generic, from common practice without a source: the film maker's data sheet"
    " and a try on a scrap come first."
)
_MOST_READINGS = 8
_PAST_GRID = 0.1
"""Share of a panel past its grid that is told of."""


class Verdict(StrEnum):
    """What becomes of a piece."""

    FREE = "lays freely"
    WARM = "lays with warmth"
    SEAM = "seam needed"
    UNSURE = "cannot tell"


@dataclass(frozen=True)
class PieceShape:
    """The judgement of one piece.

    Attributes:
        sentence: the verdict in the bench's words, with places and figures.
        range_pct: the range that it needs, with ``low_pct`` and ``high_pct`` about it; 0 where
            nothing could be worked out.
        easy_pct, limit_pct: the range that its film takes cold, and with warmth.
        places: where it is worst, named, with points of the piece's map.
        strip_mm: the widest long strip that would lay here with warmth; None: any width.
        doubts: why nothing sure can be said.
        refusal: why it cannot be laid flat in one piece at all, or "".
        closes: the relief cut that alone is the reason for that.
    """

    piece: PieceId
    panel: CopyId
    label: str
    film: FilmId
    verdict: Verdict
    sentence: str
    easy_pct: float
    limit_pct: float
    range_pct: float = 0.0
    low_pct: float = 0.0
    high_pct: float = 0.0
    places: tuple[tuple[str, tuple[float, float]], ...] = ()
    strip_mm: float | None = None
    doubts: tuple[Doubt, ...] = ()
    refusal: str = ""
    closes: LineId | None = None

    @property
    def severity(self) -> Severity | None:
        """How grave it is, wherever it is told; None where all is well."""
        return Severity.STOP if self.refusal else severity_of(self.verdict)

    @property
    def lays(self) -> bool:
        """Whether it lays, cold or with warmth."""
        return not self.refusal and self.verdict in (Verdict.FREE, Verdict.WARM)

    @property
    def difficulty(self) -> Difficulty:
        """How hard it is to lay, which says how many tries to plan for."""
        is_easy = self.verdict is Verdict.FREE and self.range_pct <= HARD_SHARE * self.easy_pct
        return Difficulty.EASY if is_easy else Difficulty.HARD


def severity_of(verdict: Verdict) -> Severity | None:
    """Return how grave a verdict is; None where all is well."""
    return {
        Verdict.FREE: None,
        Verdict.WARM: Severity.NOTE,
        Verdict.SEAM: Severity.WARNING,
        Verdict.UNSURE: Severity.WARNING,
    }[verdict]


@dataclass(frozen=True)
class ShapeReport:
    """The judgement of all pieces on curved panels; pieces of flat ones are not in it."""

    pieces: tuple[PieceShape, ...]
    findings: tuple[Finding, ...]
    caution: str = CAUTION

    def of(self, piece: PieceId) -> PieceShape | None:
        """Return the judgement of a piece; None where its panel is flat."""
        return next((p for p in self.pieces if p.piece == piece), None)


def shape_report(plan: JobPlan, progress: Progress | None = None) -> ShapeReport:
    """Judge every piece that lies on a curved panel. It may take a while.

    What did not change since the last time is remembered.

    Raises:
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    curved = [(panel, p) for panel in plan.panels for p in panel.pieces if p.ground is not None]
    judged: list[PieceShape] = []
    findings: list[Finding] = []
    told: set[CopyId] = set()
    for number, (panel, piece) in enumerate(curved):
        progress.tell(Step(f"Looking at {piece.label}", number / len(curved)))
        stop_if_cancelled(progress)
        if panel.id not in told:
            told.add(panel.id)
            findings += _panel_findings(panel, piece)
        shape = judge_piece(plan, panel, piece, progress)
        judged.append(shape)
        findings += _piece_findings(shape, piece, is_sole=len(panel.pieces) == 1)
    order = list(Severity)
    findings.sort(key=lambda f: order.index(f.severity))
    return ShapeReport(tuple(judged), tuple(findings))


def judge_piece(
    plan: JobPlan, panel: PanelPlan, piece: Piece, progress: Progress | None = None
) -> PieceShape:
    """Judge one piece of a curved panel.

    Raises:
        Cancelled: the user stopped it.
    """
    assert piece.ground is not None
    film, ground = plan.job.film(piece.film), piece.ground
    surface = ground.surface
    if not isinstance(surface, CurvedSurface):
        return _unsure(piece, film, surface.doubts)
    drawn, cuts = ground.drawn(piece.final), ground.drawn_cuts(piece.relief_cuts)
    try:
        answer = _answers.recall(
            (surface,),
            (drawn.wkb, tuple(cut.wkb for cut in cuts)),
            lambda: answer_for(surface, drawn, progress, cuts=cuts),
        )
    except GeometryError as error:
        return _unsure(piece, film, (Doubt(error.what, error.mend),))
    return _judged(plan, panel, piece, answer)


_answers: Memory[Answer] = Memory(600)


def easy_window(film: Film) -> Window:
    """Return what a film takes cold."""
    return Window(film.bunching_limit_pct, film.stretch_limit_pct)


def warm_window(film: Film) -> Window:
    """Return what a film takes with warmth; never less than cold."""
    warm = max(film.stretch_limit_pct, film.warm_stretch_limit_pct)
    return Window(film.bunching_limit_pct, warm)


def _judged(plan: JobPlan, panel: PanelPlan, piece: Piece, answer: Answer) -> PieceShape:
    film, ground = plan.job.film(piece.film), piece.ground
    assert ground is not None
    surface = ground.surface
    assert isinstance(surface, CurvedSurface)
    verdict, doubts = _verdict(film, answer, surface)
    places = _places(plan, panel, ground, answer, is_stretch=verdict is Verdict.WARM)
    sentence = _sentence(film, verdict, answer, places[0][0], doubts)
    limit = warm_window(film).range_pct
    return PieceShape(
        piece=piece.id,
        panel=piece.panel,
        label=piece.label,
        film=piece.film,
        verdict=verdict,
        sentence=sentence,
        easy_pct=easy_window(film).range_pct,
        limit_pct=limit,
        range_pct=answer.range_pct,
        low_pct=answer.low_pct,
        high_pct=answer.high_pct,
        places=places,
        strip_mm=widest_strip_mm(limit, answer.curvature),
        doubts=doubts,
        refusal=piece.film_shape.refusal,
        closes=piece.film_shape.closes,
    )


def _places(
    plan: JobPlan, panel: PanelPlan, ground: Ground, answer: Answer, *, is_stretch: bool
) -> tuple[tuple[str, tuple[float, float]], ...]:
    """Return the worst places in the piece's own map; of a mirrored panel mirrored."""
    surface = ground.surface
    assert isinstance(surface, CurvedSurface)
    flow, outline = plan.job.panel(panel.of).flow_deg, ground.drawn(panel.outline)
    found = worst_places(surface, answer.development, outline, flow, is_stretch=is_stretch)
    if not ground.is_mirrored:
        return found
    return tuple((swapped(name), (-x, y)) for name, (x, y) in found)


def _verdict(
    film: Film, answer: Answer, surface: CurvedSurface
) -> tuple[Verdict, tuple[Doubt, ...]]:
    easy, limit = easy_window(film).range_pct, warm_window(film).range_pct
    if surface.doubts:
        return Verdict.UNSURE, surface.doubts
    if answer.floor_pct > limit:
        what = (
            f"This film takes a range of {limit:.1f} %, and tape errors alone look like"
            f" {answer.floor_pct:.1f} %."
        )
        return Verdict.UNSURE, (Doubt(what, _read_more(answer, limit)),)
    if answer.low_pct > limit:
        return Verdict.SEAM, ()
    if answer.high_pct <= easy:
        return Verdict.FREE, ()
    if answer.high_pct <= limit:
        return Verdict.WARM, ()
    what = (
        f"It needs a range of {answer.low_pct:.1f} to {answer.high_pct:.1f} %, and this film"
        f" takes {limit:.1f} %."
    )
    mend = _read_more(answer, limit) if surface.fit else "Try it on a scrap first."
    return Verdict.UNSURE, (Doubt(what, mend),)


def _read_more(answer: Answer, limit_pct: float) -> str:
    """Say how often each length must be read until the answer is clear of the limit."""
    reach = max(answer.high_pct - answer.range_pct, answer.range_pct - answer.low_pct)
    reach = max(reach, answer.floor_pct)
    clear = max(abs(answer.range_pct - limit_pct), 1e-6)
    readings = int((reach / clear) ** 2) + 1
    if readings > _MOST_READINGS:
        return "More readings hardly help: plan a seam, or try it on a scrap first."
    return f"Read every length {max(2, readings)} times."


def _sentence(
    film: Film, verdict: Verdict, answer: Answer, place: str, doubts: tuple[Doubt, ...]
) -> str:
    warm = warm_window(film)
    if verdict is Verdict.UNSURE:
        return f"Cannot tell. {doubts[0].sentence()}"
    if verdict is Verdict.FREE:
        return "Lays freely."
    if verdict is Verdict.WARM:
        needed = 100 * ((1 + answer.range_pct / 100) * (1 - warm.bunching_pct / 100) - 1)
        return f"Lays with warmth: needs {needed:.0f} % stretch, most {place}."
    # Pulled as far as the film goes; what is left over must bunch.
    left = 100 * (1 - (1 + warm.stretch_pct / 100) / (1 + answer.range_pct / 100))
    warmed = " with warmth" if warm.stretch_pct > film.stretch_limit_pct else ""
    return (
        f"Seam needed: bunches {left:.1f} % {place} though pulled by {warm.stretch_pct:g} %"
        f"{warmed}; this film takes {warm.bunching_pct:g} %."
    )


def _unsure(piece: Piece, film: Film, doubts: tuple[Doubt, ...]) -> PieceShape:
    return PieceShape(
        piece=piece.id,
        panel=piece.panel,
        label=piece.label,
        film=piece.film,
        verdict=Verdict.UNSURE,
        sentence=f"Cannot tell. {doubts[0].sentence()}",
        easy_pct=easy_window(film).range_pct,
        limit_pct=warm_window(film).range_pct,
        doubts=doubts,
        refusal=piece.film_shape.refusal,
        closes=piece.film_shape.closes,
    )


def _piece_findings(shape: PieceShape, piece: Piece, *, is_sole: bool) -> Iterator[Finding]:
    """Yield what is to be minded of a piece; a finding's panel is told beside it."""
    at = piece.final.representative_point()
    where = shape.places[0][1] if shape.places else (float(at.x), float(at.y))
    if shape.severity is None:
        return
    lines: tuple[LineId, ...] = ()
    name = "The film" if is_sole else f"Piece {piece.order}"
    if piece.film_shape.closes is not None:
        code, lines = "L707", (piece.film_shape.closes,)
        text = f"{name} cannot be cut so. {shape.refusal}"
    elif shape.refusal:
        code = "L706"
        text = f"{name} cannot be laid flat in one piece. {shape.refusal}"
    else:
        code = _CODES[shape.verdict]
        text = shape.sentence
        if not is_sole:
            text = f"{name}: {text[0].lower()}{text[1:]}"
    yield Finding(code, shape.severity, text, shape.panel, where, lines)


_CODES = {Verdict.SEAM: "L701", Verdict.WARM: "L702", Verdict.UNSURE: "L703"}


def _panel_findings(panel: PanelPlan, piece: Piece) -> Iterator[Finding]:
    """Yield what a panel's measuring leaves open, whatever its pieces are."""
    assert piece.ground is not None
    recorded, surface = piece.ground.recorded, piece.ground.surface
    if not isinstance(recorded, MeasuredSurface):
        return
    at = panel.outline.representative_point()
    where = (float(at.x), float(at.y))
    if isinstance(surface, CurvedSurface) and surface.grid is not None:
        share = 1 - piece.ground.drawn(panel.outline).intersection(surface.grid).area / max(
            panel.outline.area, 1e-9
        )
        if share > _PAST_GRID:
            text = (
                f"{100 * share:.0f} % of {panel.name} lies past its grid; there the part is"
                " taken to run on straight. Measure further out, or check where the grid lies."
            )
            yield Finding("L704", Severity.NOTE, text, panel.id, where)
    if isinstance(surface, CurvedSurface) and surface.fit and not surface.doubts:
        for question in surface.fit.questions:
            text = f"{panel.name}: {question.sentence()}"
            yield Finding("L708", Severity.NOTE, text, panel.id, where)
    if recorded.lines == 3:
        text = (
            f"{panel.name} was measured along 3 lines, which do not see its shoulders: no seams"
            " are proposed for it. Measure the shoulder lines as well."
        )
        yield Finding("L705", Severity.NOTE, text, panel.id, where)

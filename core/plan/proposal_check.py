"""Seam proposals judged as they will be: drawn in the job, planned, each piece looked at.

The search reckons roughly, so as to try many lines. What is shown of a proposal is how its
pieces will lay when it is adopted, edge turns and laps included.
"""

from dataclasses import dataclass

from shapely import Polygon, get_parts

from core.errors import EditRefused
from core.ids import PanelId
from core.plan.lookup import drawn_plans
from core.plan.model import JobPlan
from core.plan.plan import plan_job
from core.plan.seam_proposals import accent_film, adopt, distinct, search_seams
from core.plan.shape_check import PieceShape, judge_piece
from core.progress import Part, Progress, Step, stop_if_cancelled
from core.shape.proposals.model import Proposal, Question

SHOWN = 3
_SEARCHED = 0.85
"""What is done when the search is, about."""


@dataclass(frozen=True, eq=False)
class Laid:
    """How the pieces of a panel lay.

    Attributes:
        shapes: the judgement of each piece.
        areas: what is seen, without edge turns, each area with the judgement of its piece.
    """

    shapes: tuple[PieceShape, ...]
    areas: tuple[tuple[Polygon, PieceShape], ...]

    @property
    def lays(self) -> bool:
        """Whether every piece lays, cold or with warmth."""
        return all(shape.lays for shape in self.shapes)


@dataclass(frozen=True, eq=False)
class Found:
    """What a search has found.

    Attributes:
        now: how the panel lays as it is drawn.
        proposals: those to show, each with how its pieces will lay; the best first.
    """

    now: Laid
    proposals: tuple[tuple[Proposal, Laid], ...]


def find_seams(
    plan: JobPlan, panel: PanelId | str, question: Question, progress: Progress
) -> Found:
    """Search for seams on a panel, and judge what is found as if it were drawn.

    Raises:
        GeometryError: an area without width.
        Cancelled: the user stopped it.
    """
    answer = search_seams(plan, panel, question, Part(progress, "", 0.0, _SEARCHED))
    now = laid(plan, panel, progress)
    judged = []
    chosen = distinct(answer.proposals)[:SHOWN]
    for number, proposal in enumerate(chosen):
        share = _SEARCHED + (1 - _SEARCHED) * number / len(chosen)
        progress.tell(Step("Judging what was found", share))
        judged.append((proposal, _laid_as(plan, panel, proposal, now, progress)))
    judged.sort(key=lambda one: not one[1].lays)
    return Found(now, tuple(judged))


def _laid_as(
    plan: JobPlan, panel: PanelId | str, proposal: Proposal, now: Laid, progress: Progress
) -> Laid:
    """Return how a panel lays once a proposal is drawn."""
    if not proposal.lines:
        return now
    film = accent_film(plan.job, plan.job.panel(panel).base_film)
    drawn = drawn_plans(plan)[PanelId(panel)]
    try:
        job = adopt(plan.job, plan.variant.id, drawn, proposal, film)
    except EditRefused:  # all of it is drawn already
        return now
    return laid(plan_job(job, plan.variant.id, plan.scans), panel, progress)


def laid(plan: JobPlan, panel: PanelId | str, progress: Progress) -> Laid:
    """Return how the pieces of a panel lay, as it is drawn in a plan.

    Raises:
        Cancelled: the user stopped it.
    """
    drawn = drawn_plans(plan)[PanelId(panel)]
    shapes = {}
    for piece in drawn.pieces:
        stop_if_cancelled(progress)
        if piece.ground is not None:
            shapes[piece.id] = judge_piece(plan, drawn, piece, progress)
    of_region = {
        region: shapes[piece.id]
        for piece in drawn.pieces
        if piece.id in shapes
        for region in piece.regions
    }
    areas = tuple(
        (part, of_region[r.id])
        for r in drawn.regions
        if r.id in of_region
        for part in get_parts(r.polygon.intersection(drawn.outline))
        if isinstance(part, Polygon)
    )
    return Laid(tuple(shapes.values()), areas)

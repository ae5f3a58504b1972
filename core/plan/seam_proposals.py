"""Where a seam must go on a panel of a plan: the question put together, an answer adopted.

A proposal becomes seams, stripes and relief cuts of the variant, which are lines like all
others from then on.
"""

import dataclasses
from collections.abc import Iterable

from msgspec.structs import replace
from shapely import LineString, Polygon, get_parts, hausdorff_distance, union_all
from shapely.geometry.base import BaseGeometry

from core.document.edits.ids import free_id
from core.document.edits.lines import add_line
from core.document.job import Job
from core.document.lines import Line, Relief, Seam, Stripe
from core.document.panel import MarkKind
from core.document.path import Node, Path, straight_path
from core.document.surface import MeasuredSurface
from core.errors import EditRefused
from core.ids import LineId, PanelId
from core.plan.film_shape import ground_of
from core.plan.lookup import drawn_plans
from core.plan.model import JobPlan, PanelPlan, Stretch
from core.plan.shape_check import warm_window
from core.progress import Progress
from core.shape.answer import answer_for
from core.shape.proposals.model import Answer, LineKind, Proposal, ProposedLine, Question
from core.shape.proposals.proposing import propose
from core.shape.relief import opened
from core.shape.surface import CurvedSurface

SAME_MM = 8.0
"""A proposed line that leaves one that is there by no more than this is that line."""
_HANDLE = 1 / 6
"""Of the way from the node before to the node after: what makes a curve run through evenly.

Source: the Catmull-Rom spline as a Bezier curve; any textbook of computer graphics.
"""


def question_for(plan: JobPlan, panel: PanelId | str) -> Question:
    """Return the question where seams must go on a panel.

    Raises:
        EditRefused: nothing can be proposed, with the reason and what mends it.
    """
    drawn = drawn_plans(plan)[PanelId(panel)]
    recorded = plan.job.panel(panel).surface
    name = plan.job.panel(panel).name
    if recorded is None:
        raise EditRefused(
            "This panel is flat: film lies on it in one piece.",
            where=name,
            mend="Measure over the part, or take it from a scan, if it is not.",
        )
    if isinstance(recorded, MeasuredSurface) and recorded.lines == 3:
        raise EditRefused(
            "Three lines do not see the shoulders: what is needed there would be told too low.",
            where=name,
            mend="Measure the two shoulder lines as well; then seams are proposed.",
        )
    ground = ground_of(recorded, plan.scans)
    surface = ground.surface if ground else None
    if not isinstance(surface, CurvedSurface) or surface.doubts:
        doubts = surface.doubts if surface else ()
        what, mend = (doubts[0].what, doubts[0].mend) if doubts else ("It is not known.", "")
        raise EditRefused(what, where=name, mend=mend)
    film = plan.job.film(plan.job.panel(panel).base_film)
    own = _drawn_lines(drawn)
    question = Question(
        network=surface.network,
        area=_cut_into(drawn),
        window=warm_window(film),
        # Film that runs on all the way beneath is not divided, whatever lies on it.
        own_lines=_lines_of(s for s in drawn.stretches if not s.is_full),
        hiding=(*_ridges(plan.job, panel), *own),
    )
    # Who has drawn a stripe does not want another.
    return (
        dataclasses.replace(question, stripe_mm=0.0) if _has_stripe(plan, panel) else question
    )


def search_seams(
    plan: JobPlan, panel: PanelId | str, question: Question, progress: Progress
) -> Answer:
    """Return proposals that hold for a panel's readings, not for its likeliest shape alone.

    What the panel in one piece may need beyond its likeliest range is kept free below the
    film's limit, so that what is adopted is not left in doubt by the reading error.
    """
    ground = ground_of(plan.job.panel(panel).surface, plan.scans)
    surface = ground.surface if ground else None
    if isinstance(surface, CurvedSurface) and surface.fit is not None:
        whole = answer_for(surface, question.area, progress)
        question = dataclasses.replace(
            question, reserve_pct=max(whole.high_pct - whole.range_pct, 0.0)
        )
    return propose(question, progress)


def _cut_into(drawn: PanelPlan) -> Polygon:
    """Return a panel's outline, open along the relief cuts that are drawn."""
    return opened(drawn.outline, [cut.path for p in drawn.pieces for cut in p.relief_cuts])


def _drawn_lines(drawn: PanelPlan) -> tuple[LineString, ...]:
    """Return the borders along which films meet already."""
    return _lines_of(drawn.stretches)


def _lines_of(stretches: Iterable[Stretch]) -> tuple[LineString, ...]:
    return tuple(part for s in stretches for part in _line_parts(s.path))


def _has_stripe(plan: JobPlan, panel: PanelId | str) -> bool:
    return bool(plan.job.scheme(plan.variant.id, panel).stripes)


def _line_parts(path: BaseGeometry) -> list[LineString]:
    return [part for part in get_parts(path) if isinstance(part, LineString)]


def _ridges(job: Job, panel: str) -> tuple[LineString, ...]:
    marks = job.panel(panel).marks
    return tuple(
        LineString(m.path) for m in marks if m.kind is MarkKind.RIDGE and len(m.path) > 1
    )


def cuts_only(proposal: Proposal) -> bool:
    """Return whether a proposal is relief cuts alone, which divide nothing."""
    kinds = {line.kind for line in proposal.lines}
    return kinds == {LineKind.RELIEF}


def distinct(proposals: Iterable[Proposal]) -> list[Proposal]:
    """Return the proposals that differ to the eye, in their order."""
    chosen: list[Proposal] = []
    for proposal in proposals:
        if not any(_look_alike(proposal, c) for c in chosen):
            chosen.append(proposal)
    return chosen


def _look_alike(a: Proposal, b: Proposal) -> bool:
    one, other = (union_all([e for line in p.lines for e in edges_of(line)]) for p in (a, b))
    return bool(hausdorff_distance(one, other) < SAME_MM)


def adopt(job: Job, variant: str, plan: PanelPlan, proposal: Proposal, stripe_film: str) -> Job:
    """Draw a proposal's seams, stripes and relief cuts in a variant.

    Lines that are there already are not drawn twice.

    Args:
        job: the job.
        variant: gets the lines.
        plan: of the panel as drawn now.
        proposal: what to draw.
        stripe_film: film of a stripe in it.

    Raises:
        EditRefused: all of it is there already.
    """
    there = {
        LineKind.SEAM: _drawn_lines(plan),
        LineKind.RELIEF: [cut.path for p in plan.pieces for cut in p.relief_cuts],
    }
    before = job
    for line in proposal.lines:
        if any(_is_same(line.path, own) for own in there.get(line.kind, ())):
            continue
        job = add_line(job, variant, plan.of, _line(job, line, stripe_film))
    if job is before:
        raise EditRefused("These lines are drawn already.")
    return job


def _line(job: Job, line: ProposedLine, film: str) -> Line:
    nodes = _nodes(line.path)
    if line.kind is LineKind.STRIPE:
        width = round(line.width_mm, 1)
        name = LineId(free_id(job, "t"))
        return Stripe(id=name, nodes=nodes, start_width_mm=width, end_width_mm=width, film=film)
    if line.kind is LineKind.RELIEF:
        return Relief(id=LineId(free_id(job, "e")), nodes=nodes)
    return Seam(id=LineId(free_id(job, "s")), nodes=nodes)


def _nodes(path: LineString) -> Path:
    """Return a path through the points; with more than two it runs through them smoothly."""
    points = [(round(x, 2), round(y, 2)) for x, y in path.coords]
    nodes = straight_path(points)
    if len(points) < 3:
        return nodes
    return tuple(_smooth(node, points, i) for i, node in enumerate(nodes))


def _smooth(node: Node, points: list[tuple[float, float]], i: int) -> Node:
    before, after = points[max(i - 1, 0)], points[min(i + 1, len(points) - 1)]
    dx, dy = ((b - a) * _HANDLE for a, b in zip(before, after, strict=True))
    if i in (0, len(points) - 1):
        return node
    return replace(node, smooth=True, before=(-dx, -dy), after=(dx, dy))


def _is_same(path: LineString, own: LineString) -> bool:
    inside = path.intersection(own.buffer(SAME_MM))
    return bool(inside.length > 0.9 * path.length)


def accent_film(job: Job, base: str) -> str:
    """Return the film that a proposed stripe takes: the highest in rank beside the base."""
    others = [f for f in job.films if f.id != base] or list(job.films)
    return max(others, key=lambda f: f.rank).id


def edges_of(line: ProposedLine) -> list[LineString]:
    """Return the seams of a proposed line: its own, or both edges of a stripe."""
    if line.kind is not LineKind.STRIPE:
        return [line.path]
    half = line.width_mm / 2
    return [
        edge for side in (half, -half) for edge in _line_parts(line.path.offset_curve(side))
    ]

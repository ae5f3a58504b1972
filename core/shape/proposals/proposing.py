"""Where must a seam go? Three proposals with their numbers, and relief cuts besides."""

import itertools

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.shape.clip import clip_network
from core.shape.developing import develop
from core.shape.metric import metric_of
from core.shape.proposals.bending import shortest_way
from core.shape.proposals.costs import StripCosts, parts_of, quick_range
from core.shape.proposals.families import (
    Family,
    bent_families,
    beside,
    straight_families,
)
from core.shape.proposals.model import Answer, LineKind, Proposal, ProposedLine, Question
from core.shape.proposals.partition import Cuts, Partition
from core.shape.proposals.relief import COUNTS, DEPTHS, relief_cuts
from core.shape.relief import opened

SHOWN = 3
_COARSE_TRIANGLES = 1000
_FINE_TRIANGLES = 900
_MARGIN = 0.97
"""On the coarse mesh pieces keep this far below the limit, to keep below it on the fine."""
_HIDDEN_WITHIN_MM = 15.0
_BEST_FAMILIES = 3


def propose(question: Question, progress: Progress | None = None) -> Answer:
    """Propose where seams must go on a panel.

    Families of lines are tried (straight in four directions, beside the user's own lines, bent
    with the surface), then the shortest ways instead of straight ones, a stripe whose edges
    are seams, and relief cuts. Every proposal is judged again on a fine mesh.

    Raises:
        GeometryError: an area without width.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    progress.tell(Step("Judging the panel in one piece", 0.0))
    limit = question.window.range_pct
    whole = develop(question.network, question.area, target_triangles=_FINE_TRIANGLES)
    if whole.range_pct <= question.goal_pct:
        return Answer(whole.range_pct, limit, ())
    search = _Search(question, progress)
    found = [*search.strips(), *search.reliefs()]
    progress.tell(Step("Comparing", 0.97))
    return Answer(whole.range_pct, limit, _best(found))


def _best(found: list[Proposal]) -> tuple[Proposal, ...]:
    """Return the best three that differ and can be drawn, and the best relief cuts besides.

    Relief cuts divide nothing: they are made on the part, whatever else is drawn.
    """
    ranked = sorted(found, key=_rank)
    chosen: list[Proposal] = []
    for proposal in ranked:
        kinds = {(c.family, c.pieces) for c in chosen}
        if not _is_relief(proposal) and (proposal.family, proposal.pieces) not in kinds:
            chosen.append(proposal)
    kinds_first = [c for i, c in enumerate(chosen) if _is_first_of_kind(chosen, i)]
    rest = [c for c in chosen if c not in kinds_first]
    shown = (kinds_first + rest)[:SHOWN]
    return tuple(sorted([*shown, *filter(_is_relief, ranked)], key=_rank))


def _is_relief(proposal: Proposal) -> bool:
    return any(line.kind is LineKind.RELIEF for line in proposal.lines)


def _is_first_of_kind(chosen: list[Proposal], index: int) -> bool:
    kinds = {line.kind for line in chosen[index].lines}
    return not any(kinds == {line.kind for line in c.lines} for c in chosen[:index])


def _rank(proposal: Proposal) -> tuple[bool, int, float, float]:
    """Return what proposals are ranked by, the best lowest.

    Pieces that are a stripe's own count as half: the stripe is wanted anyway.
    """
    stripes = sum(line.kind is LineKind.STRIPE for line in proposal.lines)
    visible = proposal.seam_mm * (1 - proposal.hidden_share / 2)
    effort = proposal.pieces - stripes
    if not proposal.can_lay:
        return True, 0, proposal.worst_range_pct, visible
    return False, effort, visible + 40 * proposal.worst_range_pct, visible


class _Search:
    """One search for proposals."""

    def __init__(self, question: Question, progress: Progress) -> None:
        self._question, self._progress = question, progress
        self._limit = question.window.range_pct
        self._goal = _MARGIN * question.goal_pct
        self._metric = metric_of(question.network)

    def strips(self) -> list[Proposal]:
        """Return the proposals by strips, of all families."""
        families = self._families()
        tried: list[tuple[int, Family, StripCosts, Partition]] = []
        for number, family in enumerate(families):
            self._progress.tell(
                Step(f"Trying seams: {family.words}", 0.05 + 0.35 * number / len(families))
            )
            costs = self._costs(family)
            partition = Partition(costs, family, self._goal)
            count = partition.count()
            if count is not None:
                tried.append((count, family, costs, partition))
        if not tried:
            return [self._next_best(families[0])]
        tried.sort(key=lambda t: t[0])
        result = []
        for number, (_, family, costs, partition) in enumerate(tried[:_BEST_FAMILIES]):
            self._progress.tell(Step(f"Placing seams: {family.words}", 0.4 + 0.12 * number))
            result += self._of_family(family, costs, partition, is_first=number == 0)
        return result

    def _costs(self, family: Family) -> StripCosts:
        question = self._question
        return StripCosts(question.network, question.area, family, self._progress)

    def _families(self) -> list[Family]:
        area = self._question.area
        own = [
            beside(area, line, "straight, beside your own line")
            for line in self._question.own_lines
            if line.length > 1.0
        ]
        coarse = clip_network(self._question.network, area, _COARSE_TRIANGLES)
        return [*straight_families(area), *own[:2], *bent_families(coarse, area)]

    def _of_family(
        self, family: Family, costs: StripCosts, partition: Partition, *, is_first: bool
    ) -> list[Proposal]:
        cuts = partition.fewest()
        if cuts is None:
            return []
        result = [self._proposal(family, costs, cuts)]
        if family.is_true:
            if is_first:
                result.append(self._by_shortest_ways(result[0]))
            striped = partition.with_stripe(self._question.stripe_mm)
            if striped is not None and len(striped.numbers) < len(cuts.numbers):
                saved = len(cuts.numbers) - len(striped.numbers)
                result.append(self._proposal(family, costs, striped, saved))
        return result

    def _next_best(self, family: Family) -> Proposal:
        """Return five pieces that come nearest, where no number of them is enough."""
        costs = self._costs(family)
        cuts = Partition(costs, family, self._goal).least_worst(5)
        return self._proposal(family, costs, cuts)

    def reliefs(self) -> list[Proposal]:
        """Return the least relief cuts that are enough, if any are."""
        area = self._question.area
        for step, count in enumerate(COUNTS):
            self._progress.tell(Step(f"Trying {count} relief cuts", 0.75 + 0.07 * step))
            for depth in DEPTHS:
                stop_if_cancelled(self._progress)
                cuts = relief_cuts(self._question.network, area, count, depth)
                piece = opened(area, cuts)
                if quick_range(self._question.network, piece, 500) <= self._goal:
                    lines = tuple(ProposedLine(LineKind.RELIEF, cut) for cut in cuts)
                    return [self._judged(lines, "relief cuts from the rim", [piece])]
        return []

    def _by_shortest_ways(self, proposal: Proposal) -> Proposal:
        """Return a proposal with its seams as the shortest ways over the surface."""
        lines = tuple(
            ProposedLine(line.kind, shortest_way(self._metric, line.path), line.width_mm)
            for line in proposal.lines
        )
        cut = shapely.union_all(
            [self._question.area.boundary, *(_run_on(line.path) for line in lines)]
        )
        faces = shapely.get_parts(shapely.polygonize([cut]))
        inside = [f for f in faces if self._question.area.contains(f.representative_point())]
        pieces = [p for face in inside for p in parts_of(face)]
        return self._judged(lines, "shortest ways over the surface", pieces)

    def _proposal(
        self, family: Family, costs: StripCosts, cuts: Cuts, saved: int = 0
    ) -> Proposal:
        numbers = [family.low, *cuts.all_numbers, family.high]
        pieces = [
            piece
            for low, high in itertools.pairwise(numbers)
            for piece in costs.pieces_between(low, high)
        ]
        lines = [
            ProposedLine(LineKind.SEAM, path)
            for number in cuts.numbers
            for path in self._within(family.line_at(number))
        ]
        words = family.words
        if cuts.stripe is not None:
            low, high = cuts.stripe
            lines += [
                ProposedLine(LineKind.STRIPE, path, high - low)
                for path in self._within(family.line_at((low + high) / 2))
            ]
            words += ", with a stripe"
        return self._judged(tuple(lines), words, pieces, saved)

    def _within(self, line: shapely.Geometry) -> list[LineString]:
        """Return the stretches of a line that lie on the panel."""
        inside = shapely.intersection(line, self._question.area)
        merged = shapely.line_merge(inside) if inside.geom_type != "LineString" else inside
        return [
            part
            for part in shapely.get_parts(merged)
            if isinstance(part, LineString) and part.length > 5.0
        ]

    def _judged(
        self,
        lines: tuple[ProposedLine, ...],
        family: str,
        pieces: list[Polygon],
        saved: int = 0,
    ) -> Proposal:
        """Judge a proposal's pieces on a fine mesh."""
        stop_if_cancelled(self._progress)
        ranges = [
            develop(self._question.network, piece, target_triangles=_FINE_TRIANGLES).range_pct
            for piece in pieces
        ]
        edges = [edge for line in lines for edge in _cut_edges(line)]
        lengths = [self._length(edge) for edge in edges]
        hidden = [self._hidden(edge) * mm for edge, mm in zip(edges, lengths, strict=True)]
        total = sum(lengths)
        ranges.sort(reverse=True)
        return Proposal(
            lines=lines,
            family=family,
            ranges_pct=tuple(ranges),
            seam_mm=total,
            hidden_share=sum(hidden) / total if total else 0.0,
            limit_pct=self._limit,
            sentence=f"{_what(lines, family, saved)}: {_numbers(ranges, self._limit)}",
            reserve_pct=self._limit - self._question.goal_pct,
        )

    def _length(self, edge: LineString) -> float:
        points = np.asarray(shapely.segmentize(edge, 20.0).coords)
        return float(self._metric.lengths(points[:-1], points[1:]).sum())

    def _hidden(self, edge: LineString) -> float:
        if not self._question.hiding or edge.length <= 0:
            return 0.0
        near = shapely.union_all(
            [line.buffer(_HIDDEN_WITHIN_MM) for line in self._question.hiding]
        )
        return float(edge.intersection(near).length / edge.length)


def _cut_edges(line: ProposedLine) -> list[LineString]:
    if line.kind is not LineKind.STRIPE:
        return [line.path]
    half = line.width_mm / 2
    edges = [line.path.offset_curve(side) for side in (half, -half)]
    return [LineString(shapely.get_coordinates(edge)) for edge in edges if edge.length > 0]


def _run_on(line: LineString) -> LineString:
    points = np.asarray(line.coords)
    first, last = points[0] - points[1], points[-1] - points[-2]
    start = points[0] + 5.0 * first / max(float(np.hypot(*first)), 1e-9)
    end = points[-1] + 5.0 * last / max(float(np.hypot(*last)), 1e-9)
    return LineString([start, *points[1:-1], end])


def _what(lines: tuple[ProposedLine, ...], family: str, saved: int) -> str:
    """Say what is drawn."""
    kinds = [line.kind for line in lines]
    seams = kinds.count(LineKind.SEAM)
    if LineKind.RELIEF in kinds:
        return f"{_counted(len(lines), 'relief cut')} from the rim"
    if LineKind.STRIPE not in kinds:
        return f"{_counted(seams, 'seam')}, {family}"
    width = max(line.width_mm for line in lines)
    beside = f" and {_counted(seams, 'seam')}" if seams else ""
    saves = f"a stripe of {width:.0f} mm here saves {_counted(saved, 'seam')}"
    return f"A stripe{beside}, {family.removesuffix(', with a stripe')} ({saves})"


def _numbers(ranges: list[float], limit: float) -> str:
    """Say what the pieces need."""
    fits = "can lie" if ranges[0] <= limit else "is still too much"
    return (
        f"{_counted(len(ranges), 'piece')}; the hardest needs {ranges[0]:.1f} %, of "
        f"{limit:.1f} % that the film takes, and {fits}."
    )


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"

"""Where must a seam go? Three proposals with their numbers, and relief cuts besides."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.shape.clip import clip_network
from core.shape.developing import develop
from core.shape.metric import metric_of
from core.shape.proposals.costs import Ground, StripCosts, quick_range
from core.shape.proposals.drawn import divided, lines_within, runs_along, whole_lines
from core.shape.proposals.families import (
    Family,
    Kind,
    along,
    bent_families,
    shortest_families,
    straight_families,
)
from core.shape.proposals.model import Answer, LineKind, Proposal, ProposedLine, Question
from core.shape.proposals.partition import MOST_PIECES, Cuts, Partition
from core.shape.proposals.relief import COUNTS, DEPTHS, relief_cuts
from core.shape.proposals.telling import told
from core.shape.relief import opened

SHOWN = 3
_COARSE_TRIANGLES = 1000
_FINE_TRIANGLES = 900
_MARGIN = 0.97
"""On the coarse mesh pieces keep this far below the limit, to keep below it on the fine."""
_HIDDEN_WITHIN_MM = 15.0
_BEST_FAMILIES = 3
_MOST_OWN = 3
_LEAST_OWN_MM = 60.0
"""Shorter lines of the user's say little of where a seam may run."""
_LEAST_SEAM_MM = 5.0
_ALIKE_MM = 8.0
_NODE_MM = 1.5
"""Seams are drawn by as few nodes as keep within this of the line that was found."""


def propose(question: Question, progress: Progress | None = None) -> Answer:
    """Propose where seams must go on a panel.

    Lines that are drawn already stay: where they are enough, nothing else is proposed; else
    only what cannot lie is divided further. Families of lines are tried (along the user's own
    lines and ridges, straight in four directions, the shortest ways over the surface, bent
    with the surface), a stripe whose edges are seams, and relief cuts. Every proposal is judged
    again on a fine mesh.

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
    if search.is_solved:
        return Answer(whole.range_pct, limit, (search.as_drawn(),))
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
        is_new = (proposal.family, proposal.pieces) not in kinds
        if (
            not _is_relief(proposal)
            and is_new
            and not any(_look_alike(proposal, other) for other in chosen)
        ):
            chosen.append(proposal)
    kinds_first = [c for i, c in enumerate(chosen) if _is_first_of_kind(chosen, i)]
    rest = [c for c in chosen if c not in kinds_first]
    shown = (kinds_first + rest)[:SHOWN]
    return tuple(sorted([*shown, *filter(_is_relief, ranked)], key=_rank))


def _look_alike(a: Proposal, b: Proposal) -> bool:
    one, other = (shapely.union_all([line.path for line in p.lines]) for p in (a, b))
    is_same_kind = {line.kind for line in a.lines} == {line.kind for line in b.lines}
    return is_same_kind and bool(shapely.hausdorff_distance(one, other) < _ALIKE_MM)


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


@dataclass(frozen=True, eq=False)
class _Tried:
    """A family that was tried, and lines of it that are enough, from end to end."""

    numbers: tuple[float, ...]
    family: Family
    costs: StripCosts
    partition: Partition

    @cached_property
    def effort(self) -> tuple[int, float]:
        """How many pieces that makes, and how long its seams are to the eye."""
        strips = itertools.pairwise(self.numbers)
        pieces = sum(len(self.costs.pieces_between(a, b)) for a, b in strips)
        return pieces, sum(map(self.costs.seam_mm, self.numbers[1:-1]))


def _best_of_each_kind(tried: Sequence[_Tried]) -> list[_Tried]:
    """Return three families that take the fewest pieces, of different kinds if they can be."""
    ranked = sorted(tried, key=lambda one: one.effort)
    firsts = [
        one
        for number, one in enumerate(ranked)
        if not any(one.family.kind is other.family.kind for other in ranked[:number])
    ]
    # Those left over are worth most where a stripe can be tried.
    others = sorted((one for one in ranked if one not in firsts), key=_is_bent)
    return (firsts + others)[:_BEST_FAMILIES]


def _is_bent(tried: _Tried) -> bool:
    return not tried.family.is_true


class _Search:
    """One search for proposals."""

    def __init__(self, question: Question, progress: Progress) -> None:
        self._question, self._progress = question, progress
        self._limit = question.window.range_pct
        self._goal = _MARGIN * question.goal_pct
        self._metric = metric_of(question.network)
        pieces = divided(question.area, question.own_lines)
        ranges = [self._fine_range(piece) for piece in pieces] if len(pieces) > 1 else [np.inf]
        judged = list(zip(pieces, ranges, strict=True))
        self._lying = [needed for _, needed in judged if needed <= question.goal_pct]
        self._drawn = lines_within(question.own_lines, question.area) if pieces[1:] else ()
        near = [line.buffer(_HIDDEN_WITHIN_MM) for line in question.hiding]
        self._ground = Ground(
            network=question.network,
            area=question.area,
            faces=tuple(piece for piece, needed in judged if needed > question.goal_pct),
            drawn=shapely.union_all(self._drawn),
            hidden=shapely.union_all(near),
        )

    @property
    def is_solved(self) -> bool:
        """Whether the lines that are drawn already let every piece lie."""
        return not self._ground.faces

    def as_drawn(self) -> Proposal:
        """Return the proposal to leave it at what is drawn."""
        return self._judged((), "as drawn", [])

    def strips(self) -> list[Proposal]:
        """Return the proposals by strips, of all families."""
        area, own = self._question.area, self._own_families()
        straight = [
            family
            for family in straight_families(area)
            if not any(runs_along(one.line_at(0.0), family) for one in own)
        ]
        tried = self._tried([*own, *straight], MOST_PIECES, (0.05, 0.22))
        coarse = clip_network(self._question.network, area, _COARSE_TRIANGLES)
        best = min(tried, key=lambda one: one.effort).family if tried else straight[0]
        ends = best if best.kind is Kind.STRAIGHT else straight[0]
        curved = [*shortest_families(coarse, area, ends), *bent_families(coarse, area)]
        most = min([MOST_PIECES, *(len(one.numbers) for one in tried)])
        tried += self._tried(curved, most, (0.22, 0.4))
        if not tried:
            return [self._next_best(straight[0])]
        result = []
        placed = _best_of_each_kind(tried)
        for number, found in enumerate(placed):
            words = f"Placing seams: {found.family.words}"
            self._progress.tell(Step(words, 0.4 + 0.3 * number / len(placed)))
            result += self._of_family(found)
        return result

    def _tried(
        self, families: Sequence[Family], most: int, shares: tuple[float, float]
    ) -> list[_Tried]:
        """Return the families of which no more than so many strips are enough."""
        tried: list[_Tried] = []
        for number, family in enumerate(families):
            share = shares[0] + (shares[1] - shares[0]) * number / len(families)
            self._progress.tell(Step(f"Trying seams: {family.words}", share))
            costs = StripCosts(self._ground, family, self._progress)
            partition = Partition(costs, family, self._goal)
            numbers = partition.coarse(most)
            if numbers is not None:
                tried.append(_Tried(numbers, family, costs, partition))
                # A family that needs two strips more is not the best.
                most = min(most, len(numbers))
        return tried

    def _own_families(self) -> list[Family]:
        """Return the families along the user's lines and ridges, the longest first."""
        question = self._question
        lines = [*whole_lines(question.own_lines), *whole_lines(question.hiding)]
        chosen: list[Family] = []
        for line in sorted(lines, key=lambda line: -line.length):
            is_known = line.is_closed or any(runs_along(line, f) for f in chosen)
            if line.length > _LEAST_OWN_MM and not is_known:
                chosen.append(along(question.area, line, "along a line of yours"))
        return chosen[:_MOST_OWN]

    def _of_family(self, found: _Tried) -> list[Proposal]:
        partition = found.partition
        cuts = partition.fewest()
        if cuts is None:
            return []
        plain = self._proposal(found.family, found.costs, cuts)
        result = [plain]
        if found.family.is_true and self._question.stripe_mm > 0:
            striped = partition.with_stripe(self._question.stripe_mm)
            if striped is not None and len(striped.numbers) < len(cuts.numbers):
                alone = plain.seams if plain.can_lay else 0
                result.append(self._proposal(found.family, found.costs, striped, alone))
        return result

    def _next_best(self, family: Family) -> Proposal:
        """Return five pieces that come nearest, where no number of them is enough."""
        costs = StripCosts(self._ground, family, self._progress)
        cuts = Partition(costs, family, self._goal).least_worst(5)
        return self._proposal(family, costs, cuts)

    def reliefs(self) -> list[Proposal]:
        """Return the least relief cuts that are enough, if one piece fails and any are."""
        if len(self._ground.faces) != 1:
            return []
        (area,) = self._ground.faces
        for step, count in enumerate(COUNTS):
            self._progress.tell(Step(f"Trying {count} relief cuts", 0.75 + 0.07 * step))
            for depth in DEPTHS:
                stop_if_cancelled(self._progress)
                cuts = relief_cuts(self._question.network, area, count, depth)
                piece = opened(area, cuts)
                needed = quick_range(self._question.network, piece, 500, self._goal)
                if needed <= self._goal:
                    lines = tuple(ProposedLine(LineKind.RELIEF, cut) for cut in cuts)
                    return [self._judged(lines, "relief cuts from the rim", [piece])]
        return []

    def _proposal(
        self, family: Family, costs: StripCosts, cuts: Cuts, alone: int = 0
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
        if cuts.stripe is not None:
            low, high = cuts.stripe
            lines += [
                ProposedLine(LineKind.STRIPE, path, high - low)
                for path in self._within(family.line_at((low + high) / 2))
            ]
        return self._judged(tuple(lines), family.words, pieces, alone)

    def _within(self, line: shapely.Geometry) -> list[LineString]:
        """Return the new stretches of a line on what is to be divided."""
        inside = self._ground.new_part(line)
        merged = inside if isinstance(inside, LineString) else shapely.line_merge(inside)
        return [
            LineString(shapely.get_coordinates(shapely.simplify(part, _NODE_MM)))
            for part in shapely.get_parts(merged)
            if isinstance(part, LineString) and part.length > _LEAST_SEAM_MM
        ]

    def _fine_range(self, piece: Polygon) -> float:
        stop_if_cancelled(self._progress)
        network = self._question.network
        return develop(network, piece, target_triangles=_FINE_TRIANGLES).range_pct

    def _judged(
        self,
        lines: tuple[ProposedLine, ...],
        family: str,
        pieces: list[Polygon],
        alone: int = 0,
    ) -> Proposal:
        """Judge a proposal's pieces, and those that lie already, on a fine mesh."""
        ranges = [*self._lying, *map(self._fine_range, pieces)]
        edges = [edge for line in lines for edge in _cut_edges(line)]
        lengths = [self._length(edge) for edge in edges]
        hidden = [self._hidden(edge) * mm for edge, mm in zip(edges, lengths, strict=True)]
        total = sum(lengths)
        ranges.sort(reverse=True)
        drawn = len(whole_lines(self._drawn))
        return Proposal(
            lines=lines,
            family=family,
            ranges_pct=tuple(ranges),
            seam_mm=total,
            hidden_share=sum(hidden) / total if total else 1.0,
            limit_pct=self._limit,
            sentence=told(lines, family, ranges, self._limit, alone=alone, drawn=drawn),
            reserve_pct=self._limit - self._question.goal_pct,
            drawn=self._drawn,
        )

    def _length(self, edge: LineString) -> float:
        points = np.asarray(shapely.segmentize(edge, 20.0).coords)
        return float(self._metric.lengths(points[:-1], points[1:]).sum())

    def _hidden(self, edge: LineString) -> float:
        inside = shapely.intersection(edge, self._ground.hidden)
        return float(shapely.length(inside) / max(edge.length, 1e-9))


def _cut_edges(line: ProposedLine) -> list[LineString]:
    if line.kind is not LineKind.STRIPE:
        return [line.path]
    half = line.width_mm / 2
    edges = [line.path.offset_curve(side) for side in (half, -half)]
    return [LineString(shapely.get_coordinates(edge)) for edge in edges if edge.length > 0]

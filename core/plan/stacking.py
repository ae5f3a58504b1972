"""Which film lies on top at each border, which regions share a piece, and the lay order."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from core.document.job import Settings
from core.document.lines import DividingLine, Seam, SeamCut, SeamRule, Side, Under, line_name
from core.geometry.arrangement import Border
from core.geometry.run_on import merged_path
from core.ids import FilmId, LineId
from core.plan.model import Finding, Reason, Region, Severity, Stretch
from core.plan.regions import RegionMap


@dataclass(frozen=True, slots=True)
class Stacking:
    """How the regions of a panel lie on each other.

    Attributes:
        stretches: one a border, in the order of the map's borders.
        groups: regions (positions) that are cut as one piece, main region first, in lay order.
        above: for each group the positions of all regions that lie on top of it.
        is_cyclic: no lay order exists; ``groups`` is then empty.
    """

    stretches: tuple[Stretch, ...]
    groups: tuple[tuple[int, ...], ...]
    above: tuple[frozenset[int], ...]
    findings: tuple[Finding, ...]

    @property
    def is_cyclic(self) -> bool:
        """Whether each of some pieces lies on top of the next, so that none can go first."""
        return bool(self.stretches) and not self.groups


@dataclass(frozen=True, slots=True)
class _Standing:
    """What decides between two regions when the user has not.

    The name decides between alike ones: without it three equal sectors could lie in a ring.
    """

    rank: int
    upstream: float
    area: float
    name: str


def stack(
    mapped: RegionMap, ranks: Mapping[FilmId, int], flow_deg: float | None, settings: Settings
) -> Stacking:
    """Decide every border, group regions into pieces and order the pieces."""
    standing = [_standing(r, ranks, flow_deg) for r in mapped.regions]
    lines = [t.line for t in mapped.cutting]
    stretches = _stretches(mapped, lines, standing, settings)
    pairs = [
        (_upper(b, s), _lower(b, s)) for b, s in zip(mapped.borders, stretches, strict=True)
    ]
    grouping = _group(mapped.regions, stretches, pairs)
    order = _lay_order(grouping, pairs, mapped.regions, standing)
    if order is None and len(set(grouping)) < len(grouping):
        grouping = list(range(len(mapped.regions)))
        order = _lay_order(grouping, pairs, mapped.regions, standing)
    if order is None:
        finding = _cycle_finding(grouping, pairs, stretches, lines)
        return Stacking(stretches, (), (), (finding,))
    members: dict[int, list[int]] = defaultdict(list)
    for region, group in enumerate(grouping):
        members[group].append(region)
    groups = tuple(
        tuple(sorted(members[g], key=lambda r: -mapped.regions[r].polygon.area)) for g in order
    )
    return Stacking(stretches, groups, _above(grouping, pairs, order), ())


def _standing(region: Region, ranks: Mapping[FilmId, int], flow_deg: float | None) -> _Standing:
    upstream = 0.0
    if flow_deg is not None:
        centre, angle = region.polygon.centroid, np.radians(flow_deg)
        along = centre.x * np.cos(angle) + centre.y * np.sin(angle)
        # In whole tenths of a mm, so that "equally far upstream" is a transitive relation.
        upstream = -round(float(along) * 10) / 10
    return _Standing(ranks[region.film], upstream, round(region.polygon.area, 3), region.id)


def _left_is_top(rule: SeamRule, left: _Standing, right: _Standing) -> tuple[bool, Reason]:
    if rule.on_top is not None:
        return rule.on_top is Side.LEFT, Reason.USER
    if left.rank != right.rank:
        return left.rank > right.rank, Reason.RANK
    if left.upstream != right.upstream:
        return left.upstream > right.upstream, Reason.FLOW
    return (left.area, left.name) < (right.area, right.name), Reason.SIZE


def _stretches(
    mapped: RegionMap,
    lines: Sequence[DividingLine],
    standing: list[_Standing],
    settings: Settings,
) -> tuple[Stretch, ...]:
    count: dict[int, int] = defaultdict(int)
    total: dict[int, int] = defaultdict(int)
    for border in mapped.borders:
        total[border.cutter] += 1
    made = []
    for border in mapped.borders:
        line = lines[border.cutter]
        count[border.cutter] += 1
        suffix = f".{count[border.cutter]}" if total[border.cutter] > 1 else ""
        made.append(_stretch(f"{line.id}{suffix}", border, line, mapped, standing, settings))
    return tuple(made)


def _stretch(
    name: str,
    border: Border,
    line: DividingLine,
    mapped: RegionMap,
    standing: list[_Standing],
    settings: Settings,
) -> Stretch:
    rule = line.rule
    is_left, reason = _left_is_top(rule, standing[border.left], standing[border.right])
    top, under = (border.left, border.right) if is_left else (border.right, border.left)
    cut = rule.cut or settings.seam_cut
    lap = settings.lap_mm if rule.lap_mm is None else rule.lap_mm
    # Full film belongs beneath a stripe or an inlay, not beneath what lies over one.
    is_full = rule.under is Under.FULL and cut is not SeamCut.BUTT
    is_full &= is_left or isinstance(line, Seam)
    return Stretch(
        id=name,
        line=LineId(line.id),
        top=mapped.regions[top].id,
        under=mapped.regions[under].id,
        top_side=Side.LEFT if is_left else Side.RIGHT,
        reason=reason,
        lap_mm=0.0 if cut is SeamCut.BUTT else lap,
        is_full=is_full,
        cut=cut,
        path=merged_path(border.starts, border.ends),
    )


def _upper(border: Border, stretch: Stretch) -> int:
    return border.left if stretch.top_side is Side.LEFT else border.right


def _lower(border: Border, stretch: Stretch) -> int:
    return border.right if stretch.top_side is Side.LEFT else border.left


def _group(
    regions: Sequence[Region], stretches: Sequence[Stretch], pairs: Sequence[tuple[int, int]]
) -> list[int]:
    """Join regions of one film that run on beneath the same top region into one piece.

    Regions that meet each other at a seam stay apart: a piece cannot lap onto itself.
    """
    group = list(range(len(regions)))
    meeting = {frozenset(p) for p in pairs}
    beneath: dict[int, list[int]] = defaultdict(list)
    for (top, under), stretch in zip(pairs, stretches, strict=True):
        if stretch.is_full:
            beneath[top].append(under)
    for unders in beneath.values():
        for one, two in combinations(dict.fromkeys(unders), 2):
            a, b = group[one], group[two]
            if a == b or regions[one].film != regions[two].film:
                continue
            ours = [i for i, g in enumerate(group) if g == a]
            theirs = [i for i, g in enumerate(group) if g == b]
            if not any(frozenset((i, j)) in meeting for i in ours for j in theirs):
                group = [a if g == b else g for g in group]
    return group


def _lay_order(
    grouping: list[int],
    pairs: Sequence[tuple[int, int]],
    regions: Sequence[Region],
    standing: list[_Standing],
) -> list[int] | None:
    """Return the groups in lay order; None when they lie on each other in a ring.

    Ties: stay with the film laid last, else lower rank first; then the largest.
    """
    waiting: dict[int, set[int]] = {g: set() for g in grouping}
    for top, under in pairs:
        if grouping[top] != grouping[under]:
            waiting[grouping[top]].add(grouping[under])
        else:
            return None
    area: dict[int, float] = defaultdict(float)
    film: dict[int, tuple[int, FilmId]] = {}
    for i, g in enumerate(grouping):
        area[g] += regions[i].polygon.area
        film[g] = (standing[i].rank, regions[i].film)
    order: list[int] = []
    last: tuple[int, FilmId] | None = None
    while waiting:
        ready = [g for g, below in waiting.items() if not below]
        if not ready:
            return None
        chosen = min(ready, key=lambda g: (film[g] != last, film[g], -area[g], regions[g].id))
        order.append(chosen)
        last = film[chosen]
        del waiting[chosen]
        for below in waiting.values():
            below.discard(chosen)
    return order


def _above(
    grouping: list[int], pairs: Sequence[tuple[int, int]], order: list[int]
) -> tuple[frozenset[int], ...]:
    """Return for each group, in lay order, every region on top of it, directly or not."""
    direct: dict[int, set[int]] = defaultdict(set)
    for top, under in pairs:
        direct[grouping[under]].add(grouping[top])
    over: dict[int, frozenset[int]] = {}
    for g in reversed(order):
        over[g] = frozenset(direct[g]).union(*(over[t] for t in direct[g]))
    members: dict[int, list[int]] = defaultdict(list)
    for region, g in enumerate(grouping):
        members[g].append(region)
    return tuple(frozenset(r for t in over[g] for r in members[t]) for g in order)


def _cycle_finding(
    grouping: list[int],
    pairs: Sequence[tuple[int, int]],
    stretches: Sequence[Stretch],
    lines: Sequence[DividingLine],
) -> Finding:
    """Name the lines of one ring of pieces and the line whose flip breaks every ring."""
    arcs = [(grouping[u], grouping[t]) for t, u in pairs]
    ring = _find_ring(arcs)
    names = {line.id: line_name(line) for line in lines}
    in_ring = list(dict.fromkeys(stretches[i].line for i in ring))
    listed = _listed([names[i] for i in in_ring])
    cure = next((i for i in in_ring if _is_acyclic(_flipped(arcs, stretches, ring, i))), None)
    mend = (
        f"Flip which side is on top at {names[cure]}."
        if cure
        else "Set these seams back to automatic, or flip two of them."
    )
    at = stretches[ring[0]].path.interpolate(0.5, normalized=True)
    if len(in_ring) == 1:
        text = f"{listed} puts each of two pieces on top of the other. {mend}"
    else:
        text = f"At {listed} each piece lies on the next in a ring: none can go first. {mend}"
    where = (float(at.x), float(at.y))
    return Finding("S207", Severity.STOP, text, where=where, lines=tuple(in_ring))


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _flipped(
    arcs: list[tuple[int, int]], stretches: Sequence[Stretch], ring: list[int], line: LineId
) -> list[tuple[int, int]]:
    """Return the arcs with the other side of a line on top, all along it, as a flip sets it."""
    was = next(stretches[i].top_side for i in ring if stretches[i].line == line)
    return [
        (b, a) if s.line == line and s.top_side is was else (a, b)
        for (a, b), s in zip(arcs, stretches, strict=True)
    ]


def _is_acyclic(arcs: list[tuple[int, int]]) -> bool:
    return not _find_ring(arcs)


def _find_ring(arcs: list[tuple[int, int]]) -> list[int]:
    """Return the positions of arcs that form a ring; empty when there is none."""
    leaving: dict[int, list[int]] = defaultdict(list)
    for i, (a, _) in enumerate(arcs):
        leaving[a].append(i)
    done: set[int] = set()
    for root in list(leaving):
        path: list[int] = []
        on_path = {root: 0}
        stack = [iter(leaving[root])]
        while stack:
            arc = next(stack[-1], None)
            if arc is None:
                stack.pop()
                node = arcs[path.pop()][1] if path else root
                done.add(node)
                on_path.pop(node, None)
                continue
            target = arcs[arc][1]
            if target in on_path:
                return [*path[on_path[target] :], arc]
            if target in done:
                continue
            path.append(arc)
            on_path[target] = len(path)
            stack.append(iter(leaving[target]))
    return []

"""Runs: stripes on several panels that are one line, as the panels stand on the canvas.

Each panel has a stripe of its own; the stripes share the run's id, and their centre lines and
widths agree where two panels meet. An edit of one of them changes the others so that the whole
stays one line. Stripes whose panels have been moved apart are edited one by one, until the
panels stand in line again.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, starmap

from msgspec.structs import replace
from shapely import Polygon

from core.document.edits.accept import accept
from core.document.edits.ids import taken_ids
from core.document.edits.paths import reverse_path, translate_path
from core.document.edits.run_paths import (
    are_aligned,
    crossings,
    join_paths,
    length_of,
    part_path,
)
from core.document.edits.variants import replace_scheme
from core.document.flatten import flatten
from core.document.job import Job
from core.document.lines import Stripe
from core.document.panel import Panel
from core.document.path import Node, Path, Point
from core.errors import EditRefused
from core.ids import PanelId, next_id
from core.tolerance import JOIN_MM


@dataclass(frozen=True, slots=True)
class RunPart:
    """One stripe of a run, with its centre line on the canvas."""

    panel: PanelId
    stripe: Stripe
    path: Path


@dataclass(frozen=True, slots=True)
class Run:
    """The stripes of a run from its start to its end.

    Attributes:
        is_in_line: whether they meet on the canvas, in place and width.
    """

    id: str
    parts: tuple[RunPart, ...]
    is_in_line: bool

    @property
    def path(self) -> Path:
        """The centre line of the whole, in the canvas's frame."""
        return join_paths([part.path for part in self.parts])

    @property
    def widths(self) -> tuple[float, float]:
        """The widths at the run's start and end."""
        return self.parts[0].stripe.start_width_mm, self.parts[-1].stripe.end_width_mm

    @property
    def stripe(self) -> Stripe:
        """The whole as if it were one stripe, in the canvas's frame."""
        start, end = self.widths
        first = self.parts[0].stripe
        return replace(first, nodes=self.path, start_width_mm=start, end_width_mm=end)

    @property
    def lines(self) -> tuple[str, ...]:
        """The ids of its stripes."""
        return tuple(part.stripe.id for part in self.parts)


def find_run(job: Job, variant: str, line_id: str) -> Run | None:
    """Return the run that a stripe is part of; None when it is in none, or alone in it."""
    parts = [
        RunPart(PanelId(s.panel), t, _on_canvas(job.panel(s.panel), t.nodes))
        for s in job.variant(variant).schemes
        for t in s.stripes
        if t.run is not None
    ]
    run_id = next((p.stripe.run for p in parts if p.stripe.id == line_id), None)
    own = [p for p in parts if p.stripe.run == run_id]
    if run_id is None or len(own) < 2:
        return None
    chain = _chained(own)
    return Run(run_id, chain, all(starmap(_meet, pairwise(chain))))


def panels_along(job: Job, path: Path) -> tuple[PanelId, ...]:
    """Return the panels that a line on the canvas crosses, in its order; hidden ones not."""
    shown = [p for p in job.panels if not p.is_hidden]
    met = crossings(path, [_area(p) for p in shown])
    return tuple(PanelId(shown[c.area].id) for c in met)


def add_run(
    job: Job, variant: str, path: Path, panels: Sequence[str], like: Stripe
) -> tuple[Job, tuple[str, ...]]:
    """Draw a stripe over several panels: one stripe on each, linked.

    Args:
        job: the job.
        variant: the variant to draw in.
        path: the centre line of the whole, in the canvas's frame.
        panels: the panels that it crosses.
        like: gives widths, film, name and rule; its id and nodes are not read.

    Returns:
        The job, and the ids of the stripes in the run's order.

    Raises:
        EditRefused: the line does not cross each of the panels, or fewer than two.
    """
    if len(panels) < 2:
        raise EditRefused("A run goes over two panels at least.")
    run_id = next_id("u", _run_ids(job))
    ids: dict[str, str] = {}
    taken = taken_ids(job)
    for panel in panels:
        ids[panel] = next_id("t", taken)
        taken.add(ids[panel])
    blank = {p: replace(like, id=ids[p], run=run_id) for p in panels}
    parted = _parted(job, path, (like.start_width_mm, like.end_width_mm), blank)
    for panel, stripe in parted:
        scheme = job.scheme(variant, panel)
        job = replace_scheme(job, variant, replace(scheme, stripes=(*scheme.stripes, stripe)))
    return job, tuple(stripe.id for _, stripe in parted)


def set_run(job: Job, variant: str, run: Run, path: Path, widths: tuple[float, float]) -> Job:
    """Give a run another centre line, in the canvas's frame, and other widths at its ends.

    Raises:
        EditRefused: the line no longer crosses each of the run's panels; it has no width.
    """
    blank = {str(part.panel): part.stripe for part in run.parts}
    for panel, stripe in _parted(job, path, widths, blank):
        scheme = job.scheme(variant, panel)
        stripes = tuple(stripe if s.id == stripe.id else s for s in scheme.stripes)
        job = replace_scheme(job, variant, replace(scheme, stripes=stripes))
    return job


def unlink_run(job: Job, variant: str, line_id: str) -> Job:
    """Make the stripes of a run stripes of their own; nothing moves.

    Raises:
        EditRefused: the line is part of no run.
    """
    run = find_run(job, variant, line_id)
    if run is None:
        raise EditRefused("This line is part of no run over several panels.")
    for scheme in job.variant(variant).schemes:
        stripes = tuple(replace(s, run=None) if s.run == run.id else s for s in scheme.stripes)
        if stripes != scheme.stripes:
            job = replace_scheme(job, variant, replace(scheme, stripes=stripes))
    return job


def line_up_run(job: Job, variant: str, line_id: str) -> Job:
    """Make a run whose panels were moved apart one line again, over them as they stand now.

    Each stripe keeps its own nodes; where two no longer meet, they come together half-way
    between their ends, in place and width.

    Raises:
        EditRefused: the line is part of no run, or no longer crosses each of its panels.
    """
    run = find_run(job, variant, line_id)
    if run is None:
        raise EditRefused("This line is part of no run over several panels.")
    if run.is_in_line:
        return job
    paths = [part.path for part in run.parts]
    for i, (a, b) in enumerate(pairwise(paths)):
        (x0, y0), (x1, y1) = a[-1].at, b[0].at
        middle = (x0 + x1) / 2, (y0 + y1) / 2
        paths[i] = (*paths[i][:-1], replace(a[-1], at=middle))
        paths[i + 1] = (replace(b[0], at=middle), *b[1:])
    return set_run(job, variant, run, join_paths(paths), run.widths)


def keep_in_line(before: Job, after: Job, variant: str, line_id: str) -> Job:
    """Let the other stripes of a run follow an edit of one of them.

    Args:
        before: the job before the edit.
        after: the job in which only that stripe is changed.
        variant: the variant.
        line_id: the stripe.
    """
    run = find_run(before, variant, line_id)
    if run is None or not run.is_in_line:
        return after
    k = run.lines.index(line_id)
    old = run.parts[k].stripe
    panel = after.panel(run.parts[k].panel)
    fresh = next(s for s in after.scheme(variant, panel.id).stripes if s.id == line_id)
    if fresh.run != old.run:
        return after
    new = RunPart(PanelId(panel.id), fresh, _on_canvas(panel, fresh.nodes))
    if fresh.nodes == old.nodes and _widths(fresh) == _widths(old):
        return after
    parts = tuple(new if i == k else p for i, p in enumerate(run.parts))
    current = Run(run.id, parts, is_in_line=True)
    if _is_reversed(run.parts[k].path, new.path):
        whole = reverse_path(run.path)
        return set_run(after, variant, current, whole, run.widths[::-1])
    paths = _followed([p.path for p in run.parts], k, new.path)
    widths = run.widths
    if _widths(fresh) != _widths(old):
        widths = _widths_through([length_of(p) for p in paths], k, _widths(fresh))
    return set_run(after, variant, current, join_paths(paths), widths)


def _widths(stripe: Stripe) -> tuple[float, float]:
    return stripe.start_width_mm, stripe.end_width_mm


def _widths_through(
    lengths: list[float], k: int, wanted: tuple[float, float]
) -> tuple[float, float]:
    """Return the widths at a run's ends that give one of its stripes the wanted ones."""
    rise = (wanted[1] - wanted[0]) / lengths[k]
    start = wanted[0] - rise * sum(lengths[:k])
    end = wanted[1] + rise * sum(lengths[k + 1 :])
    if min(start, end) < 0:
        raise EditRefused(
            "The run would taper to nothing before its end.",
            mend="Choose a gentler taper, or unlink the stripe from its run.",
        )
    return start, end


def _is_reversed(old: Path, new: Path) -> bool:
    ends = math.dist(old[0].at, new[-1].at), math.dist(old[-1].at, new[0].at)
    return max(ends) < JOIN_MM and math.dist(old[0].at, old[-1].at) > JOIN_MM


def _followed(paths: list[Path], k: int, new: Path) -> list[Path]:
    """Let the neighbours' ends follow one path; a path moved as it is takes all with it."""
    old = paths[k]
    step = _step_of(old, new)
    if step is not None:
        return (
            [translate_path(p, *step) for p in paths[:k]]
            + [new]
            + [translate_path(p, *step) for p in paths[k + 1 :]]
        )
    made = [*paths[:k], new, *paths[k + 1 :]]
    if k > 0:
        is_smooth = are_aligned(paths[k - 1][-1].before, old[0].after)
        last = replace(paths[k - 1][-1], at=new[0].at)
        if is_smooth and last.before is not None:
            last = replace(last, before=_opposite(new[0].after, last.before))
        made[k - 1] = (*paths[k - 1][:-1], last)
    if k < len(paths) - 1:
        is_smooth = are_aligned(old[-1].before, paths[k + 1][0].after)
        first = replace(paths[k + 1][0], at=new[-1].at)
        if is_smooth and first.after is not None:
            first = replace(first, after=_opposite(new[-1].before, first.after))
        made[k + 1] = (first, *paths[k + 1][1:])
    return made


def _step_of(old: Path, new: Path) -> Point | None:
    """Return how far a path has been moved; None when it has been changed in other ways."""
    if len(old) != len(new):
        return None
    dx, dy = new[0].at[0] - old[0].at[0], new[0].at[1] - old[0].at[1]
    for a, b in zip(translate_path(old, dx, dy), new, strict=True):
        if (a.before, a.after) != (b.before, b.after) or math.dist(a.at, b.at) > 1e-6:
            return None
    return dx, dy


def _opposite(handle: Point | None, other: Point) -> Point:
    """Turn the other handle in line with one; it keeps its length."""
    size = math.hypot(*handle) if handle else 0.0
    if handle is None or not size:
        return other
    scale = -math.hypot(*other) / size
    return handle[0] * scale, handle[1] * scale


def _parted(
    job: Job, path: Path, widths: tuple[float, float], blank: dict[str, Stripe]
) -> list[tuple[str, Stripe]]:
    """Return each panel's stripe of a line over panels, in the order of the line."""
    panels = [job.panel(p) for p in blank]
    met = crossings(path, [_area(p) for p in panels])
    missed = [p.name for i, p in enumerate(panels) if i not in {c.area for c in met}]
    if missed:
        raise EditRefused(
            f"The line would not run over {' and '.join(missed)} any more.",
            mend="Unlink the run or delete its stripe there first.",
        )
    parts = part_path(path, met)
    lengths = [length_of(part) for part in parts]
    whole, gone, result = sum(lengths), 0.0, []
    for crossing, part, length in zip(met, parts, lengths, strict=True):
        panel = panels[crossing.area]
        start, end = (
            widths[0] + (widths[1] - widths[0]) * at / whole for at in (gone, gone + length)
        )
        gone += length
        nodes = translate_path(part, -panel.at[0], -panel.at[1])
        stripe = replace(blank[panel.id], nodes=nodes, start_width_mm=start, end_width_mm=end)
        if not max(widths):
            raise EditRefused("The stripe has no width.", mend="Give it a width at one end.")
        result.append((panel.id, accept(stripe)))
    return result


def _area(panel: Panel) -> Polygon:
    return _area_at(panel.outline, panel.at)


@lru_cache(maxsize=400)
def _area_at(outline: Path, at: Point) -> Polygon:
    ring = flatten(translate_path(outline, *at), closed=True)
    area = Polygon(ring) if len(ring) > 2 else Polygon()
    hull = area.convex_hull
    return area if area.is_valid or not isinstance(hull, Polygon) else hull


def _on_canvas(panel: Panel, path: Path) -> Path:
    return translate_path(path, *panel.at)


def _chained(parts: list[RunPart]) -> tuple[RunPart, ...]:
    """Order parts so that each starts where the one before ends, or as near as can be."""

    def gap_before(part: RunPart) -> float:
        others = [p for p in parts if p is not part]
        return min(_gap(other.path[-1], part.path[0]) for other in others)

    left = list(parts)
    chain = [max(left, key=gap_before)]
    left.remove(chain[0])
    while left:
        end = chain[-1].path[-1]
        following = min(left, key=lambda p: _gap(end, p.path[0]))
        left.remove(following)
        chain.append(following)
    return tuple(chain)


def _gap(end: Node, start: Node) -> float:
    return math.dist(end.at, start.at)


def _meet(a: RunPart, b: RunPart) -> bool:
    width = abs(a.stripe.end_width_mm - b.stripe.start_width_mm)
    return _gap(a.path[-1], b.path[0]) <= JOIN_MM and width <= JOIN_MM


def _run_ids(job: Job) -> Iterator[str]:
    for variant in job.variants:
        for scheme in variant.schemes:
            yield from (s.run for s in scheme.stripes if s.run is not None)

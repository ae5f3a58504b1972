"""Whose nodes are edited: those of lines, outlines, openings, ridges; and the grips on them."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal, assert_never

from msgspec import structs

from app.selection import Selection
from core.document.edits.belongings import Belonging, nodes_of_mark, set_mark_path
from core.document.edits.lines import find_line, set_line_nodes
from core.document.edits.panels import replace_panel, set_outline
from core.document.edits.runs import Run, find_run, set_run
from core.document.hit import distance_mm, is_closed, moved_by, offset_between, stripe_ends
from core.document.job import Job
from core.document.lines import Stripe, line_name
from core.document.panel import Mark
from core.document.path import Path, Point
from core.ids import PanelId

OwnerKind = Literal["line", "run", "outline", "opening", "ridge"]
GripKind = Literal["node", "before", "after", "start", "end"]
_ALL_HANDLES_BELOW = 13
"""Up to so many nodes all handles are shown; beyond, those about the selected node."""
_LEAST_HANDLE_PX = 14.0


@dataclass(frozen=True, slots=True)
class PathOwner:
    """A thing with nodes.

    A run is the whole of a stripe over several panels; its nodes are the canvas's, all others'
    their panel's. It goes by the id of the stripe that is selected. A ridge is a mark with
    several points; they have no names, so its nodes are counted.
    """

    kind: OwnerKind
    id: str
    panel: PanelId

    @property
    def belonging(self) -> Belonging:
        """What an opening or a ridge is to its panel."""
        return Belonging(self.panel, self.id, f"the {self.kind}")

    def origin(self, job: Job) -> Point:
        """Return where the origin of its nodes is on the canvas."""
        return (0.0, 0.0) if self.kind == "run" else job.panel(self.panel).at

    def local(self, job: Job, at: Point) -> Point:
        """Return a place of the canvas in the frame of its nodes."""
        return offset_between(self.origin(job), at)

    def read(self, job: Job, variant: str) -> tuple[Path, bool]:
        """Return the path and whether it is closed. KeyError when it is gone."""
        match self.kind:
            case "line":
                line = find_line(job, variant, self.id)[1]
                return line.nodes, is_closed(line)
            case "run":
                return run_in_line(job, variant, self.id).path, False
            case "outline":
                return job.panel(self.panel).outline, True
            case "opening":
                openings = {o.id: o for o in job.panel(self.panel).openings}
                return openings[self.id].nodes, True
            case "ridge":
                return nodes_of_mark(self._mark(job)), False
            case _:
                assert_never(self.kind)

    def write(self, job: Job, variant: str, path: Path) -> Job:
        """Return the job with another path here."""
        match self.kind:
            case "line":
                return set_line_nodes(job, variant, self.id, path)
            case "run":
                run = run_in_line(job, variant, self.id)
                return set_run(job, variant, run, path, run.widths)
            case "outline":
                return set_outline(job, self.panel, path)
            case "opening":
                panel = job.panel(self.panel)
                openings = tuple(
                    structs.replace(o, nodes=path) if o.id == self.id else o
                    for o in panel.openings
                )
                return replace_panel(job, structs.replace(panel, openings=openings))
            case "ridge":
                return set_mark_path(job, self.id, tuple(node.at for node in path))
            case _:
                assert_never(self.kind)

    def name(self, job: Job, variant: str) -> str:
        """Return what it is called in sentences."""
        if self.kind in ("line", "run"):
            return line_name(find_line(job, variant, self.id)[1])
        panel = job.panel(self.panel)
        if self.kind == "outline":
            return f"the outline of {panel.name}"
        if self.kind == "ridge":
            return f"the {self._mark(job).kind.value} of {panel.name}"
        names = {o.id: o.name for o in panel.openings}
        return names[self.id] or f"an opening of {panel.name}"

    def _mark(self, job: Job) -> Mark:
        return {m.id: m for m in job.panel(self.panel).marks}[self.id]


@dataclass(frozen=True, slots=True)
class Grip:
    """Something to take hold of.

    Attributes:
        kind: a node, one of its handles, or a width grip at the start or end of a stripe.
        anchor: for handles and width grips, the point that they hang from.
        is_near: a handle of the chosen node, or of one beside it.
        label: said beside it; a stripe's width.
    """

    kind: GripKind
    owner: PathOwner
    node: str
    at: Point
    anchor: Point
    is_smooth: bool = False
    is_selected: bool = False
    width_mm: float | None = None
    is_near: bool = False

    def has_room(self, px_mm: float) -> bool:
        """Whether it can be told from its node; short handles show once that is chosen."""
        is_handle = self.kind in ("before", "after") and not self.is_near
        return not is_handle or distance_mm(self.at, self.anchor) >= _LEAST_HANDLE_PX * px_mm


def owners_of(selection: Selection, job: Job, variant: str) -> tuple[PathOwner, ...]:
    """Return the things whose nodes a selection lets one take hold of; none when locked."""
    panel = selection.panel
    locked = {p.id for p in job.panels if p.is_locked or p.is_hidden}
    if panel in locked or (selection.kind == "panel" and locked & set(selection.ids)):
        return ()
    if len(selection.ids) != 1:
        return ()
    one = selection.ids[0]
    if selection.kind == "line":
        return _line_owners(job, variant, one, locked)
    if selection.kind == "panel":
        return _panel_owners(job, PanelId(one))
    return _owners_on(job, variant, selection, panel) if panel is not None else ()


def _owners_on(
    job: Job, variant: str, selection: Selection, panel: PanelId
) -> tuple[PathOwner, ...]:
    """Return what something on a panel lets one take hold of."""
    one = selection.ids[0]
    match selection.kind:
        case "opening":
            return (PathOwner("opening", one, panel),)
        case "mark":
            return _ridge_owners(job, panel, one)
        case "node":
            is_rim = one == panel or one.startswith("o")
            ridges = _ridge_owners(job, panel, one)
            line = () if is_rim or ridges else (line_owner(job, variant, one, panel),)
            return ridges or line or _panel_owners(job, panel)
        case _:
            return ()


def _line_owners(
    job: Job, variant: str, line_id: str, locked: Collection[str]
) -> tuple[PathOwner, ...]:
    try:
        where, _ = find_line(job, variant, line_id)
    except KeyError:
        return ()
    return () if where in locked else (line_owner(job, variant, line_id, where),)


def run_in_line(job: Job, variant: str, line_id: str) -> Run:
    """Return the run that a stripe is part of. KeyError when there is none in line."""
    run = find_run(job, variant, line_id)
    if run is None or not run.is_in_line:
        raise KeyError(line_id)
    return run


def line_owner(job: Job, variant: str, line_id: str, panel: PanelId) -> PathOwner:
    """Return what has a line's nodes: the whole run where it is part of one in line."""
    run = find_run(job, variant, line_id)
    is_run = run is not None and run.is_in_line
    return PathOwner("run" if is_run else "line", line_id, panel)


def _ridge_owners(job: Job, panel: PanelId, mark_id: str) -> tuple[PathOwner, ...]:
    """Return the owner of a mark's points; a spot has none to be moved by themselves."""
    marks = [m for p in job.panels if p.id == panel for m in p.marks if m.id == mark_id]
    return tuple(PathOwner("ridge", mark_id, panel) for m in marks if len(m.path) > 1)


def _panel_owners(job: Job, panel: PanelId) -> tuple[PathOwner, ...]:
    openings = tuple(PathOwner("opening", o.id, panel) for o in job.panel(panel).openings)
    return (PathOwner("outline", panel, panel), *openings)


def grips_of(selection: Selection, job: Job, variant: str) -> tuple[Grip, ...]:
    """Return the grips of a selection in its panel's frame, those drawn last on top."""
    grips: list[Grip] = []
    for owner in owners_of(selection, job, variant):
        try:
            path, closed = owner.read(job, variant)
        except KeyError:
            continue
        chosen = selection.node if selection.kind == "node" else None
        is_own = bool(selection.ids) and owner.id == selection.ids[0]
        grips += _path_grips(owner, path, chosen if is_own else None, closed=closed)
        line = stripe_of(owner, job, variant)
        if line is not None:
            grips += _width_grips(owner, line)
    return tuple(grips)


def with_runs(job: Job, variant: str, ids: Collection[str]) -> tuple[str, ...]:
    """Return lines with all stripes of the runs that they are part of."""
    found: dict[str, None] = {}
    for line_id in ids:
        run = find_run(job, variant, line_id)
        found |= dict.fromkeys(run.lines if run and run.is_in_line else (line_id,))
    return tuple(found)


def stripe_of(owner: PathOwner, job: Job, variant: str) -> Stripe | None:
    """Return the stripe whose nodes are meant, a run as one; None for anything else."""
    if owner.kind == "run":
        return run_in_line(job, variant, owner.id).stripe
    if owner.kind != "line":
        return None
    line = find_line(job, variant, owner.id)[1]
    return line if isinstance(line, Stripe) else None


def _path_grips(
    owner: PathOwner, path: Path, chosen: str | None, *, closed: bool
) -> list[Grip]:
    near = {chosen}
    ids = [n.id for n in path]
    if chosen in ids:
        i = ids.index(chosen)
        near |= {ids[i - 1], ids[(i + 1) % len(ids)]}
    handles, nodes = [], []
    for i, node in enumerate(path):
        nodes.append(
            Grip("node", owner, node.id, node.at, node.at, node.smooth, node.id == chosen)
        )
        if len(path) >= _ALL_HANDLES_BELOW and node.id not in near:
            continue
        is_first, is_last = i == 0 and not closed, i == len(path) - 1 and not closed
        if node.before is not None and not is_first:
            at = moved_by(node.at, node.before)
            handles.append(Grip("before", owner, node.id, at, node.at, is_near=node.id in near))
        if node.after is not None and not is_last:
            at = moved_by(node.at, node.after)
            handles.append(Grip("after", owner, node.id, at, node.at, is_near=node.id in near))
    return handles + nodes


def _width_grips(owner: PathOwner, stripe: Stripe) -> list[Grip]:
    return [
        Grip(end.end, owner, "", side, end.at, width_mm=end.width_mm)
        for end in stripe_ends(stripe)
        for side in (end.left, end.right)
    ]
